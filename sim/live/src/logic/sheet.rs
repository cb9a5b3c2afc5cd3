//! A tune as it lies on the bench: every setting with a value, also of what is switched off, so that
//! switching it on again finds the numbers that were there. [`off`](super::off) finds those in the file.

use easeoff_core::{
    CurveSettings, DragLaw, GiveWaySettings, HoldSettings, Knots, RestSettings, Settings,
    StallSettings,
};

/// A tune with nothing forgotten.
#[derive(Clone, Copy, Debug, PartialEq)]
#[expect(missing_docs, reason = "the settings of these names, documented in the core")]
pub struct Sheet {
    /// All that is never switched off; its other parts are not looked at.
    pub base: Settings,
    pub rest: Part<RestSettings>,
    pub hold: Part<HoldSettings>,
    pub give_way: Part<GiveWaySettings>,
    pub stall: Part<StallSettings>,
    pub drive_a: Part<f32>,
    pub brake_a: Part<f32>,
    pub estimate_from_a: Part<f32>,
    /// The current law's current; the duty law where it is off.
    pub full_a: Part<f32>,
    pub blend: f32,
    /// The curve by points; the blend where it is off.
    pub knots: Part<Knots>,
}

/// Something that can be switched off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part<T> {
    /// Whether it is on.
    pub on: bool,
    /// Its values.
    pub is: T,
}

impl<T: Copy> Part<T> {
    pub(super) fn of(given: Option<T>, otherwise: T) -> Self {
        Self { on: given.is_some(), is: given.unwrap_or(otherwise) }
    }

    /// Its values where it is on.
    pub fn get(&self) -> Option<T> {
        self.on.then_some(self.is)
    }
}

/// What stands in the boxes of a limit that the file leaves out \[A\].
const USUAL_LIMIT_A: f32 = 40.0;
/// The same for the current law's full current \[A\], as the reader of tune files takes it.
const USUAL_FULL_A: f32 = 10.0;
/// The same for the estimate's least current \[A\].
const USUAL_ESTIMATE_A: f32 = 1.0;

impl From<Settings> for Sheet {
    fn from(tune: Settings) -> Self {
        let hold = Part::of(tune.hold, HoldSettings::default());
        let knots = match tune.curve {
            CurveSettings::Knots(knots) => Part { on: true, is: knots },
            CurveSettings::Cubic { .. } => Part { on: false, is: Knots::default() },
        };
        Self {
            base: tune,
            rest: Part::of(tune.rest, RestSettings::default()),
            give_way: Part::of(hold.is.give_way, GiveWaySettings::default()),
            hold,
            stall: Part::of(tune.limits.stall, StallSettings::default()),
            drive_a: Part::of(tune.limits.drive_a, USUAL_LIMIT_A),
            brake_a: Part::of(tune.limits.brake_a, USUAL_LIMIT_A),
            estimate_from_a: Part::of(tune.motor.estimate_from_a, USUAL_ESTIMATE_A),
            full_a: match tune.drag.law {
                DragLaw::Duty => Part { on: false, is: USUAL_FULL_A },
                DragLaw::Current { full_a } => Part { on: true, is: full_a },
            },
            blend: match tune.curve {
                CurveSettings::Cubic { blend } => blend,
                CurveSettings::Knots(_) => 0.0,
            },
            knots,
        }
    }
}

impl Sheet {
    /// Switches the curve by points on or off. Without points it begins with three on the curve that was there.
    pub fn by_points(&mut self, on: bool) {
        self.knots.on = on;
        if on && self.knots.is.points().is_empty() {
            let blend = self.blend;
            let point = |x: f32| [x, (1.0 - blend) * x + blend * x * x * x];
            self.knots.is = Knots::new(&[0.25, 0.5, 0.75].map(point)).unwrap_or_default();
        }
    }

    /// The tune that the controller is given.
    pub fn settings(&self) -> Settings {
        let mut tune = self.base;
        tune.rest = self.rest.get();
        tune.hold =
            self.hold.get().map(|hold| HoldSettings { give_way: self.give_way.get(), ..hold });
        tune.limits.stall = self.stall.get();
        tune.limits.drive_a = self.drive_a.get();
        tune.limits.brake_a = self.brake_a.get();
        tune.motor.estimate_from_a = self.estimate_from_a.get();
        tune.drag.law = match self.full_a.get() {
            Some(full_a) => DragLaw::Current { full_a },
            None => DragLaw::Duty,
        };
        tune.curve = match self.knots.get() {
            Some(knots) => CurveSettings::Knots(knots),
            None => CurveSettings::Cubic { blend: self.blend },
        };
        tune
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tune_laid_on_the_bench_and_taken_up_again_is_the_same() {
        let demo = easeoff_sim::files::demo::scenario("garden").unwrap().tune;
        for tune in [demo, Settings::default()] {
            assert_eq!(Sheet::from(tune).settings(), tune);
        }
        let mut knots = demo;
        knots.curve = CurveSettings::Knots(Knots::new(&[[0.3, 0.1]]).unwrap());
        assert_eq!(Sheet::from(knots).settings(), knots);
    }

    #[test]
    fn what_is_switched_off_keeps_its_numbers() {
        let demo = easeoff_sim::files::demo::scenario("garden").unwrap().tune;
        let mut sheet = Sheet::from(demo);
        sheet.hold.on = false;
        assert_eq!(sheet.settings().hold, None);
        sheet.hold.on = true;
        assert_eq!(sheet.settings(), demo);
    }
}
