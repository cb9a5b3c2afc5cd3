//! Wire and connectors against the current of the pack.
//!
//! At full duty the pack gives what the motor takes, so its current is limited as the motor's is.

use easeoff_plant::interpolate::straight;

use super::{Finding, GIVEN, Severity, Subject, with};

const HOT: &str = "Hot wire melts its insulation; two bare wires are a short circuit of the pack. Wiring of \
                   anything but a small rig is for those who are licensed for it, by the local code.";

/// Current for long of one insulated wire in free air, by gauge \[AWG, A\]. Common practice, no source;
/// a test holds it against the heat that such a wire can give to the air.
const FREE_AIR_A: [[f64; 2]; 8] = [
    [8.0, 73.0],
    [10.0, 55.0],
    [12.0, 41.0],
    [14.0, 32.0],
    [16.0, 22.0],
    [18.0, 16.0],
    [20.0, 11.0],
    [22.0, 7.0],
];

/// What a gauge stands \[A\]; thicker and thinner ones as the last in the list.
pub(crate) fn free_air_a(gauge: f64) -> f64 {
    straight(&FREE_AIR_A, gauge)
}

/// The pack's wire. Twice its current is allowed for moments, which is all that a limit lets pass.
pub(super) fn wire(subject: &Subject<'_>) -> Vec<Finding> {
    let Some(gauge) = subject.rig().pack.wire_awg else { return Vec::new() };
    let allowed_a = free_air_a(gauge);
    if subject.drive_a <= allowed_a {
        return Vec::new();
    }
    let much = subject.drive_a > 2.0 * allowed_a;
    vec![Finding {
        what: "wire",
        severity: if much { Severity::Wrong } else { Severity::Doubtful },
        is: with(subject.drive_a, "A"),
        limit: format!("{} for AWG {gauge}, double for moments", with(allowed_a, "A")),
        says: "The wire gets hot when this current lasts.".into(),
        source: "common practice, no source; so is double",
        caution: HOT,
        remedy: "Take thicker and shorter wire, or lower limits.drive_a.".into(),
    }]
}

/// The weakest connector.
pub(super) fn connector(subject: &Subject<'_>) -> Vec<Finding> {
    let Some(rated_a) = subject.rig().pack.connector_a else { return Vec::new() };
    if subject.drive_a <= rated_a {
        return Vec::new();
    }
    vec![Finding {
        what: "connector",
        severity: Severity::Wrong,
        is: with(subject.drive_a, "A"),
        limit: with(rated_a, "A"),
        says: "The connector gets hot, its springs go soft, and it gets hotter.".into(),
        source: GIVEN,
        caution: HOT,
        remedy: "Take a larger connector, or lower limits.drive_a.".into(),
    }]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How much warmer than still air a wire gets \[K\], by algebra: it gives `pi d h rise` per metre, `d` over
    /// 0.4 mm of insulation, `h` 15 W/(m^2 K) for free convection and radiation of something as thin as that
    /// (both assumed), and makes `i^2 R (1 + 0.00393 rise)` (copper, IEC 60028).
    fn rise_k(gauge: f64, amps: f64) -> f64 {
        let across_m = 1.0e-3 * (easeoff_plant::wire_gauge::diameter_mm(gauge) + 2.0 * 0.4);
        let cold_w = amps * amps * easeoff_plant::wire_gauge::ohm_per_m(gauge);
        cold_w / (std::f64::consts::PI * across_m * 15.0 - 0.00393 * cold_w)
    }

    /// Each gauge gets warm by about as much, and far too hot by twice its current.
    #[test]
    fn a_gauges_current_makes_it_hot_but_melts_no_insulation() {
        for [gauge, amps] in FREE_AIR_A {
            assert_eq!(free_air_a(gauge), amps);
            let rise = rise_k(gauge, amps);
            assert!((40.0..110.0).contains(&rise), "AWG {gauge}: {rise} K");
            let double = rise_k(gauge, 2.0 * amps);
            assert!(!(0.0..200.0).contains(&double), "AWG {gauge}, double: {double} K");
        }
        assert!((16.0..22.0).contains(&free_air_a(17.0)));
    }
}
