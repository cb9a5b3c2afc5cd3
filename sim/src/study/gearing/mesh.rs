//! A pinion and its spur gear: involute teeth of full depth, not shifted.
//!
//! ```text
//! a = m (z1 + z2) / 2,   cos a_w = a cos(alpha) / a'      at a centre distance a' beyond a
//! backlash j = 2 a' (inv a_w - inv alpha),   near a: 2 tan(alpha) (a' - a)
//! contact ratio = (sqrt(ra1^2 - rb1^2) + sqrt(ra2^2 - rb2^2) - a' sin a_w) / (pi m cos alpha)
//! undercut by a rack below 2 / sin^2 alpha teeth
//! ```
//!
//! Formulas of any text on gears; Shigley, Mechanical Engineering Design, eq. 13-11 and 13-13 for the
//! least numbers of teeth (second hand). A tooth's head is 1 module.

use easeoff_plant::rig::Mesh;

/// Teeth that turn together.
#[derive(Clone, Copy, Debug)]
pub struct Pair {
    /// Module \[mm\].
    pub module_mm: f64,
    /// Pressure angle of the cutter \[rad\].
    pub pressure_rad: f64,
    /// Teeth of pinion and spur gear.
    pub teeth: [u32; 2],
}

/// Teeth below which a rack undercuts them: `2 / sin^2 alpha`.
pub fn least_by_rack(pressure_rad: f64) -> f64 {
    let sine = libm::sin(pressure_rad);
    2.0 / (sine * sine)
}

/// Teeth below which a pinion's feet meet the tips of a gear with `ratio` times its teeth:
/// `2 / ((1 + 2 u) sin^2) (u + sqrt(u^2 + (1 + 2 u) sin^2))`.
pub fn least_with_gear(pressure_rad: f64, ratio: f64) -> f64 {
    let sine = libm::sin(pressure_rad);
    let part = (1.0 + 2.0 * ratio) * sine * sine;
    2.0 / part * (ratio + (ratio * ratio + part).sqrt())
}

/// `inv a = tan a - a`.
pub fn involute(angle_rad: f64) -> f64 {
    libm::tan(angle_rad) - angle_rad
}

impl Pair {
    /// A pinion on a rig's spur gear.
    pub fn new(mesh: &Mesh, pinion_teeth: u32, spur_teeth: u32) -> Self {
        Self {
            module_mm: mesh.module_mm,
            pressure_rad: mesh.pressure_angle_deg.to_radians(),
            teeth: [pinion_teeth, spur_teeth],
        }
    }

    /// Radius of the pitch circle of one of both \[mm\].
    pub(crate) fn pitch_mm(&self, index: usize) -> f64 {
        self.module_mm * f64::from(self.teeth[index]) / 2.0
    }

    /// Centre distance without backlash \[mm\].
    pub fn centre_mm(&self) -> f64 {
        self.pitch_mm(0) + self.pitch_mm(1)
    }

    /// Pressure angle at which they work at a centre distance \[rad\].
    pub fn working_rad(&self, centre_mm: f64) -> f64 {
        let cosine = self.centre_mm() * libm::cos(self.pressure_rad) / centre_mm;
        libm::acos(cosine.min(1.0))
    }

    /// Backlash along the pitch circle at a centre distance \[mm\]; negative where they bind.
    pub fn backlash_mm(&self, centre_mm: f64) -> f64 {
        let beyond = involute(self.working_rad(centre_mm)) - involute(self.pressure_rad);
        2.0 * centre_mm * beyond
    }

    /// How many pairs of teeth touch on average at a centre distance. Contact ends where a flank
    /// ends at the other's base circle.
    pub fn contact_ratio(&self, centre_mm: f64) -> f64 {
        let cosine = libm::cos(self.pressure_rad);
        let whole_mm = centre_mm * libm::sin(self.working_rad(centre_mm));
        let reach_mm = |index: usize| {
            let (tip, base) =
                (self.pitch_mm(index) + self.module_mm, self.pitch_mm(index) * cosine);
            (tip * tip - base * base).sqrt().min(whole_mm)
        };
        (reach_mm(0) + reach_mm(1) - whole_mm) / (std::f64::consts::PI * self.module_mm * cosine)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pair(pinion: u32, spur: u32) -> Pair {
        Pair { module_mm: 1.0, pressure_rad: 20.0_f64.to_radians(), teeth: [pinion, spur] }
    }

    fn near(found: f64, published: f64, within: f64) {
        assert!((found - published).abs() < within, "{found}, published {published}");
    }

    /// G1: Shigley eq. 13-13, by the drivetrainhub notebooks on gears (geometry, chapter 2).
    #[test]
    fn g1_least_teeth_by_a_rack() {
        for (degrees, teeth) in [(20.0_f64, 17.097), (14.5, 31.90), (25.0, 11.20)] {
            near(least_by_rack(degrees.to_radians()), teeth, 0.005);
        }
    }

    /// G2: Shigley eq. 13-11, second hand.
    #[test]
    fn g2_least_teeth_with_a_gear() {
        let rows = [(1.0, 12.32), (2.0, 14.16), (3.0, 14.98), (4.0, 15.44), (5.0, 15.74)];
        for (ratio, teeth) in rows {
            near(least_with_gear(20.0_f64.to_radians(), ratio), teeth, 0.006);
        }
    }

    /// G6: the involute function of 20 degrees, in any table.
    #[test]
    fn g6_involute() {
        near(involute(20.0_f64.to_radians()), 0.014_904, 1e-6);
    }

    /// G7: Shigley example 13-1 (from memory; the arithmetic reproduced): 16 and 40 teeth of 1/2 inch
    /// module are 14 inches apart; 1/4 inch further they work at 22.60 degrees
    /// (22.56 is printed, from rounded radii).
    #[test]
    fn g7_moved_apart() {
        let pair = Pair { module_mm: 0.5, ..pair(16, 40) };
        near(pair.centre_mm(), 14.0, 1e-12);
        near(pair.working_rad(14.25).to_degrees(), 22.600, 2e-3);
    }

    /// G8: Shigley problem 13-4's gears (second hand), 1.604. G9: the formula by another program.
    #[test]
    fn g8_g9_contact_ratio() {
        let rows = [
            (21, 28, 1.604, 5e-4),
            (20, 20, 1.556_8, 1e-4),
            (17, 58, 1.647_1, 1e-4),
            (15, 45, 1.608_6, 1e-4),
            (20, 80, 1.691_3, 1e-4),
        ];
        for (pinion, spur, ratio, within) in rows {
            let pair = pair(pinion, spur);
            near(pair.contact_ratio(pair.centre_mm()), ratio, within);
        }
        // Further apart fewer touch; a pinion that is undercut loses some too.
        let apart = pair(20, 80);
        assert!(apart.contact_ratio(apart.centre_mm() + 0.3) < 1.691);
        let undercut = pair(9, 80);
        assert!(undercut.contact_ratio(undercut.centre_mm()) < 1.45);
    }

    /// G13: 0.1 mm further apart, 20 and 60 teeth of module 1: 0.07366 mm, and near it 2 tan(alpha) da.
    #[test]
    fn g13_backlash() {
        let pair = pair(20, 60);
        near(pair.backlash_mm(40.1), 0.073_66, 5e-6);
        near(pair.backlash_mm(40.1), 2.0 * libm::tan(pair.pressure_rad) * 0.1, 1e-3);
        assert!(pair.backlash_mm(40.0).abs() < 1e-12);
    }
}
