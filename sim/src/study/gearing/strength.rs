//! Bending of a tooth by Lewis: the whole force at the tip of one tooth, a beam of the tooth's shape.
//!
//! ```text
//! stress = K_v W_t / (F m Y),   K_v = (6.1 m/s + V) / 6.1 m/s
//! ```
//!
//! `W_t` force along the pitch circle, `V` its speed, `F` face width, `m` module. `K_v` is Barth's
//! factor for cut or milled teeth (Shigley, Mechanical Engineering Design, ch. 14, second hand).
//! Simple and rough: no stress concentration, wear or life.

use easeoff_plant::interpolate::straight;

/// Form factor over teeth, 20 degrees, full depth: PyPI's gearpy 1.3.1, which is within 0.002 of
/// Shigley's table 14-2 (second hand).
const FORM: [[f64; 2]; 16] = [
    [10.0, 0.201],
    [12.0, 0.245],
    [14.0, 0.276],
    [15.0, 0.289],
    [16.0, 0.295],
    [17.0, 0.302],
    [18.0, 0.308],
    [20.0, 0.320],
    [22.0, 0.330],
    [26.0, 0.344],
    [30.0, 0.358],
    [40.0, 0.389],
    [50.0, 0.408],
    [60.0, 0.421],
    [100.0, 0.446],
    [300.0, 0.471],
];

/// Lewis form factor Y; `None` where nothing is tabulated: below 10 teeth, and away from 20 degrees.
pub fn form(teeth: u32, pressure_angle_deg: f64) -> Option<f64> {
    let tabulated = teeth >= 10 && (pressure_angle_deg - 20.0).abs() < 0.5;
    tabulated.then(|| straight(&FORM, f64::from(teeth)))
}

/// Stress at a tooth's foot \[MPa\] under a force \[N\] at a speed of the pitch circle \[m/s\].
pub fn stress_mpa(force_n: f64, speed_m_s: f64, face_mm: f64, module_mm: f64, form: f64) -> f64 {
    (6.1 + speed_m_s) / 6.1 * force_n / (face_mm * module_mm * form)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// G10: Shigley table 14-2, second hand.
    #[test]
    fn g10_form_factors() {
        let shigley = [
            (12, 0.245),
            (15, 0.290),
            (16, 0.296),
            (18, 0.309),
            (22, 0.331),
            (24, 0.337),
            (26, 0.346),
            (30, 0.359),
            (34, 0.371),
            (60, 0.422),
            (100, 0.447),
        ];
        for (teeth, published) in shigley {
            let found = form(teeth, 20.0).unwrap();
            assert!((found - published).abs() < 0.002_1, "{teeth}: {found}");
        }
        assert_eq!((form(9, 20.0), form(20, 14.5)), (None, None));
    }

    /// G11: Shigley example 14-1 (second hand): P 8, face 1.5 inch, 16 teeth at 1200 rpm, 10 kpsi. The
    /// pitch circle runs 628 ft/min, K_v is 1.52, and 365 lbf are allowed.
    #[test]
    fn g11_a_published_example() {
        let (module_mm, face_mm) = (25.4 / 8.0, 1.5 * 25.4);
        let speed_m_s = std::f64::consts::PI * 16.0 * module_mm * 1.0e-3 * 1_200.0 / 60.0;
        assert!((speed_m_s / 0.3048 * 60.0 / 628.0 - 1.0).abs() < 1e-3);
        let allowed_mpa = 10.0 * 6.894_757;
        let one_newton = stress_mpa(1.0, speed_m_s, face_mm, module_mm, 0.296);
        let allowed_lbf = allowed_mpa / one_newton / 4.448_222;
        assert!((allowed_lbf / 365.0 - 1.0).abs() < 0.005, "{allowed_lbf}");
        let form = form(16, 20.0).unwrap();
        assert!(
            (stress_mpa(1.0, speed_m_s, face_mm, module_mm, form) / one_newton - 1.0).abs() < 5e-3
        );
    }
}
