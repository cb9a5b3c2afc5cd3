//! Round copper wire by American wire gauge.
//!
//! ```text
//! d = 0.127 mm * 92^((36 - n) / 39)      ASTM B258
//! R / length = rho / (pi d^2 / 4),        rho = 1/58 ohm mm^2/m at 20 degrees C (IEC 60028)
//! ```
//!
//! Both standards second hand. The gauges 1/0 and thicker have no number here.

/// Diameter \[mm\] of a gauge number, 0 to 40.
///
/// ```
/// assert!((easeoff_plant::wire_gauge::diameter_mm(14.0) - 1.628).abs() < 0.001);
/// ```
pub fn diameter_mm(gauge: f64) -> f64 {
    0.127 * libm::pow(92.0, (36.0 - gauge) / 39.0)
}

/// Resistance per length at 20 degrees C \[ohm/m\].
pub fn ohm_per_m(gauge: f64) -> f64 {
    let diameter = diameter_mm(gauge);
    1.0 / 58.0 / (std::f64::consts::PI * diameter * diameter / 4.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// W1 and W2, AWG 10 to 22. By the definition of ASTM B258 gauge 36 is 0.005 in, 4/0 (number -3) is
    /// 0.46 in, and the steps between are equal factors; resistance by the 1/58 ohm mm^2/m of IEC 60028.
    /// The numbers are worked out from that, to four digits.
    #[test]
    fn gauges_are_those_of_the_standards() {
        let rows = [
            (10.0, 2.588_2, 3.277),
            (12.0, 2.052_5, 5.211),
            (14.0, 1.627_7, 8.286),
            (16.0, 1.290_8, 13.17),
            (18.0, 1.023_7, 20.95),
            (20.0, 0.811_8, 33.31),
            (22.0, 0.643_8, 52.96),
        ];
        for (gauge, mm, milliohm_per_m) in rows {
            assert!((diameter_mm(gauge) / mm - 1.0).abs() < 1.0e-3, "AWG {gauge}");
            let found = 1_000.0 * ohm_per_m(gauge);
            assert!((found / milliohm_per_m - 1.0).abs() < 3.0e-3, "AWG {gauge}: {found}");
        }
        for (gauge, inches) in [(36.0, 0.005), (-3.0, 0.46)] {
            assert!((diameter_mm(gauge) / (25.4 * inches) - 1.0).abs() < 1.0e-9, "AWG {gauge}");
        }
    }

    /// W3: three gauges more double the resistance, ten are tenfold, "about" (common practice, no source):
    /// by the standard's own rule 92^(6/39) is 2.005 and 92^(20/39) is 10.16.
    #[test]
    fn three_gauges_double_it() {
        for gauge in [4.0, 10.0, 22.0] {
            let more = |by: f64| ohm_per_m(gauge + by) / ohm_per_m(gauge);
            assert!((more(3.0) / 2.0 - 1.0).abs() < 0.01, "{}", more(3.0));
            assert!((more(10.0) / 10.0 - 1.0).abs() < 0.02, "{}", more(10.0));
        }
    }
}
