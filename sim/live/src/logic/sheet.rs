//! A tune as it lies on the bench: every setting with a value, also of what is switched off, so that
//! switching it on again finds the numbers that were there. [`off`](super::off) finds those in the file.

use easeoff_core::{CurveSettings, Kind, Knots, SETTINGS, Setting, Settings};

/// A tune with nothing forgotten.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// With every part switched on and a curve without knots: here every number has a value, and every
    /// flag. The ways of its choices are not looked at.
    pub full: Settings,
    /// The knots of the curve, whether it goes by them or not.
    pub knots: Knots,
    /// Of each row of the list: which way of a choice, or 1 where something that can be off is on.
    ways: [usize; SETTINGS.len()],
}

impl From<Settings> for Sheet {
    fn from(tune: Settings) -> Self {
        let (full, knots) = (Settings::in_full(), Knots::default());
        let mut sheet = Self { full, knots, ways: [0; SETTINGS.len()] };
        for setting in SETTINGS {
            sheet.take(setting, &tune);
        }
        sheet
    }
}

impl Sheet {
    /// Takes a setting from a tune, as far as that says anything of it.
    pub(super) fn take(&mut self, setting: &Setting, tune: &Settings) {
        if let Some(number) = setting.number(tune) {
            setting.set_number(&mut self.full, number);
        }
        let way = match setting.kind {
            Kind::Optional { .. } => setting.number(tune).is_some().into(),
            Kind::Choice { get, .. } => get(tune),
            Kind::Part { .. } => setting.is_on(tune).unwrap_or_default().into(),
            Kind::Flag { at } => {
                if let (Some(place), Some(flag)) = (at(&mut self.full), setting.flag(tune)) {
                    *place = flag;
                }
                return;
            }
            Kind::Knots { .. } => match tune.curve {
                CurveSettings::Knots(knots) => {
                    self.knots = knots;
                    1
                }
                CurveSettings::Cubic { .. } => 0,
            },
            Kind::Number { .. } | Kind::Whole { .. } => return,
        };
        self.choose(row(setting.path), way);
    }

    pub(super) fn way(&self, row: usize) -> usize {
        self.ways[row]
    }

    pub(super) fn choose(&mut self, row: usize, way: usize) {
        self.ways[row] = way;
    }

    /// Whether what can be off is on: a part, a number that may be left out, the curve's knots.
    pub fn is_on(&self, path: &str) -> bool {
        self.ways[row(path)] == 1
    }

    /// Switches it. A curve by points that has none begins with three on the curve that was there.
    pub fn switch(&mut self, path: &str, on: bool) {
        let at = row(path);
        self.ways[at] = on.into();
        let knots = matches!(SETTINGS[at].kind, Kind::Knots { .. });
        if knots && on && self.knots.points().is_empty() {
            let blend = self.number("curve.blend");
            let point = |x: f32| [x, (1.0 - blend) * x + blend * x * x * x];
            self.knots = Knots::new(&[0.25, 0.5, 0.75].map(point)).unwrap_or_default();
        }
    }

    /// A number, whether it is heard or not.
    pub fn number(&self, path: &str) -> f32 {
        Setting::of(path).number(&self.full).unwrap_or_default()
    }

    /// Sets it.
    pub fn set_number(&mut self, path: &str, number: f32) {
        Setting::of(path).set_number(&mut self.full, number);
    }

    /// The tune that the controller is given.
    pub fn settings(&self) -> Settings {
        let mut tune = self.full;
        for (setting, way) in SETTINGS.iter().zip(self.ways) {
            match setting.kind {
                Kind::Optional { at, .. } if way == 0 => {
                    if let Some(number) = at(&mut tune) {
                        *number = None;
                    }
                }
                Kind::Choice { set, .. } => set(&mut tune, way),
                Kind::Part { set, .. } if way == 0 => {
                    set(&mut tune, false);
                }
                Kind::Knots { at, .. } if way == 1 => {
                    *at(&mut tune) = CurveSettings::Knots(self.knots);
                }
                _ => {}
            }
        }
        tune
    }
}

/// The place of a path in the list.
fn row(path: &str) -> usize {
    SETTINGS.iter().position(|setting| setting.path == path).unwrap_or_default()
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
        sheet.switch("hold.on", false);
        assert_eq!(sheet.settings().hold, None);
        sheet.switch("hold.on", true);
        assert_eq!(sheet.settings(), demo);
    }
}
