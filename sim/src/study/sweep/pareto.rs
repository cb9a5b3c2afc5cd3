//! Trade-offs: settings that nothing else beats in one score without losing in the other.

/// The Pareto front of points whose two numbers should both be small: those for which no other is as small in both and
/// smaller in one. Sorted by the first number; of equal points the first in the list. Points with a number that
/// is not finite are left out.
///
/// V. Pareto's efficiency, as in Ehrgott, Multicriteria Optimization, 2nd ed. 2005, definition 2.1 (from memory).
pub fn front(points: &[[f64; 2]]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..points.len())
        .filter(|&index| points[index].iter().all(|value| value.is_finite()))
        .collect();
    order.sort_by(|&a, &b| {
        let ([a0, a1], [b0, b1]) = (points[a], points[b]);
        a0.total_cmp(&b0).then(a1.total_cmp(&b1)).then(a.cmp(&b))
    });
    let mut least = f64::INFINITY;
    order.retain(|&index| {
        let better = points[index][1] < least;
        least = least.min(points[index][1]);
        better
    });
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the definition, pair by pair, on points of few values, so that there are ties.
    #[test]
    fn the_front_is_what_the_definition_says() {
        let mut state = 1_u64;
        let mut random = || {
            // Knuth's MMIX generator.
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            match (state >> 40) % 20 {
                18 => f64::INFINITY,
                19 => f64::NAN,
                few => few as f64,
            }
        };
        for _ in 0..200 {
            let points: Vec<[f64; 2]> = (0..25).map(|_| [random(), random()]).collect();
            let finite = |p: &[f64; 2]| p[0].is_finite() && p[1].is_finite();
            let beats = |a: &[f64; 2], b: &[f64; 2]| a[0] <= b[0] && a[1] <= b[1] && a != b;
            let mut expected: Vec<usize> = (0..points.len())
                .filter(|&index| finite(&points[index]))
                .filter(|&index| !points.iter().any(|other| beats(other, &points[index])))
                .filter(|&index| !points[..index].contains(&points[index]))
                .collect();
            expected.sort_by(|&a, &b| points[a][0].total_cmp(&points[b][0]));
            assert_eq!(front(&points), expected, "{points:?}");
        }
    }
}
