//! Values between listed points.

/// The value at `x` on straight lines between points `[x, y]` sorted by x; the end values outside.
/// 0 without any point.
pub fn straight(points: &[[f64; 2]], x: f64) -> f64 {
    let next = points.partition_point(|point| point[0] <= x);
    match (next.checked_sub(1).and_then(|before| points.get(before)), points.get(next)) {
        (Some([x0, y0]), Some([x1, y1])) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
        (Some(only), None) | (None, Some(only)) => only[1],
        (None, None) => 0.0,
    }
}

/// Height at a place; beyond the ends the first and the last slope go on.
pub fn height(way: &[[f64; 2]], place: f64) -> f64 {
    match way {
        [first, second, ..] if place < first[0] => extend(first, second, place),
        [.., before, last] if place > last[0] => extend(last, before, place),
        _ => straight(way, place),
    }
}

fn extend(end: &[f64; 2], next: &[f64; 2], place: f64) -> f64 {
    if next[0] == end[0] {
        return end[1];
    }
    end[1] + (next[1] - end[1]) / (next[0] - end[0]) * (place - end[0])
}

/// A monotone cubic through points with rising x: no overshoot between the points.
///
/// Slopes by Fritsch and Butland's weighted harmonic mean (SIAM J. Sci. Stat. Comput. 5, 1984), the
/// method of SciPy's `PchipInterpolator`.
#[derive(Clone, Debug)]
pub(crate) struct MonotoneCubic {
    points: Vec<[f64; 2]>,
    pieces: Vec<Piece>,
}

/// `y0 + t (a + t (b + t c))` with `t = (x - x0) / width`.
#[derive(Clone, Copy, Debug)]
struct Piece {
    x0: f64,
    per_width: f64,
    y0: f64,
    a: f64,
    b: f64,
    c: f64,
}

impl MonotoneCubic {
    /// Two points or more, x rising.
    pub(crate) fn new(points: Vec<[f64; 2]>) -> Self {
        let secants: Vec<(f64, f64)> = points
            .windows(2)
            .map(|pair| {
                let width = pair[1][0] - pair[0][0];
                (width, (pair[1][1] - pair[0][1]) / width)
            })
            .collect();
        let before = |index: usize| index.checked_sub(1).and_then(|i| secants.get(i)).copied();
        let slope = |index: usize| match (before(index), secants.get(index).copied()) {
            (Some(left), Some(right)) => inner_slope(left, right),
            (None, Some(first)) => end_slope(first, secants.get(1).copied()),
            (Some(last), None) => end_slope(last, before(index - 1)),
            (None, None) => 0.0,
        };
        let piece = |(index, pair): (usize, &[[f64; 2]])| {
            let width = pair[1][0] - pair[0][0];
            let rise = pair[1][1] - pair[0][1];
            let (m0, m1) = (slope(index) * width, slope(index + 1) * width);
            Piece {
                x0: pair[0][0],
                per_width: 1.0 / width,
                y0: pair[0][1],
                a: m0,
                b: 3.0 * rise - 2.0 * m0 - m1,
                c: m0 + m1 - 2.0 * rise,
            }
        };
        let pieces = points.windows(2).enumerate().map(piece).collect();
        Self { points, pieces }
    }

    /// The value at `x`; the end values outside.
    pub(crate) fn at(&self, x: f64) -> f64 {
        let next = self.points.partition_point(|point| point[0] <= x);
        if next == 0 || next >= self.points.len() {
            return straight(&self.points, x);
        }
        let piece = &self.pieces[next - 1];
        let t = (x - piece.x0) * piece.per_width;
        piece.y0 + t * (piece.a + t * (piece.b + t * piece.c))
    }
}

fn inner_slope((h0, d0): (f64, f64), (h1, d1): (f64, f64)) -> f64 {
    if d0 * d1 <= 0.0 {
        return 0.0;
    }
    let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
    (w0 + w1) / (w0 / d0 + w1 / d1)
}

/// Three-point end formula, kept monotone.
fn end_slope((h0, d0): (f64, f64), next: Option<(f64, f64)>) -> f64 {
    let Some((h1, d1)) = next else { return d0 };
    let slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if slope * d0 <= 0.0 {
        0.0
    } else if d0 * d1 <= 0.0 && slope.abs() > 3.0 * d0.abs() {
        3.0 * d0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn straight_lines_and_ends() {
        let points = [[0.0, 1.0], [2.0, 3.0], [2.0, 5.0], [4.0, 5.0]];
        for (x, y) in [(-1.0, 1.0), (1.0, 2.0), (2.0, 5.0), (3.0, 5.0), (9.0, 5.0)] {
            assert!((straight(&points, x) - y).abs() < 1e-12);
        }
        assert_eq!(straight(&[], 1.0), 0.0);
    }

    /// SciPy 1.17.1: `PchipInterpolator([0, .1, .4, 1, 1.5], [3, 3.5, 3.6, 4, 4.2])` at 0.05,
    /// 0.25, 0.7, 1.25.
    #[test]
    fn the_cubic_is_scipys() {
        let points = vec![[0.0, 3.0], [0.1, 3.5], [0.4, 3.6], [1.0, 4.0], [1.5, 4.2]];
        let cubic = MonotoneCubic::new(points.clone());
        for [x, y] in &points {
            assert!((cubic.at(*x) - y).abs() < 1e-12);
        }
        for (x, y) in SCIPY {
            assert!((cubic.at(x) - y).abs() < 1e-9, "{x}: {} against {y}", cubic.at(x));
        }
    }

    const SCIPY: [(f64, f64); 4] = [
        (0.05, 3.317936991869919),
        (0.25, 3.5613675958188153),
        (0.7, 3.794924812030075),
        (1.25, 4.113590795169743),
    ];
}
