//! The status LED: a rhythm for each remedy, told from the others without counting.

use easeoff_core::TickRate;

use crate::status::Remedy;

/// A rhythm: lit, then dark, and again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rhythm {
    /// \[ms\].
    pub lit_ms: u32,
    /// 0: lit without a break \[ms\].
    pub dark_ms: u32,
}

impl Rhythm {
    const fn new(lit_ms: u32, dark_ms: u32) -> Self {
        Self { lit_ms, dark_ms }
    }

    /// The rhythm that asks for a remedy. Any two differ by a factor of two or more in their period, or
    /// by 30 % or more in the part of it that is lit, and two periods end within three seconds.
    ///
    /// None flashes more than twice a second. Up to three are held to be safe for people with
    /// photosensitive epilepsy: Web Content Accessibility Guidelines 2.1, success criterion 2.3.1.
    pub const fn of(remedy: Remedy) -> Self {
        match remedy {
            Remedy::Nothing => Self::new(1_400, 0),
            Remedy::FlashAgain => Self::new(140, 1_260),
            Remedy::CheckWiring => Self::new(250, 250),
            Remedy::SetThrottle => Self::new(700, 700),
            Remedy::LetRecover => Self::new(1_260, 140),
            Remedy::FindOutWhy => Self::new(80, 420),
        }
    }

    /// The rhythm in words.
    pub const fn words(remedy: Remedy) -> &'static str {
        match remedy {
            Remedy::Nothing => "lit without a break",
            Remedy::FlashAgain => "dark, with a short flash now and then",
            Remedy::CheckWiring => "quick and even",
            Remedy::SetThrottle => "slow and even",
            Remedy::LetRecover => "lit, with a short gap now and then",
            Remedy::FindOutWhy => "quick short flashes",
        }
    }

    const fn period_ms(self) -> u32 {
        self.lit_ms.saturating_add(self.dark_ms)
    }
}

/// Whether the status LED is lit `now_ms` milliseconds after it began to ask for a remedy.
///
/// ```
/// use easeoff_board::{Remedy, status_led};
/// let lit = |ms| status_led(Remedy::SetThrottle, ms);
/// assert!(lit(0) && lit(699) && !lit(700) && !lit(1_399) && lit(1_400));
/// assert!(status_led(Remedy::Nothing, 12_345));
/// ```
pub fn status_led(remedy: Remedy, now_ms: u32) -> bool {
    let rhythm = Rhythm::of(remedy);
    now_ms.checked_rem(rhythm.period_ms()).is_none_or(|at_ms| at_ms < rhythm.lit_ms)
}

/// The status LED of a running board. A rhythm that began is played to the end of its period before
/// another takes its place: however quickly statuses follow each other, it does not flash more often
/// than the quickest rhythm does.
#[derive(Clone, Copy, Debug)]
pub(crate) struct StatusLed {
    remedy: Remedy,
    /// Ticks since the period began.
    ticks: u32,
}

impl StatusLed {
    pub(crate) const fn new(remedy: Remedy) -> Self {
        Self { remedy, ticks: 0 }
    }

    /// One tick, in which the board asks for `remedy`.
    pub(crate) fn step(&mut self, remedy: Remedy, rate: TickRate) {
        self.ticks = self.ticks.saturating_add(1);
        let goes_on = Rhythm::of(self.remedy).dark_ms > 0 || remedy == self.remedy;
        if !goes_on || self.now_ms(rate) >= Rhythm::of(self.remedy).period_ms() {
            *self = Self::new(remedy);
        }
    }

    pub(crate) fn is_lit(&self, rate: TickRate) -> bool {
        status_led(self.remedy, self.now_ms(rate))
    }

