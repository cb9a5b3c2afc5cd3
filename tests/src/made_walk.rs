//! `tests/data/walk.gpx`, made: nobody's way, in the South Pacific, 2,000 km and more from any land.
//!
//! It has what recorded tracks have: points every one to nine seconds, heights in steps that repeat and
//! jitter, and spots on which nobody moves but the height jitters. What is known of it is known before
//! it becomes latitudes and longitudes: how long each step is and how high each point.

#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    reason = "makes test data"
)]

use std::fmt::Write;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Where it begins: latitude and longitude in degrees. So far from the equator that a degree of
/// longitude is a good deal shorter than one of latitude.
const START: [f64; 2] = [-48.0, -124.0];

/// A degree of a great circle, by the Earth's mean radius (IUGG).
const M_PER_DEG: f64 = 6_371_008.8 * core::f64::consts::PI / 180.0;

/// Heights come in steps of this \[m\].
const STEP_M: f64 = 0.2;

/// Points in the file.
pub const POINTS: usize = 200;

/// Where the walker stands still: the point there is on the spot of the one before.
pub const STANDING: [usize; 6] = [31, 32, 90, 141, 142, 143];

/// One point of the way.
#[derive(Clone, Copy, Debug)]
pub struct Point {
    /// Seconds after the one before; 0 at the first.
    pub after_s: u32,
    /// Metres on the ground from the one before; 0 at the first.
    pub step_m: f64,
    /// As a recorder that jitters gives it \[m\].
    pub height_m: f64,
    degrees: [f64; 2],
}

/// The way, from its seed.
pub fn walk() -> Vec<Point> {
    let mut draw = ChaCha8Rng::seed_from_u64(1);
    // 0 to 1.
    let mut part = move || f64::from(draw.next_u32()) / f64::from(u32::MAX);
    let [mut latitude, mut longitude] = START;
    let (mut way_m, mut heading) = (0.0, 2.0);
    (0..POINTS)
        .map(|number| {
            let after_s = if number == 0 { 0 } else { 1 + (9.0 * part()).min(8.0) as u32 };
            heading += 0.6 * (part() - 0.5);
            let pace_m_s = 1.5 + 2.0 * part();
            let stands = number == 0 || STANDING.contains(&number);
            let step_m = if stands { 0.0 } else { pace_m_s * f64::from(after_s) };
            way_m += step_m;
            let north_deg = step_m * libm::cos(heading) / M_PER_DEG;
            let middle = (latitude + north_deg / 2.0).to_radians();
            latitude += north_deg;
            longitude += step_m * libm::sin(heading) / M_PER_DEG / libm::cos(middle);
            let hills_m = 40.0 + 5.0 * libm::sin(way_m / 300.0) + 1.5 * libm::sin(way_m / 70.0);
            // Most often none.
            let jitter_m = 2.0 * STEP_M * (part() + part() + part() - 1.5);
            let steps = libm::rint((hills_m + jitter_m) / STEP_M);
            Point { after_s, step_m, height_m: steps * STEP_M, degrees: [latitude, longitude] }
        })
        .collect()
}

/// The file. A billionth of a degree is a tenth of a millimetre.
pub fn gpx() -> String {
    let mut text = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <gpx xmlns=\"http://www.topografix.com/GPX/1/1\" version=\"1.1\" creator=\"easeoff test data\">\n  \
         <trk>\n    <trkseg>\n",
    );
    let mut at_s = 0;
    for Point { after_s, height_m, degrees: [latitude, longitude], .. } in walk() {
        at_s += after_s;
        let (minute, second) = (at_s / 60, at_s % 60);
        let _ = writeln!(
            text,
            "      <trkpt lat=\"{latitude:.9}\" lon=\"{longitude:.9}\"><ele>{height_m:.1}</ele>\
             <time>2000-01-01T00:{minute:02}:{second:02}Z</time></trkpt>"
        );
    }
    text + "    </trkseg>\n  </trk>\n</gpx>\n"
}
