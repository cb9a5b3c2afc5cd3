//! The throttle curve at every demand and 256 blends: 33.5 million points, each through the whole
//! controller, whose pulse can be set finely enough to ask for every demand there is.

use crate::common::{Bench, FINE, fine_pulse};
use easeoff_core::{CurveSettings, Settings};

/// One, in the demand's raw units.
const ONE: i32 = 65_536;

/// The curve of one blend at every demand from 0 to `end`, raw; each is first held against the
/// demand that was meant.
fn curved(blend: f32, end: i32) -> Vec<i32> {
    let curve = CurveSettings::Cubic { blend };
    let settings = Settings { calibration: FINE, curve, ..Settings::default() };
    let mut bench = Bench::new(&settings, 1_000);
    let at = |size: i32| {
        let bits = size * end.signum();
        bench.input.pulse = Some(fine_pulse(bits));
        // Curve and demand are there before arming.
        let trace = bench.step().trace;
        assert_eq!(trace.demand.to_bits(), bits, "this demand must be reachable");
        trace.curved.to_bits()
    };
    (0..=end.abs()).map(at).collect()
}

/// `(1 - blend) x + blend x^3` in whole numbers, rounded down, raw.
fn formula(blend_bits: i64, size: i64) -> i64 {
    let one = i64::from(ONE);
    // Each term in units of 2^-64, exact.
    let straight = i128::from((one - blend_bits) * size) << 32;
    let bent = i128::from(blend_bits) * i128::from(size * size * size);
    i64::try_from((straight + bent) >> 48).unwrap()
}

#[test]
fn at_every_demand_and_blend_monotone_odd_and_exact_at_the_ends() {
    let mut worst = 0;
    for step in 0..256_u16 {
        let blend = f32::from(step) / 255.0;
        let blend_bits = (f64::from(blend) * f64::from(ONE)).round() as i64;
        let (forward, backward) = (curved(blend, ONE), curved(blend, -ONE));
        assert_eq!((forward[0], forward[65_536]), (0, ONE), "ends of blend {step}/255");
        assert!(forward.is_sorted(), "blend {step}/255 falls");
        for (size, (ahead, back)) in (0_i64..).zip(forward.iter().zip(&backward)) {
            assert_eq!(*back, -ahead, "blend {step}/255 is not odd at {size}");
            worst = worst.max((i64::from(*ahead) - formula(blend_bits, size)).abs());
        }
    }
    assert!(worst <= 1, "{worst} units from the formula");
    println!("at most {worst} of 65,536 from the formula");
}
