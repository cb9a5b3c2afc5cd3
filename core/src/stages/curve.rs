//! Third stage: how the demand grows with the throttle's travel.
//!
//! Source: algebra.

use fixed::types::I16F16;

use crate::settings::allowed;
use crate::shared::error::{Allowed, Check};
use crate::shared::units::{Demand, prepared, product};

/// Where a knot may lie along the throttle's travel.
pub(crate) const TRAVEL: Allowed = Allowed::new("curve.knots.travel", [0.01, 0.99]);
/// What it may ask for there.
pub(crate) const DEMAND: Allowed = Allowed::new("curve.knots.demand", [0.0, 1.0]);

/// As many knots as one curve has.
pub const MOST_KNOTS: usize = 9;

/// The curve of one side of the throttle; the other side is its mirror image.
///
/// Odd, never falling, `f(0) = 0` and `f(1) = 1` exactly for every setting.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
pub enum CurveSettings {
    /// `f(x) = (1 - blend) x + blend x^3`
    Cubic {
        /// 0: straight; 1: the cube, finest around neutral.
        blend: f32,
    },
    /// Straight lines from (0, 0) through the knots to (1, 1).
    Knots(Knots),
}

impl Default for CurveSettings {
    /// A straight line.
    fn default() -> Self {
        Self::Cubic { blend: 0.0 }
    }
}

/// Up to nine points `[travel, demand]` between (0, 0) and (1, 1).
///
/// Travel grows by at least 0.01 from point to point, 0.01 to 0.99; demand never falls, 0 to 1.
///
/// ```
/// use easeoff_core::{CurveSettings, Knots, Settings, TickRate};
/// let knots = Knots::new(&[[0.2, 0.05], [0.6, 0.3]]).unwrap();
/// let tune = Settings { curve: CurveSettings::Knots(knots), ..Settings::default() };
/// assert!(tune.prepare(TickRate::new(1_000).unwrap()).is_ok());
/// assert!(Knots::new(&[[0.5, 0.5]; 10]).is_none());
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(into = "Points", try_from = "Points")
)]
pub struct Knots {
    points: [[f32; 2]; MOST_KNOTS],
    count: u8,
}

type Points = heapless::Vec<[f32; 2], MOST_KNOTS>;

impl Knots {
    /// `None` for more than nine points. Their places are checked by
    /// [`Settings::prepare`](crate::Settings::prepare).
    pub fn new(points: &[[f32; 2]]) -> Option<Self> {
        let mut knots = Self { count: u8::try_from(points.len()).ok()?, ..Self::default() };
        knots.points.get_mut(..points.len())?.copy_from_slice(points);
        Some(knots)
    }

    /// The points, in order.
    pub fn points(&self) -> &[[f32; 2]] {
        self.points.get(..usize::from(self.count)).unwrap_or_default()
    }
}

impl From<Knots> for Points {
    fn from(knots: Knots) -> Self {
        // Collecting could panic for more than nine; small chips have no room for that path.
        Self::from_slice(knots.points()).unwrap_or_default()
    }
}

impl TryFrom<Points> for Knots {
    type Error = &'static str;
    fn try_from(points: Points) -> Result<Self, Self::Error> {
        Self::new(&points).ok_or("more than nine knots")
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) enum Curve {
    Cubic(u32),
    Knots([Piece; MOST_KNOTS + 1]),
}

/// A straight piece of the curve; unused pieces stand at the end and are the point (1, 1).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    travel: I16F16,
    demand: I16F16,
    slope: I16F16,
}

/// One, in 16 fraction bits.
const ONE: u32 = 1 << 16;

impl CurveSettings {
    pub(crate) fn prepare(&self, check: &mut Check) -> Curve {
        match self {
            Self::Cubic { blend } => {
                let blend = check.range(allowed!("curve.blend"), *blend);
                Curve::Cubic(u32::try_from(prepared(blend).to_bits()).unwrap_or_default())
            }
            Self::Knots(knots) => Curve::Knots(pieces(knots.points(), check)),
        }
    }
}

#[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
fn pieces(knots: &[[f32; 2]], check: &mut Check) -> [Piece; MOST_KNOTS + 1] {
    let end = Piece { travel: I16F16::ONE, demand: I16F16::ONE, slope: I16F16::ZERO };
    let mut pieces = [end; MOST_KNOTS + 1];
    let (mut travel, mut demand) = (0.0_f32, 0.0_f32);
    let ends = knots.iter().chain(core::iter::once(&[1.0, 1.0]));
    for (index, (piece, [to_travel, to_demand])) in pieces.iter_mut().zip(ends).enumerate() {
        // The end itself lies beyond where a knot may lie.
        let knot = index < knots.len();
        let next = if knot { check.range(&TRAVEL, *to_travel) } else { *to_travel };
        let to = check.range(&DEMAND, *to_demand);
        let rule = "travel must grow by at least 0.01 from knot to knot";
        check.rule("curve.knots.travel", *to_travel, next - travel >= 0.009_9, rule);
        let rule = "demand must not fall from knot to knot";
        check.rule("curve.knots.demand", *to_demand, to >= demand, rule);
        let slope = (to - demand) / (next - travel).max(0.009_9);
        *piece =
            Piece { travel: prepared(travel), demand: prepared(demand), slope: prepared(slope) };
        (travel, demand) = (next, to);
    }
    pieces
}

