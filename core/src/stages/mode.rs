//! Fifth stage: what the controller is doing, as a table of transitions without side effects.
//!
//! Source: rules of our own.

use crate::settings::allowed;
use crate::shared::choice::choice;
use crate::shared::error::Check;
use crate::shared::ramp::TickRate;
use crate::shared::units::{Demand, Speed, Strength, prepared};

choice! {
    /// When the far side may drive backward.
    pub enum ReversePolicy, by default AfterStop {
        /// At once, also while rolling forward.
        Direct = "direct",
        /// The far side brakes while the wheels still turn the other way, then drives.
        AfterStop = "after-stop",
        /// The far side only brakes.
        Never = "never",
    }
}

/// Arming and changing direction.
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// tune.mode.reverse = ReversePolicy::Never;
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// controller.step_for(&mut state, &throttle(1_500.0), 499);
/// let mode = |us, state: &mut State| controller.step(state, &throttle(us)).trace.mode;
/// assert_eq!(mode(1_500.0, &mut state), Mode::Neutral); // armed after 500 ms
/// assert_eq!(mode(1_250.0, &mut state), Mode::Stopping); // the far side only brakes
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct ModeSettings {
    /// The throttle must rest at neutral this long before anything drives \[ms\], 100 to 5000.
    pub arm_ms: f32,
    /// When the far side may drive backward.
    pub reverse: ReversePolicy,
    /// Wheels slower than this count as standing \[rad/s\], 0.1 to 20.
    pub rest_rad_s: f32,
    /// Without a speed sensor: braking or resting this long counts as standing \[ms\], 0 to 5000.
    pub pause_ms: f32,
}

impl Default for ModeSettings {
    /// Arm after 500 ms; reverse after stopping; standing below 1 rad/s or after 600 ms.
    fn default() -> Self {
        Self { arm_ms: 500.0, reverse: ReversePolicy::AfterStop, rest_rad_s: 1.0, pause_ms: 600.0 }
    }
}

/// What the controller is doing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
pub enum Mode {
    /// Since power-on the throttle has not yet rested at neutral for the arming time. Coasts.
    #[default]
    Disarmed,
    /// Throttle neutral: the drag brake comes in as set.
    Neutral,
    /// Driving forward.
    Forward,
    /// Driving backward.
    Reverse,
    /// The driver asks for the other direction while the wheels still turn: braking to a stop.
    Stopping,
    /// No signal: the chosen safe state, until neutral has been seen for the arming time.
    Lost,
    /// The monitor refused a command: as `Lost`, whatever the signal.
    Fault,
}

