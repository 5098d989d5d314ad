//! Jobs on several threads, their results in order however many there are.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Does `count` jobs on some threads and gives their results in order; `None` if `told`,
/// which hears how many are done, said to stop.
pub fn each<T: Send>(
    count: usize,
    threads: usize,
    job: &(dyn Fn(usize) -> T + Sync),
    told: &(dyn Fn(usize) -> bool + Sync),
) -> Option<Vec<T>> {
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let stopped = AtomicBool::new(!told(0));
    let work = || {
        let mut own = Vec::new();
        while !stopped.load(Ordering::Relaxed) {
            let k = next.fetch_add(1, Ordering::Relaxed);
            if k >= count {
                break;
            }
            own.push((k, job(k)));
            if !told(done.fetch_add(1, Ordering::Relaxed) + 1) {
                stopped.store(true, Ordering::Relaxed);
            }
        }
        own
    };
    let mut all = std::thread::scope(|scope| {
        let helpers = 1..threads.clamp(1, 64).min(count.max(1));
        let helpers: Vec<_> = helpers.map(|_| scope.spawn(work)).collect();
        let mut all = work();
        for helper in helpers {
            match helper.join() {
                Ok(own) => all.extend(own),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    });
    if stopped.load(Ordering::Relaxed) {
        return None;
    }
    all.sort_by_key(|(k, _)| *k);
    Some(all.into_iter().map(|(_, t)| t).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_order_and_a_stop_is_heard() {
        for threads in [1, 3] {
            let all = each(50, threads, &|k| k * k, &|_| true);
            assert_eq!(all, Some((0..50).map(|k| k * k).collect::<Vec<_>>()));
            let ran = AtomicUsize::new(0);
            let job = |_| ran.fetch_add(1, Ordering::Relaxed);
            assert_eq!(each(1000, threads, &job, &|done| done < 5), None);
            assert!(ran.into_inner() < 20);
            assert_eq!(each(0, threads, &|k| k, &|_| true), Some(Vec::new()));
        }
    }
}
