//! The wheel speed that full throttle means to the speed hold: of a tune that does not set it, what the rig gives; of one
//! that does, whether that fits the rig.

use easeoff_core::{HoldSettings, Settings};
use easeoff_plant::heating::Temperatures;
use easeoff_plant::rig::Rig;
use easeoff_plant::steady::Steady;

use crate::digits::digits;

/// A set full speed further than this from the rig's does not fit it. Not tighter: a course's load and a pack half
/// empty take a few per cent.
pub const FITS_WITHIN: f64 = 0.10;

/// The setting.
pub const FULL_SPEED: &str = "hold.full_speed_rad_s";

/// What is allowed of the setting \[rad/s\].
const ALLOWED: [f64; 2] = [1.0, 2_000.0];

/// Speed of this rig's wheels in the air at full duty, cold and with a full pack \[rad/s\]; 0 where it does not turn them.
///
/// Of a full pack, whatever charge the rig has: a tune must not depend on the day's charge, and to make up for a pack
/// that empties is what the speed hold is for.
pub fn full_speed_rad_s(rig: &Rig) -> f64 {
    let mut full = rig.clone();
    full.pack.charge = 1.0;
    let found = Steady::new(&full).under(1.0, &Temperatures::cold(&full), |_| 0.0);
    found.map_or(0.0, |point| point.wheel_rad_s)
}

/// The same as a setting: to its precision, and within its range.
pub fn derived(rig: &Rig) -> f32 {
    full_speed_rad_s(rig).clamp(ALLOWED[0], ALLOWED[1]) as f32
}

/// The usual speed hold of a rig.
pub fn usual_hold(rig: &Rig) -> HoldSettings {
    HoldSettings::new(derived(rig))
}

/// Whether a tune has a speed hold whose full speed is the one that this rig gives.
pub fn is_derived(tune: &Settings, rig: &Rig) -> bool {
    tune.hold.is_some_and(|hold| hold.full_speed_rad_s == derived(rig))
}

/// What a full speed is derived from, in words.
pub fn derived_from(rig: &Rig) -> String {
    format!(
        "the wheels in the air at full duty: {} rpm/V, geared {} to 1, {} full cells",
        rig.motor.kv_rpm_per_v,
        digits(rig.gears.ratio()),
        rig.pack.cells
    )
}

/// That a tune sets a full speed that does not fit the rig, and what to do; `None` where it fits, or nothing is held.
pub fn misfit(tune: &Settings, rig: &Rig) -> Option<Misfit> {
    let set_rad_s = f64::from(tune.hold?.full_speed_rad_s);
    let rig_rad_s = full_speed_rad_s(rig);
    let fits = (set_rad_s - rig_rad_s).abs() <= FITS_WITHIN * rig_rad_s;
    (!fits).then_some(Misfit { set_rad_s, rig_rad_s, radius_m: rig.wheels.radius_m })
}

/// A full speed that does not fit the rig.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Misfit {
    /// What the tune sets \[rad/s\].
    pub set_rad_s: f64,
    /// What the rig gives \[rad/s\].
    pub rig_rad_s: f64,
    radius_m: f64,
}

impl Misfit {
    /// What to do.
    pub const REMEDY: &str =
        "leave hold.full_speed_rad_s out of the tune: then it is derived from the rig";

    /// A wheel speed in both units.
    fn speed(&self, rad_s: f64) -> String {
        format!("{} rad/s ({} m/s)", digits(rad_s), digits(rad_s * self.radius_m))
    }

    /// What the tune sets.
    pub fn set(&self) -> String {
        self.speed(self.set_rad_s)
    }

    /// What the rig gives.
    pub fn rig(&self) -> String {
        self.speed(self.rig_rad_s)
    }

    /// What that does.
    pub fn does(&self) -> &'static str {
        if self.set_rad_s < self.rig_rad_s {
            "the speed hold takes power away at every throttle, and no other pinion makes it faster"
        } else {
            "the speed hold adds power at every throttle, all that its authority allows"
        }
    }
}

impl std::fmt::Display for Misfit {
    /// A sentence, with the remedy.
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            out,
            "The tune sets {FULL_SPEED} to {}, and this rig's wheels reach {}: {}. Remedy: {}.",
            self.set(),
            self.rig(),
            self.does(),
            Self::REMEDY
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::demo;
    use easeoff_core::SETTINGS;

    #[test]
    fn the_range_is_the_lists() {
        let row = SETTINGS.iter().find(|row| row.path == FULL_SPEED).unwrap();
        assert_eq!(row.range().map(|range| range.map(f64::from)), Some(ALLOWED));
    }

    /// Without losses it is the pack's voltage by kV and gearing; what the motor's own friction takes is the rest.
    #[test]
    fn it_is_nearly_the_full_packs_voltage_by_kv_and_gearing() {
        let mut rig = demo::rig().unwrap();
        let ideal = |rig: &Rig| {
            let volts = 4.2 * f64::from(rig.pack.cells);
            volts * rig.motor.kv_rpm_per_v * std::f64::consts::TAU / 60.0 / rig.gears.ratio()
        };
        for (teeth, cells) in [(13, 3), (16, 3), (11, 2)] {
            (rig.gears.pinion_teeth, rig.pack.cells) = (teeth, cells);
            let part = full_speed_rad_s(&rig) / ideal(&rig);
            assert!((0.95..1.0).contains(&part), "{teeth} teeth, {cells} cells: {part}");
        }
        let full = derived(&rig);
        rig.pack.charge = 0.2;
        assert_eq!(derived(&rig), full, "whatever the charge");
    }

    #[test]
    fn a_set_one_fits_within_a_tenth_and_is_named_with_both_values_beyond() {
        let rig = demo::rig().unwrap();
        let due = full_speed_rad_s(&rig);
        let with = |part: f64| {
            let hold = Some(HoldSettings::new((part * due) as f32));
            misfit(&Settings { hold, ..Settings::default() }, &rig)
        };
        assert_eq!([1.0, 0.901, 1.099].map(with), [None; 3]);
        let (slow, fast) = (with(0.899).unwrap().to_string(), with(1.101).unwrap().to_string());
        assert!(slow.contains("takes power away") && fast.contains("adds power"), "{slow}\n{fast}");
        for said in [slow, fast] {
            assert!(said.contains(&format!("reach {} rad/s", digits(due))), "{said}");
            assert!(said.contains("Remedy: leave hold.full_speed_rad_s out"), "{said}");
        }
        assert_eq!(misfit(&Settings::default(), &rig), None, "nothing is held");
    }
}
