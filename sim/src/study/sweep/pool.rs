//! Work on several threads.

use std::num::NonZero;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;

/// As many threads as there are cores.
pub fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, NonZero::get)
}

/// Does `work` on 0 .. `count`, so many at a time, and gives each result to `take` as it comes, in no order of
/// which anything may depend. Once `stop` is set nothing new is begun; what was begun is finished.
pub fn in_turn<T: Send>(
    count: usize,
    threads: usize,
    stop: &AtomicBool,
    work: impl Fn(usize) -> T + Sync,
    mut take: impl FnMut(usize, T),
) {
    let next = AtomicUsize::new(0);
    let (send, receive) = mpsc::channel();
    std::thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            let (send, next, work) = (send.clone(), &next, &work);
            scope.spawn(move || {
                while !stop.load(Ordering::Relaxed) {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    if index >= count || send.send((index, work(index))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(send);
        for (index, result) in receive {
            take(index, result);
        }
    });
}