impl Mode {
    /// All modes with the words a log uses for them.
    pub const ALL: [(Self, &'static str); 7] = [
        (Self::Disarmed, "disarmed"),
        (Self::Neutral, "neutral"),
        (Self::Forward, "forward"),
        (Self::Reverse, "reverse"),
        (Self::Stopping, "stopping"),
        (Self::Lost, "lost"),
        (Self::Fault, "fault"),
    ];
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Direction {
    Forward,
    Reverse,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct ModeStage {
    arm_ticks: u32,
    pause_ticks: u32,
    reverse: ReversePolicy,
    rest: Speed,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct ModeState {
    mode: Mode,
    neutral_ticks: u32,
    undriven_ticks: u32,
    /// The way the wheels were last driven, until they stand.
    driven: Option<Direction>,
}

/// What the transition depends on.
pub(crate) struct ModeInput {
    /// The hand's demand before the slew; `None` without a signal.
    pub(crate) wish: Option<Demand>,
    /// The demand after the slew of the tick before.
    pub(crate) slewed: Demand,
    pub(crate) speed: Option<Speed>,
    /// The monitor has refused a command and has not yet seen neutral for the arming time.
    pub(crate) fault: bool,
}

impl ModeSettings {
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> ModeStage {
        let arm = check.range(allowed!("mode.arm_ms"), self.arm_ms);
        let rest = check.range(allowed!("mode.rest_rad_s"), self.rest_rad_s);
        let pause = check.range(allowed!("mode.pause_ms"), self.pause_ms);
        ModeStage {
            arm_ticks: rate.ticks(arm),
            pause_ticks: rate.ticks(pause),
            reverse: self.reverse,
            rest: Speed::saturate(prepared(rest)),
        }
    }
}

impl ModeStage {
    pub(crate) fn step(&self, state: &mut ModeState, input: &ModeInput) -> Mode {
        let rests = input.wish.is_some_and(Demand::is_neutral);
        state.neutral_ticks = if rests { state.neutral_ticks.saturating_add(1) } else { 0 };
        let armed = state.neutral_ticks >= self.arm_ticks;

        // Wheels that were just seen turning have not rested since.
        if input.speed.is_some_and(|speed| speed.raw().saturating_abs() > self.rest.raw()) {
            state.undriven_ticks = 0;
        }
        if self.stands(state, input.speed) {
            state.driven = None;
        }
        state.mode = match (state.mode, input.wish) {
            _ if input.fault => Mode::Fault,
            (Mode::Disarmed | Mode::Lost | Mode::Fault, Some(_)) if armed => Mode::Neutral,
            (Mode::Disarmed, _) => Mode::Disarmed,
            (Mode::Fault, _) => Mode::Fault,
            (Mode::Lost, _) | (_, None) => Mode::Lost,
            (_, Some(wish)) => {
                // A demand still easing down keeps its direction until it reaches neutral.
                let intent = if input.slewed.is_neutral() { wish } else { input.slewed };
                self.armed(state.driven, intent)
            }
        };
        match state.mode {
            Mode::Forward => (state.driven, state.undriven_ticks) = (Some(Direction::Forward), 0),
            Mode::Reverse => (state.driven, state.undriven_ticks) = (Some(Direction::Reverse), 0),
            _ => state.undriven_ticks = state.undriven_ticks.saturating_add(1),
        }
        state.mode
    }

    fn armed(&self, driven: Option<Direction>, intent: Demand) -> Mode {
        if intent.is_neutral() {
            return Mode::Neutral;
        }
        let forward = intent > Demand::ZERO;
        match (self.reverse, forward, driven) {
            (ReversePolicy::Never, false, _)
            | (ReversePolicy::AfterStop, true, Some(Direction::Reverse))
            | (ReversePolicy::AfterStop, false, Some(Direction::Forward)) => Mode::Stopping,
            (_, true, _) => Mode::Forward,
            (_, false, _) => Mode::Reverse,
        }
    }

    fn stands(&self, state: &ModeState, speed: Option<Speed>) -> bool {
        let driving = matches!(state.mode, Mode::Forward | Mode::Reverse);
        match speed {
            Some(speed) => !driving && speed.raw().saturating_abs() <= self.rest.raw(),
            None => !driving && state.undriven_ticks >= self.pause_ticks,
        }
    }
}

impl Mode {
    /// How strongly the driver brakes with the throttle in this mode.
    pub(crate) fn hand_brake(self, wish: Option<Demand>) -> Strength {
        match (self, wish) {
            (Self::Stopping, Some(wish)) => Strength::saturate(wish.raw().saturating_abs()),
            _ => Strength::ZERO,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stage(reverse: ReversePolicy) -> ModeStage {
        ModeSettings { reverse, ..ModeSettings::default() }
            .prepare(TickRate::new(1_000).unwrap(), &mut Check::new())
    }

    struct Bench {
        stage: ModeStage,
        state: ModeState,
    }

    impl Bench {
        fn run(&mut self, ticks: u32, wish: Option<f32>, speed: Option<f32>) -> Mode {
            let wish = wish.map(|value| Demand::new(value).unwrap());
            for _ in 0..ticks {
                let input = ModeInput {
                    wish,
                    slewed: wish.unwrap_or_default(),
                    speed: speed.and_then(Speed::new),
                    fault: false,
                };
                self.stage.step(&mut self.state, &input);
            }
            self.state.mode
        }

        fn armed(reverse: ReversePolicy) -> Self {
            let mut bench = Self { stage: stage(reverse), state: ModeState::default() };
            assert_eq!(bench.run(500, Some(0.0), Some(0.0)), Mode::Neutral);
            bench
        }
    }

    #[test]
    fn nothing_drives_before_neutral_was_seen_for_the_arming_time() {
        let mut bench = Bench { stage: stage(ReversePolicy::Direct), state: ModeState::default() };
        assert_eq!(bench.run(5_000, Some(0.4), Some(0.0)), Mode::Disarmed);
        assert_eq!(bench.run(499, Some(0.0), Some(0.0)), Mode::Disarmed);
        assert_eq!(bench.run(1, Some(0.1), Some(0.0)), Mode::Disarmed);
        assert_eq!(bench.run(499, Some(0.0), Some(0.0)), Mode::Disarmed);
        assert_eq!(bench.run(1, Some(0.0), Some(0.0)), Mode::Neutral);
    }

    #[test]
    fn loss_needs_neutral_again() {
        let mut bench = Bench::armed(ReversePolicy::Direct);
        assert_eq!(bench.run(10, Some(0.5), Some(9.0)), Mode::Forward);
        assert_eq!(bench.run(1, None, Some(9.0)), Mode::Lost);
        assert_eq!(bench.run(5_000, Some(0.5), Some(9.0)), Mode::Lost);
        assert_eq!(bench.run(500, Some(0.0), Some(0.0)), Mode::Neutral);
    }

    #[test]
    fn a_fault_stays_until_it_is_cleared_and_neutral_was_seen() {
        let mut bench = Bench::armed(ReversePolicy::Direct);
        bench.run(10, Some(0.5), Some(9.0));
        let wish = Demand::new(0.5);
        let slewed = Demand::ZERO;
        let input = ModeInput { wish, slewed, speed: None, fault: true };
        assert_eq!(bench.stage.step(&mut bench.state, &input), Mode::Fault);
        assert_eq!(bench.run(5_000, Some(0.5), Some(9.0)), Mode::Fault);
        assert_eq!(bench.run(100, None, Some(9.0)), Mode::Fault);
        assert_eq!(bench.run(500, Some(0.0), Some(9.0)), Mode::Neutral);
    }

    #[test]
    fn after_stop_brakes_while_the_wheels_turn_then_reverses() {
        let mut bench = Bench::armed(ReversePolicy::AfterStop);
        bench.run(10, Some(0.5), Some(9.0));
        assert_eq!(bench.run(3_000, Some(-0.5), Some(9.0)), Mode::Stopping);
        assert_eq!(bench.run(2, Some(-0.5), Some(0.2)), Mode::Reverse);
        assert_eq!(bench.run(2, Some(0.5), Some(-9.0)), Mode::Stopping);
    }

    #[test]
    fn without_a_speed_sensor_the_pause_counts() {
        let mut bench = Bench::armed(ReversePolicy::AfterStop);
        bench.run(10, Some(0.5), None);
        assert_eq!(bench.run(599, Some(-0.5), None), Mode::Stopping);
        assert_eq!(bench.run(3, Some(-0.5), None), Mode::Reverse);
    }

    #[test]
    fn rolling_back_undriven_does_not_bar_driving_forward() {
        let mut bench = Bench::armed(ReversePolicy::AfterStop);
        bench.run(100, Some(0.0), Some(-5.0));
        assert_eq!(bench.run(1, Some(0.5), Some(-5.0)), Mode::Forward);
    }

    #[test]
    fn never_means_never() {
        let mut bench = Bench::armed(ReversePolicy::Never);
        assert_eq!(bench.run(9_000, Some(-1.0), Some(0.0)), Mode::Stopping);
    }

    #[test]
    fn direct_reverses_at_once() {
        let mut bench = Bench::armed(ReversePolicy::Direct);
        bench.run(10, Some(0.5), Some(9.0));
        assert_eq!(bench.run(1, Some(-0.5), Some(9.0)), Mode::Reverse);
    }

    #[test]
    fn only_stopping_brakes_by_hand_and_by_the_size_of_the_wish() {
        let wish = Demand::new(-0.25);
        assert_eq!(Mode::Stopping.hand_brake(wish), Strength::new(0.25).unwrap());
        assert_eq!(Mode::Stopping.hand_brake(None), Strength::ZERO);
        for (mode, _) in Mode::ALL.into_iter().filter(|(mode, _)| *mode != Mode::Stopping) {
            assert_eq!(mode.hand_brake(wish), Strength::ZERO, "{mode:?}");
        }
    }
}
