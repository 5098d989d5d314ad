//! Reading on a thread of its own, for so long: in a damaged file the parser looks for the
//! ends of things again and again, and nothing stops it.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use crate::fault::{Fault, Outcome};

/// The longest that a file is read. Operators are followed for two minutes at most, so this
/// is the parser's.
pub const LONGEST: Duration = Duration::from_secs(150);
/// Room for objects within one another, bytes: the parser goes 512 deep.
const STACK: usize = 16 << 20;

/// What `read` makes of `bytes`. Where it takes longer than `longest`, its thread is left to
/// itself and ends when it is done, or with the program.
///
/// # Errors
///
/// Those of `read`; when it takes too long; when the system gives no thread.
///
/// # Panics
///
/// When `read` does.
pub fn watched<T: Send + 'static>(
    bytes: &[u8],
    longest: Duration,
    read: impl FnOnce(&[u8]) -> Outcome<T> + Send + 'static,
) -> Outcome<T> {
    let bytes = bytes.to_vec();
    let (told, done) = mpsc::channel();
    let work = move || {
        // Nobody may be waiting any more.
        drop(told.send(read(&bytes)));
    };
    let thread = thread::Builder::new().stack_size(STACK).spawn(work);
    let thread = thread.map_err(|error| {
        Fault::ours(
            format!("this machine has no room left to read the PDF: {error}"),
            "close other programs, and try again",
        )
    })?;
    match done.recv_timeout(longest) {
        Ok(outcome) => outcome,
        Err(mpsc::RecvTimeoutError::Timeout) => Err(Fault::input(
            "the PDF takes more than two minutes to read: it is damaged, or very large",
            "print it to PDF again",
        )),
        Err(mpsc::RecvTimeoutError::Disconnected) => match thread.join() {
            Err(panic) => std::panic::resume_unwind(panic),
            Ok(()) => Err(Fault::mistake("reading the PDF gave nothing")),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_takes_too_long_is_not_waited_for() {
        let read = |bytes: &[u8]| Ok(bytes.len());
        assert_eq!(watched(b"abc", LONGEST, read), Ok(3));
        let (hold, held) = mpsc::channel::<()>();
        let waits = move |_: &[u8]| {
            let _ = held.recv();
            Ok(())
        };
        let fault = watched(b"", Duration::from_millis(20), waits).unwrap_err();
        assert!(
            fault.to_string().contains("more than two minutes"),
            "{fault}"
        );
        drop(hold);
        let refused = |_: &[u8]| Err::<(), _>(Fault::input("it is no use", "leave it"));
        assert!(watched(b"", LONGEST, refused).is_err());
    }

    #[test]
    #[should_panic = "as it is"]
    fn a_panic_is_not_hidden() {
        drop(watched(b"", LONGEST, |_| -> Outcome<()> {
            panic!("as it is")
        }));
    }
}
