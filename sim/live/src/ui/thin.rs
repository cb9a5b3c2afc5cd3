//! A line has no more points than the screen can show, and loses no peak.

use crate::logic::trace::{POINT_S, Point};

/// A line's points, at most two for each of so many points of the screen: the lowest and the highest of a stretch,
/// in the order of their times. Stretches stand on a grid of time, so that nothing flickers as it moves on.
pub(super) fn line_points<'a>(
    shown: impl ExactSizeIterator<Item = &'a Point>,
    of: impl Fn(&Point) -> f64,
    wide: f32,
) -> Vec<[f64; 2]> {
    let thin = shown.len().div_ceil((wide as usize).max(1));
    let point = |point: &Point| [point.time_s, of(point)];
    let finite = shown.map(point).filter(|[_, value]| value.is_finite());
    // Two points stand for two or more.
    if thin <= 2 {
        return finite.collect();
    }
    let stretch = |time_s: f64| (time_s / (thin as f64 * POINT_S)).floor();
    let mut kept: Vec<[f64; 2]> = Vec::new();
    let mut pair: Option<[[f64; 2]; 2]> = None;
    let mut give = |pair: Option<[[f64; 2]; 2]>| {
        let Some([low, high]) = pair else { return };
        // A point that comes twice has no direction, and a line breaks there.
        kept.push(if low[0] <= high[0] { low } else { high });
        if low != high {
            kept.push(if low[0] <= high[0] { high } else { low });
        }
    };
    for now in finite {
        pair = match pair {
            Some([low, high]) if stretch(low[0]) == stretch(now[0]) => Some([
                if now[1] < low[1] { now } else { low },
                if now[1] > high[1] { now } else { high },
            ]),
            before => {
                give(before);
                Some([now, now])
            }
        };
    }
    give(pair);
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_minute_is_thinned_without_losing_a_peak_or_drawing_what_is_no_number() {
        let mut points: Vec<Point> = (0..6_000)
            .map(|n| Point {
                time_s: f64::from(n) * POINT_S,
                motor_a: (f64::from(n) * 0.01).sin(),
                ..Point::default()
            })
            .collect();
        points[3_333].motor_a = 40.0;
        points[4_001].motor_a = -40.0;
        points[10].motor_a = f64::NAN;
        points[20].motor_a = f64::INFINITY;
        for wide in [0.0, 1.0, 270.0, 460.0] {
            let line = line_points(points.iter(), |point| point.motor_a, wide);
            let most = 2 * (wide as usize).max(1) + 2;
            assert!(line.len() <= most, "{} in {wide} points", line.len());
            assert!(line.iter().all(|point| point[1].is_finite()));
            assert!(line.windows(2).all(|pair| pair[0][0] < pair[1][0]), "in order, none twice");
            assert!(line.iter().any(|point| point[1] == 40.0));
            assert!(line.iter().any(|point| point[1] == -40.0));
        }
        // Level stretches with a step down between them: nothing comes twice there either.
        let steps = line_points(points.iter(), |point| -(point.time_s / 1.5).floor(), 270.0);
        assert!(steps.windows(2).all(|pair| pair[0][0] < pair[1][0]), "{steps:?}");
        let few = line_points(points[..100].iter(), |point| point.motor_a, 270.0);
        assert_eq!(few.len(), 98);
    }
}
