//! Searches for places, on a thread beside everything else: what they find comes back as an
//! event, and a search that nobody waits for any more ends by itself.

use super::Wake;
use super::beside::beside;
use crate::look::{Shades, sought};
use crate::work::{Finding, Query, Seek};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use winit::event_loop::EventLoopProxy;

/// A whole lay is made better for so long at most.
const WHOLE: Duration = Duration::from_secs(60);

/// How far a search is, is told this often.
const TOLD: Duration = Duration::from_millis(150);

/// A search under way. Dropped, it ends.
#[derive(Debug)]
pub struct Seeking {
    number: u64,
    stop: Arc<AtomicBool>,
}

impl Drop for Seeking {
    fn drop(&mut self) {
        self.enough();
    }
}

impl Seeking {
    /// Begins the search for a query.
    pub fn begin(query: Query, shades: Arc<Shades>, proxy: EventLoopProxy<Wake>) -> Self {
        let number = query.number;
        let stop = Arc::new(AtomicBool::new(false));
        let stopped = Arc::clone(&stop);
        let back = proxy.clone();
        let search = move || {
            let work = || beside(|| run(&query, &shades, &stopped, &proxy));
            let told = catch_unwind(AssertUnwindSafe(work));
            let found = told.unwrap_or_else(|_| {
                Finding::Nothing(
                    "the search broke off, and the lay is as it was; look again".to_owned(),
                )
            });
            tell(&proxy, number, found);
        };
        let begun = std::thread::Builder::new()
            .name("places".to_owned())
            .spawn(search);
        if let Err(e) = begun {
            let why = format!("the search could not begin: {e}");
            tell(&back, number, Finding::Nothing(why));
        }
        Self { number, stop }
    }

    pub fn number(&self) -> u64 {
        self.number
    }

    /// The best so far will do.
    pub fn enough(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }
}

fn run(query: &Query, shades: &Shades, stop: &AtomicBool, proxy: &EventLoopProxy<Wake>) -> Finding {
    let begun = Instant::now();
    let mut last = begun;
    let mut going = |share: f64, words: &str| {
        if last.elapsed() >= TOLD {
            last = Instant::now();
            let found = Finding::Share(share, words.to_owned());
            tell(proxy, query.number, found);
        }
        let late = query.seek == Seek::Open && begun.elapsed() >= WHOLE;
        !late && !stop.load(Ordering::Relaxed)
    };
    let found = sought(query, shades, &mut going);
    found.unwrap_or_else(|fault| Finding::Nothing(fault.to_string()))
}

/// An event loop that has ended wants no word.
fn tell(proxy: &EventLoopProxy<Wake>, number: u64, found: Finding) {
    let _ = proxy.send_event(Wake::Found {
        number,
        found: Box::new(found),
    });
}
