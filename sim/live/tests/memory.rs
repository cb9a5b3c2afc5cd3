//! Drive after drive takes no more memory. A program of its own: other tests would take theirs beside it.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    missing_docs,
    reason = "tests compute and panic"
)]

mod common;

use common::{FRAME_S, session};
use easeoff_live::logic::lever::Hands;

/// Resident memory of this process while the window's logic drives on and on \[KiB\].
#[cfg(target_os = "linux")]
fn resident_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with("VmRSS:")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

#[cfg(target_os = "linux")]
#[test]
fn drive_after_drive_takes_no_more_memory() {
    let mut session = session("garden");
    let mut now_s = 0.0;
    let mut minute = |session: &mut easeoff_live::logic::session::Session| {
        for _ in 0..6 {
            let stop_s = now_s + 10.0;
            while now_s < stop_s {
                now_s += FRAME_S;
                let forward = (now_s * 0.7).sin() > 0.0;
                session.frame(now_s, &Hands { forward, ..Hands::default() });
            }
            session.reset().unwrap();
        }
    };
    minute(&mut session);
    let before = resident_kib();
    for _ in 0..9 {
        minute(&mut session);
    }
    let after = resident_kib();
    assert!(after < before + 4_096, "{before} to {after} KiB in nine minutes");
}
