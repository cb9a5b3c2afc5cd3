//! Within the speed hold: giving way to a load instead of hiding it.
//!
//! A loop that holds the speed hides a snagged wheel until a part breaks. Giving way bounds that in
//! time: once the loop has added more than a share of what it may for a time, what it may add is
//! taken back to nothing over a release time, and the rig bogs where the driver can see it. The
//! loop may help again once the wheels have reached the speed asked for, or the throttle was let go.
//!
//! Source: a rule of our own; no publication.

use fixed::types::I16F16;

use crate::settings::allowed;
use crate::shared::error::Check;
use crate::shared::ramp::{Phase, Ramp, TickRate};
use crate::shared::units::{Strength, part, prepared};

/// When the speed hold stops fighting a load.
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// let give_way = Some(GiveWaySettings::default());
/// tune.hold = Some(HoldSettings { authority: 0.2, give_way, ..HoldSettings::new(30.0) });
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// controller.step_for(&mut state, &throttle(1_500.0), 600);
/// let stuck = Input { speed: Some(Speed::ZERO), ..throttle(1_760.0) }; // demand 0.5, wheels held
/// let output = controller.step_for(&mut state, &stuck, 4_000);
/// assert!((output.command.duty().to_f32() - 0.5).abs() < 0.001); // no more than open loop
/// assert!(output.trace.events.contains(Event::Bogged));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct GiveWaySettings {
    /// Adding more than this share of what it may add counts as fighting, 0.05 to 1. What it may add
    /// is the authority, or what the demand leaves of the whole duty if that is less.
    pub share: f32,
    /// How long it may fight \[ms\], 50 to 20,000.
    pub after_ms: f32,
    /// Time over which what it may add then goes to nothing \[ms\], 0 to 5000; never faster than
    /// the demand may ease.
    pub release_ms: f32,
}

impl Default for GiveWaySettings {
    /// More than half of the authority for a second, released in 500 ms.
    fn default() -> Self {
        Self { share: 0.5, after_ms: 1_000.0, release_ms: 500.0 }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct GiveWay {
    share: I16F16,
    after_ticks: u32,
    release: Ramp,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct GiveWayState {
    fought_ticks: u32,
    bogged: bool,
    given: Phase,
}

impl GiveWayState {
    /// True from giving way until the loop may help again.
    pub(crate) fn bogged(self) -> bool {
        self.bogged
    }
}

impl GiveWaySettings {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() compares integers")]
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> GiveWay {
        let share = check.range(allowed!("hold.give_way.share"), self.share);
        let after = check.range(allowed!("hold.give_way.after_ms"), self.after_ms);
        let release = check.range(allowed!("hold.give_way.release_ms"), self.release_ms);
        GiveWay {
            // A bound reached counts as exceeded: at share 1 there is nothing above it.
            share: prepared(share * 0.999),
            after_ticks: rate.ticks(after).max(1),
            release: Ramp::prepare(release, rate),
        }
    }
}

impl GiveWay {
    /// The share of the authority that is left, from what the loop `added` in the tick before, what it
    /// could add at `most`, and whether the wheels are slower than asked for.
    pub(crate) fn step(
        &self,
        state: &mut GiveWayState,
        added: I16F16,
        most: I16F16,
        slow: bool,
    ) -> Strength {
        if state.bogged {
            state.bogged = slow;
            state.fought_ticks = 0;
        } else if added > part(most, self.share) {
            state.fought_ticks = state.fought_ticks.saturating_add(1);
            state.bogged = state.fought_ticks >= self.after_ticks;
        } else {
            state.fought_ticks = 0;
        }
        state.given = if state.bogged {
            self.release.forward(state.given)
        } else {
            self.release.back(state.given)
        };
        Strength::FULL - state.given.share()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 0.4, so that fighting begins at 0.2.
    const MOST: I16F16 = I16F16::from_bits(26_214);

    fn give_way() -> GiveWay {
        let mut check = Check::new();
        let rate = TickRate::new(1_000).unwrap();
        let give_way = GiveWaySettings::default().prepare(rate, &mut check);
        check.finish(give_way).unwrap()
    }

    #[test]
    fn gives_way_after_its_time_and_over_its_release() {
        let (give_way, mut state) = (give_way(), GiveWayState::default());
        let fighting = prepared(0.3);
        for tick in 1..=1_500 {
            let left = give_way.step(&mut state, fighting, MOST, true);
            assert_eq!(state.bogged(), tick >= 1_000, "tick {tick}");
            let since = u16::try_from((tick - 999_i32).clamp(0, 500)).unwrap();
            let exact = 1.0 - f32::from(since) / 500.0;
            assert!((left.to_f32() - exact).abs() < 1e-3, "tick {tick}: {left:?}");
        }
        // With the load held nothing comes back; once the wheels are as fast as asked, it does.
        for _ in 0..5_000 {
            assert!(
                give_way.step(&mut state, I16F16::ZERO, MOST, true) <= Strength::from_bits(200)
            );
        }
        give_way.step(&mut state, I16F16::ZERO, MOST, false);
        assert!(!state.bogged());
        for _ in 0..500 {
            give_way.step(&mut state, I16F16::ZERO, MOST, false);
        }
        assert_eq!(give_way.step(&mut state, I16F16::ZERO, MOST, false), Strength::FULL);
    }

    #[test]
    fn little_help_and_short_help_go_on() {
        let (give_way, mut state) = (give_way(), GiveWayState::default());
        for tick in 0..20_000 {
            let added = if tick % 1_000 == 999 { 0.1 } else { 0.3 };
            assert_eq!(give_way.step(&mut state, prepared(added), MOST, true), Strength::FULL);
        }
        for _ in 0..20_000 {
            assert_eq!(give_way.step(&mut state, prepared(0.19), MOST, true), Strength::FULL);
        }
    }

    /// The share is of what may be added at most; at share 1 a bound that is reached counts as exceeded.
    #[test]
    fn fighting_is_more_than_the_share_of_what_may_be_added() {
        for (share, added, fights) in
            [(0.5, 0.201, true), (0.5, 0.199, false), (1.0, 0.4, true), (1.0, 0.399, false)]
        {
            let (mut check, rate) = (Check::new(), TickRate::new(1_000).unwrap());
            let settings = GiveWaySettings { share, ..GiveWaySettings::default() };
            let give_way = settings.prepare(rate, &mut check);
            let mut state = GiveWayState::default();
            for _ in 0..1_000 {
                give_way.step(&mut state, prepared(added), MOST, true);
            }
            assert_eq!(state.bogged(), fights, "{added} at share {share}");
            let bound = part(MOST, give_way.share);
            assert_eq!(
                give_way.step(
                    &mut GiveWayState { fought_ticks: 999, ..GiveWayState::default() },
                    bound,
                    MOST,
                    true
                ),
                Strength::FULL
            );
        }
    }
}