impl Curve {
    pub(crate) fn step(&self, demand: Demand) -> Demand {
        let size = demand.raw().saturating_abs();
        let sized = match self {
            Self::Cubic(blend) => cubic(*blend, size),
            Self::Knots(pieces) => along(pieces, size),
        };
        if demand < Demand::ZERO { Demand::ZERO - sized } else { sized }
    }
}

/// The terms are summed with 48 fraction bits and cut once, so that rounding cannot make the curve
/// fall. With all factors in 0 ..= 1 every product stays below 2^49, and none can wrap.
fn cubic(blend: u32, size: I16F16) -> Demand {
    if size >= I16F16::ONE || blend == 0 {
        return Demand::saturate(size);
    }
    // x^2, x^3 and both parts are below one, so that 32 bits hold them.
    let x = u32::try_from(size.to_bits()).unwrap_or_default();
    let wide = |one: u32, other: u32| u64::from(one).wrapping_mul(u64::from(other));
    let cube = u32::try_from(wide(x.wrapping_mul(x), x) >> 16).unwrap_or(u32::MAX);
    let straight = u64::from(ONE.saturating_sub(blend).wrapping_mul(x)) << 16;
    let sum = straight.wrapping_add(wide(blend, cube)) >> 32;
    Demand::from_bits(i32::try_from(sum).unwrap_or(i32::MAX))
}

/// The piece in which `size` lies, never above where the next one begins.
fn along(pieces: &[Piece], size: I16F16) -> Demand {
    if size >= I16F16::ONE {
        return Demand::HIGHEST;
    }
    let on = |piece: &Piece| {
        let beyond = size.saturating_sub(piece.travel);
        piece.demand.saturating_add(product(piece.slope, beyond))
    };
    let mut from = None;
    for to in pieces {
        if size < to.travel {
            return Demand::saturate(from.map_or(I16F16::ZERO, on).min(to.demand));
        }
        from = Some(to);
    }
    Demand::saturate(from.map_or(I16F16::ZERO, on).min(I16F16::ONE))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(settings: CurveSettings) -> Curve {
        let mut check = Check::new();
        let curve = settings.prepare(&mut check);
        check.finish(curve).unwrap()
    }

    fn knots(points: &[[f32; 2]]) -> CurveSettings {
        CurveSettings::Knots(Knots::new(points).unwrap())
    }

    #[test]
    fn monotone_odd_and_exact_at_the_ends() {
        let cubics =
            [0.0_f32, 0.1, 0.333, 0.5, 0.9, 1.0].map(|blend| CurveSettings::Cubic { blend });
        let steep = [0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07, 0.08, 0.99].map(|x| [x, x * x]);
        let bent = [
            knots(&[]),
            knots(&[[0.5, 0.5]]),
            knots(&[[0.3, 0.0], [0.31, 1.0]]),
            knots(&[[0.123, 0.456], [0.777, 0.456], [0.99, 0.9]]),
            knots(&steep),
        ];
        for settings in cubics.into_iter().chain(bent) {
            let curve = curve(settings);
            assert_eq!(curve.step(Demand::ZERO), Demand::ZERO);
            assert_eq!(curve.step(Demand::HIGHEST), Demand::HIGHEST, "{settings:?}");
            let mut before = Demand::ZERO;
            for bits in 0..=65_536 {
                let now = curve.step(Demand::from_bits(bits));
                assert!(now >= before, "falls at {bits} with {settings:?}");
                assert_eq!(curve.step(Demand::from_bits(-bits)), Demand::ZERO - now);
                before = now;
            }
        }
    }

    #[test]
    fn the_middle_is_where_the_formula_puts_it() {
        let half = |settings| curve(settings).step(Demand::from_bits(32_768)).to_f32();
        // 0.5 * 0.5 + 0.5 * 0.125 = 0.3125
        assert!((half(CurveSettings::Cubic { blend: 0.5 }) - 0.3125).abs() < 2e-5);
        // Half way from (0.4, 0.2) to (0.6, 0.3).
        assert!((half(knots(&[[0.4, 0.2], [0.6, 0.3]])) - 0.25).abs() < 2e-5);
    }

    #[test]
    fn every_knot_is_passed_through_exactly() {
        let points = [[0.123, 0.456], [0.3, 0.5], [0.777, 0.8], [0.99, 0.9]];
        let curve = curve(knots(&points));
        for [travel, demand] in points {
            let ours = curve.step(Demand::new(travel).unwrap());
            assert_eq!(Some(ours), Demand::new(demand), "at {travel}");
        }
    }

    #[test]
    fn knots_out_of_order_are_refused() {
        for (points, parameter) in [
            (&[[0.5, 0.5], [0.4, 0.6]][..], "curve.knots.travel"),
            (&[[0.4, 0.5], [0.5, 0.4]], "curve.knots.demand"),
            (&[[0.4, 1.5]], "curve.knots.demand"),
            (&[[1.0, 1.0]], "curve.knots.travel"),
            (&[[f32::NAN, 0.5]], "curve.knots.travel"),
            (&[[0.995, 0.5]], "curve.knots.travel"),
            (&[[0.990_05, 0.5]], "curve.knots.travel"),
        ] {
            let mut check = Check::new();
            let curve = knots(points).prepare(&mut check);
            let errors = check.finish(curve).unwrap_err();
            assert!(errors.iter().any(|error| error.parameter == parameter), "{errors:?}");
        }
        assert!(Knots::new(&[[0.5, 0.5]; 10]).is_none());
    }
}