    fn now_ms(&self, rate: TickRate) -> u32 {
        let ms = u64::from(self.ticks).saturating_mul(1_000).checked_div(u64::from(rate.hz()));
        ms.and_then(|ms| u32::try_from(ms).ok()).unwrap_or(u32::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    /// So long somebody looks.
    const SEEN_MS: u32 = 3_000;

    /// What somebody sees who looks; a light that does not change has no period.
    #[derive(Debug)]
    struct Look {
        lit_share: f64,
        period_ms: Option<f64>,
    }

    fn stretches(lit: impl Iterator<Item = bool>) -> Vec<(bool, u32)> {
        let mut all: Vec<(bool, u32)> = Vec::new();
        for lit in lit {
            match all.last_mut() {
                Some((same, ms)) if *same == lit => *ms += 1,
                _ => all.push((lit, 1)),
            }
        }
        all
    }

    /// From a look that begins at any millisecond: whole rounds only, from one lighting up to the last.
    fn look(remedy: Remedy, from_ms: u32) -> Look {
        let lit = |ms| status_led(remedy, ms);
        let seen = from_ms..from_ms + SEEN_MS;
        let risen = |ms: &u32| *ms > from_ms && lit(*ms) && !lit(*ms - 1);
        let rises: Vec<u32> = seen.clone().filter(risen).collect();
        match rises[..] {
            [first, .., last] => {
                let rounds = stretches((first..last).map(lit));
                let (all, on): (u32, u32) = rounds.iter().fold((0, 0), |(all, on), (lit, ms)| {
                    (all + ms, on + if *lit { *ms } else { 0 })
                });
                let period_ms = f64::from(all) / f64::from(u32::try_from(rises.len() - 1).unwrap());
                Look { lit_share: f64::from(on) / f64::from(all), period_ms: Some(period_ms) }
            }
            _ => {
                assert!(seen.clone().all(lit), "{remedy:?} has no period, but does not stay lit");
                Look { lit_share: 1.0, period_ms: None }
            }
        }
    }

    /// Twice the period, or 30 % more of it lit, is told at a glance; one that changes differs from
    /// one that does not.
    fn distinguishable(one: &Look, other: &Look) -> bool {
        let by_period = match (one.period_ms, other.period_ms) {
            (Some(one), Some(other)) => (one / other).max(other / one) >= 2.0,
            (None, None) => false,
            _ => true,
        };
        by_period || (one.lit_share - other.lit_share).abs() >= 0.3
    }

    #[test]
    fn two_remedies_are_told_apart_by_rhythm_alone_in_three_seconds() {
        for (place, one) in Remedy::ALL.into_iter().enumerate() {
            for other in Remedy::ALL.into_iter().skip(place + 1) {
                for from_ms in (0..SEEN_MS).step_by(50) {
                    let (one_look, other_look) = (look(one, from_ms), look(other, from_ms));
                    assert!(
                        distinguishable(&one_look, &other_look),
                        "{one:?} {one_look:?} and {other:?} {other_look:?} from {from_ms} ms"
                    );
                }
            }
        }
    }

    /// One lit stretch of one length and one dark one: nothing to count.
    #[test]
    fn a_rhythm_has_nothing_to_count() {
        for remedy in Remedy::ALL {
            let rhythm = Rhythm::of(remedy);
            let all = stretches((0..10 * rhythm.period_ms()).map(|ms| status_led(remedy, ms)));
            let due = [(true, rhythm.lit_ms), (false, rhythm.dark_ms)];
            match remedy {
                Remedy::Nothing => assert_eq!(all, [(true, 14_000)]),
                _ => assert!(all.chunks(2).all(|round| *round == due), "{remedy:?}: {all:?}"),
            }
        }
    }

    /// The most often it lights up in any second.
    fn most_flashes(lit: &[bool], per_s: usize) -> usize {
        let rises: Vec<usize> = (1..lit.len()).filter(|at| lit[*at] && !lit[*at - 1]).collect();
        let within =
            |first: usize| rises.iter().filter(move |at| (first..first + per_s).contains(*at));
        rises.iter().map(|first| within(*first).count()).max().unwrap_or(0)
    }

    #[test]
    fn it_never_flashes_more_than_three_times_a_second() {
        for remedy in Remedy::ALL {
            let lit: Vec<bool> = (0..10_000).map(|ms| status_led(remedy, ms)).collect();
            let due = if remedy == Remedy::Nothing { 0..=0 } else { 1..=2 };
            assert!(due.contains(&most_flashes(&lit, 1_000)), "{remedy:?}");
        }
    }

    /// Statuses that chatter, at every pace and between any two remedies, on a slow and a quick board.
    #[test]
    fn nor_when_remedies_follow_each_other_as_quickly_as_they_like() {
        for hz in [100_u16, 1_000] {
            let rate = TickRate::new(hz).unwrap();
            let hz = u32::from(hz);
            let ticks = 6 * hz;
            for one in Remedy::ALL {
                for other in Remedy::ALL {
                    for each_ms in [10, 30, 70, 110, 160, 260, 510, 760, 1_400] {
                        let each = each_ms * hz / 1_000;
                        let mut led = StatusLed::new(one);
                        let mut lit = Vec::new();
                        for tick in 0..ticks {
                            led.step(if (tick / each) % 2 == 0 { one } else { other }, rate);
                            lit.push(led.is_lit(rate));
                        }
                        let most = most_flashes(&lit, usize::try_from(hz).unwrap());
                        assert!(most <= 2, "{one:?}, {other:?} every {each_ms} ms: {most}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_remedy_is_shown_once_the_period_before_has_ended() {
        let rate = TickRate::new(1_000).unwrap();
        for one in Remedy::ALL {
            for other in Remedy::ALL {
                let mut led = StatusLed::new(one);
                (0..1_400).for_each(|_| led.step(other, rate));
                assert_eq!(led.remedy, other, "after {one:?}");
            }
        }
    }
}
