//! Checks that share nothing, all at a time: a machine that is played keeps one core busy, and so does a linker.

use std::thread;

/// What `check` says of each, in their order.
pub(crate) fn at_a_time<I: Sync, T: Send>(
    items: &[I],
    check: impl Fn(&I) -> Result<T, String> + Sync,
) -> Vec<Result<T, String>> {
    thread::scope(|scope| {
        let check = &check;
        let begun: Vec<_> = items.iter().map(|item| scope.spawn(move || check(item))).collect();
        let broken = |_| Err("the check broke down".into());
        begun.into_iter().map(|thread| thread.join().unwrap_or_else(broken)).collect()
    })
}
