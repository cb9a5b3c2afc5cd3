//! Wire and connectors against the current of the pack.
//!
//! At full duty the pack gives what the motor takes, so its current is limited as the motor's is.

use super::{Finding, GIVEN, Severity, Subject, with};
use easeoff_plant::interpolate::straight;

const HOT: &str = "Hot wire melts its insulation; two bare wires are a short circuit of the pack. Wiring of \
                   anything but a small rig is for those who are licensed for it, by the local code.";

/// Current that one insulated wire stands in free air, by gauge \[AWG, A\]: the "chassis wiring" column of
/// the Handbook of Electronic Tables and Formulas, as repeated by many pages. 12, 14 and 16 read there,
/// second hand; the others from memory.
const CHASSIS_A: [[f64; 2]; 8] = [
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
pub fn chassis_a(gauge: f64) -> f64 {
    straight(&CHASSIS_A, gauge)
}

/// The pack's wire. Twice its current is allowed for moments, which is all that a limit lets pass.
pub fn wire(subject: &Subject<'_>) -> Vec<Finding> {
    let Some(gauge) = subject.rig().pack.wire_awg else { return Vec::new() };
    let allowed_a = chassis_a(gauge);
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
        source: "Handbook of Electronic Tables and Formulas, chassis wiring, second hand; double: common \
                 practice, no source",
        caution: HOT,
        remedy: "Take thicker and shorter wire, or lower limits.drive_a.".into(),
    }]
}

/// The weakest connector.
pub fn connector(subject: &Subject<'_>) -> Vec<Finding> {
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

    /// reference.com: 12 gauge 41 A, 16 gauge 22 A in chassis wiring; tmsolarenergy.com: 14 gauge 32 A.
    #[test]
    fn gauges_stand_what_is_tabulated() {
        for (gauge, amps) in [(12.0, 41.0), (14.0, 32.0), (16.0, 22.0)] {
            assert_eq!(chassis_a(gauge), amps);
        }
        assert!((16.0..22.0).contains(&chassis_a(17.0)));
    }
}
