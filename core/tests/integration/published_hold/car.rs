//! The car of the cruise-control example and the road it drives on; sources in the file that uses
//! it.

/// The car's constants by the source's names, SI.
const M: f64 = 1_600.0;
const G: f64 = 9.8;
const CR: f64 = 0.01;
const CD: f64 = 0.32;
const RHO: f64 = 1.3;
const A: f64 = 2.4;
const TM: f64 = 190.0;
const OMEGA_M: f64 = 420.0;
const BETA: f64 = 0.4;
/// Fourth gear: engine speed per road speed \[rad/m\].
const ALPHA: f64 = 12.0;
/// The speed to hold \[m/s\].
pub(crate) const VREF: f64 = 20.0;

pub(crate) fn engine_torque(omega: f64) -> f64 {
    (TM * (1.0 - BETA * (omega / OMEGA_M - 1.0).powi(2))).max(0.0)
}

pub(crate) fn max_drive(v: f64) -> f64 {
    ALPHA * engine_torque(ALPHA * v)
}

pub(crate) fn rolling(v: f64) -> f64 {
    M * G * CR * v.signum()
}

pub(crate) fn air(v: f64) -> f64 {
    0.5 * RHO * CD * A * v.abs() * v
}

pub(crate) fn gravity(slope: f64) -> f64 {
    M * G * slope.sin()
}

pub(crate) fn acceleration(v: f64, throttle: f64, slope: f64) -> f64 {
    (max_drive(v) * throttle.clamp(0.0, 1.0) - gravity(slope) - rolling(v) - air(v)) / M
}

pub(crate) fn equilibrium_throttle() -> f64 {
    (rolling(VREF) + air(VREF)) / max_drive(VREF)
}

/// Flat until 5 s, full slope from 6 s on.
pub(crate) fn hill(degrees: f64, t: f64) -> f64 {
    degrees.to_radians() * (t - 5.0).clamp(0.0, 1.0)
}

pub(crate) fn rk4<const N: usize>(
    x: [f64; N],
    t: f64,
    h: f64,
    f: impl Fn(f64, [f64; N]) -> [f64; N],
) -> [f64; N] {
    let ahead = |k: [f64; N], by: f64| std::array::from_fn(|i| x[i] + by * k[i]);
    let k1 = f(t, x);
    let k2 = f(t + h / 2.0, ahead(k1, h / 2.0));
    let k3 = f(t + h / 2.0, ahead(k2, h / 2.0));
    let k4 = f(t + h, ahead(k3, h));
    std::array::from_fn(|i| x[i] + h / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]))
}

/// The slope of the acceleration over speed and over throttle at the equilibrium. The model is of
/// second degree in `v`, so the central difference is exact.
pub(crate) fn linearised() -> (f64, f64) {
    let u = equilibrium_throttle();
    let a = (acceleration(VREF - 1.0, u, 0.0) - acceleration(VREF + 1.0, u, 0.0)) / 2.0;
    (a, max_drive(VREF) / M)
}
