//! The lamp: a status as blinks that can be counted.

use crate::status::Status;

/// Part of a blink, and the pause after it \[ms\].
const LONG_MS: u32 = 700;
const SHORT_MS: u32 = 150;
const GAP_MS: u32 = 250;
const PAUSE_MS: u32 = 1_200;

/// Whether the lamp is lit `now_ms` milliseconds after a code began: the group in long blinks, the
/// number in short ones, a pause, and again. [`Status::Ready`] is lit without a break.
///
/// ```
/// use easeoff_board::{Status, lamp};
/// // No tune: one long, one short.
/// let lit = |ms| lamp(Status::NoTune, ms);
/// assert!(lit(0) && lit(699) && !lit(700) && lit(950) && lit(1_099) && !lit(1_100) && !lit(2_500));
/// assert!(lamp(Status::Ready, 12_345));
/// ```
pub fn lamp(status: Status, now_ms: u32) -> bool {
    let code = u32::from(status.code());
    let (long, short) = (code.div_euclid(10), code.rem_euclid(10));
    let long_ms = long.saturating_mul(LONG_MS.saturating_add(GAP_MS));
    let short_ms = short.saturating_mul(SHORT_MS.saturating_add(GAP_MS));
    let period_ms = long_ms.saturating_add(short_ms).saturating_add(PAUSE_MS);
    let at_ms = now_ms.checked_rem(period_ms).unwrap_or_default();
    match at_ms.checked_sub(long_ms) {
        _ if status == Status::Ready => true,
        None => blinks(at_ms, LONG_MS),
        Some(at_ms) => at_ms < short_ms && blinks(at_ms, SHORT_MS),
    }
}

fn blinks(at_ms: u32, lit_ms: u32) -> bool {
    at_ms.checked_rem(lit_ms.saturating_add(GAP_MS)).is_some_and(|into_ms| into_ms < lit_ms)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    /// What somebody counts who looks at it: the lengths of the lit stretches in one round.
    fn counted(status: Status) -> Vec<u32> {
        let mut lit = Vec::new();
        let (mut on_ms, mut off_ms) = (0, 0);
        for ms in 0..60_000 {
            if lamp(status, ms) {
                (on_ms, off_ms) = (on_ms + 1, 0);
            } else {
                if on_ms > 0 {
                    lit.push(on_ms);
                }
                (on_ms, off_ms) = (0, off_ms + 1);
                if off_ms == 1_000 {
                    break;
                }
            }
        }
        lit
    }

    #[test]
    fn every_code_can_be_counted() {
        for (status, code, _) in Status::ALL.into_iter().skip(1) {
            let lit = counted(status);
            let long = lit.iter().filter(|ms| **ms == 700).count();
            let short = lit.iter().filter(|ms| **ms == 150).count();
            assert_eq!(10 * long + short, usize::from(code), "{status:?}: {lit:?}");
            assert_eq!(long + short, lit.len());
            assert!(lit.windows(2).all(|pair| pair[0] >= pair[1]), "the long ones come first");
        }
    }
}
