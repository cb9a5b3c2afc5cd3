//! The drag brake, and holding the place at rest.

use super::formula::formula;
use super::{MOST, Ticks, back_emf_per_rad_s, down, up};
use easeoff_core::{DragLaw, DragSettings, Mode, MotorSettings, RestSettings, SafeState, Shape};

#[derive(Clone, Debug, Default)]
pub(crate) struct Drag {
    pub(crate) phase: f64,
    waited_ticks: u32,
    target: f64,
    pub(crate) level: f64,
    /// The share asked.
    pub(crate) share: f64,
    pub(crate) unsensed: bool,
    pub(crate) soft_without_speed: bool,
    soft: SoftEnd,
}

/// A stop's soft end.
#[derive(Clone, Debug, Default)]
struct SoftEnd {
    risen: f64,
    mark: Option<f64>,
    since_ticks: u32,
}

/// What the drag brake looks at.
pub(crate) struct Sight {
    pub(crate) mode: Mode,
    pub(crate) demand: f64,
    pub(crate) abruptness: f64,
    pub(crate) speed: Option<f64>,
    pub(crate) current: Option<f64>,
    /// The share of the tick before, to which the current is the answer.
    pub(crate) share: f64,
}

impl Drag {
    /// No brake is on.
    pub(crate) fn released(&self) -> bool {
        self.phase == 0.0 || self.target == 0.0
    }

    pub(crate) fn step(
        &mut self,
        set: &DragSettings,
        safe: SafeState,
        motor: &MotorSettings,
        ticks: Ticks,
        sight: &Sight,
    ) {
        let off = match sight.mode {
            Mode::Disarmed => true,
            Mode::Lost | Mode::Fault => safe == SafeState::Coast,
            _ => false,
        };
        let stopping = sight.mode == Mode::Stopping;
        if off {
            *self = Self::default();
        } else if matches!(sight.mode, Mode::Forward | Mode::Reverse) {
            self.phase = down(self.phase, 1.0 / ticks.of(set.release_ms).max(1.0));
            self.waited_ticks = 0;
        } else if stopping
            || !self.released()
            || f64::from(self.waited_ticks) >= ticks.of(set.delay_ms)
        {
            let follow = if stopping { 0.0 } else { f64::from(set.follow) };
            let quicker = 1.0 + 9.0 * follow * sight.abruptness;
            let strength = f64::from(set.strength);
            let onset_ticks = ticks.of(set.onset_ms).max(1.0);
            if stopping {
                let goal = strength.max(sight.demand.abs());
                // A released brake begins anew; a hand that pulls harder meets the onset too.
                let begins = self.released();
                self.phase = if begins { 0.0 } else { self.phase };
                let step = (1.0 / onset_ticks).max(super::LAST_PLACE);
                self.target = if begins { goal } else { goal.min(self.target + step) };
            } else {
                self.target = strength;
            }
            self.phase = up(self.phase, quicker / onset_ticks);
        } else {
            self.waited_ticks += 1;
            self.target = f64::from(set.strength);
        }
        self.level = self.target * shape(set.shape, self.phase);
        let on = !self.released();
        let drags = matches!(sight.mode, Mode::Neutral | Mode::Lost | Mode::Fault);
        let watched = sight.speed.filter(|_| drags && self.phase >= 1.0);
        self.soft.step(set, ticks, watched, on, stopping);
        let unseen = sight.speed.is_none() && self.level > 0.0;
        self.soft_without_speed = unseen && set.soft_below_rad_s > 0.0;
        let left = sight.speed.map_or(1.0, |speed| self.soft.left(set, speed));
        self.law(set, motor, ticks, sight, left * self.level);
    }

    fn law(
        &mut self,
        set: &DragSettings,
        motor: &MotorSettings,
        ticks: Ticks,
        sight: &Sight,
        wanted: f64,
    ) {
        self.unsensed = false;
        let DragLaw::Current { full_a } = set.law else {
            self.share = wanted;
            return;
        };
        let wanted_a = wanted * f64::from(full_a);
        self.share = if self.level == 0.0 {
            0.0
        } else if let Some(speed) = sight.speed {
            let emf = (back_emf_per_rad_s(motor) * speed.abs()).min(MOST);
            (wanted_a * f64::from(motor.resistance_ohm) / emf).min(1.0)
        } else if let Some(current) = sight.current {
            let step = 10.0 * ticks.tick_s();
            if current.abs() <= wanted_a / 16.0 {
                (sight.share + step).min(1.0)
            } else {
                let base = sight.share.max(1.0 / 1_024.0);
                base + ((base * wanted_a / current.abs()).min(1.0) - base) / 4.0
            }
        } else {
            self.unsensed = true;
            self.level
        };
    }
}

impl SoftEnd {
    fn step(&mut self, set: &DragSettings, ticks: Ticks, speed: Option<f64>, on: bool, hand: bool) {
        let below = f64::from(set.soft_below_rad_s);
        if !on || below == 0.0 {
            *self = Self::default();
            return;
        }
        let mut rises = hand;
        if let Some(speed) = speed.map(f64::abs) {
            let fell = self.mark.is_none_or(|mark| speed <= mark - below / 16.0);
            if speed >= below || fell {
                (self.mark, self.since_ticks) = (Some(speed.min(below)), 0);
            } else {
                self.since_ticks += 1;
            }
            rises = f64::from(self.since_ticks) >= ticks.of(200.0) || self.risen > 0.0;
        }
        if rises {
            self.risen = up(self.risen, 1.0 / ticks.of(set.onset_ms).max(1.0));
        }
    }

    /// What is left of the level.
    fn left(&self, set: &DragSettings, speed: f64) -> f64 {
        let below = f64::from(set.soft_below_rad_s);
        if speed.abs() >= below {
            return 1.0;
        }
        // The core never falls below the root of its last place.
        let root = (speed.abs() / below).sqrt().max(1.0 / 256.0);
        root + (1.0 - root) * shape(set.shape, self.risen)
    }
}

/// A table of 33 points read with straight lines.
fn shape(shape: Shape, phase: f64) -> f64 {
    let exact = |p: f64| formula(shape.formula(), p);
    let at = (phase * 32.0).floor().min(31.0);
    let (from, to) = (exact(at / 32.0), exact((at + 1.0) / 32.0));
    from + (to - from) * (phase * 32.0 - at)
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Rest {
    pub(crate) holds: bool,
    /// It holds with a duty worth the name.
    pub(crate) pushes: bool,
    rolled_rad: f64,
}

impl Rest {
    /// The duty that holds the place, where it is held.
    pub(crate) fn step(
        &mut self,
        set: Option<&RestSettings>,
        ticks: Ticks,
        in_neutral: bool,
        onset_over: bool,
        speed: Option<f64>,
    ) -> Option<f64> {
        let below = set.map(|set| f64::from(set.below_rad_s));
        let below = below.map(|below| if self.holds { 2.0 * below } else { below });
        let slow = |speed: &f64| below.is_some_and(|below| speed.abs() <= below);
        let speed = speed.filter(slow).filter(|_| in_neutral && onset_over);
        let (Some(set), Some(speed)) = (set, speed) else {
            *self = Self::default();
            return None;
        };
        self.holds = true;
        let [gain, damping, authority] =
            [set.gain_per_rad, set.damping_s_per_rad, set.authority].map(f64::from);
        let most = authority / gain;
        self.rolled_rad = (self.rolled_rad + speed * ticks.tick_s()).clamp(-most, most);
        Some(-(gain * self.rolled_rad + damping * speed).clamp(-authority, authority))
    }
}
