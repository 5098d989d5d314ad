//! Long work beside the light, on cores that it shares and threads that it does not: what is drawn
//! on all cores never waits until a search is done, or a photo read.

use rayon::ThreadPoolBuilder;

/// Does what takes long, all that it does on several threads on some of its own. Where no more
/// threads can be had, the light's do it.
pub fn beside<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    match ThreadPoolBuilder::new().build() {
        Ok(pool) => pool.install(work),
        Err(_) => work(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::{Mutex, mpsc};
    use std::time::Duration;

    #[test]
    fn light_is_drawn_while_all_threads_beside_it_are_busy() {
        let (busy, begun) = mpsc::channel();
        let (enough, wait) = mpsc::channel::<()>();
        let searching = std::thread::spawn(move || {
            beside(|| {
                let wait = Mutex::new(wait);
                // On every thread of its pool.
                rayon::broadcast(|at| {
                    let told = busy.send(at.num_threads());
                    // Until the other end is dropped.
                    told.is_ok() && wait.lock().is_ok_and(|w| w.recv().is_err())
                })
            })
        });
        let threads = begun.recv().unwrap();
        for _ in 1..threads {
            begun.recv().unwrap();
        }
        let (done, drawn) = mpsc::channel();
        rayon::spawn(move || {
            let _ = done.send(());
        });
        let drawn = drawn.recv_timeout(Duration::from_secs(60));
        drop(enough);
        assert_eq!(searching.join().unwrap(), vec![true; threads]);
        assert!(drawn.is_ok());
    }
}
