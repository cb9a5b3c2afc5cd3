//! Thick lines without spikes.

use std::ops::Range;

/// The line cut where it turns back on itself. Thick lines are joined with mitres, and at a sharp turn a
/// mitre is a spike that the numbers do not have.
pub(crate) fn without_sharp_turns(pixels: &[(i32, i32)]) -> Vec<Range<usize>> {
    let mut stretches = Vec::new();
    let mut start = 0;
    // The way the line came: from the last point that differed from the one it reached.
    let mut came = (0.0, 0.0);
    for index in 1..pixels.len() {
        let (from, to) = (pixels[index - 1], pixels[index]);
        let goes = (f64::from(to.0 - from.0), f64::from(to.1 - from.1));
        if goes == (0.0, 0.0) {
            continue;
        }
        let along = came.0 * goes.0 + came.1 * goes.1;
        let lengths = libm::hypot(came.0, came.1) * libm::hypot(goes.0, goes.1);
        if along < 0.5 * lengths {
            stretches.push(start..index);
            start = index - 1;
        }
        came = goes;
    }
    stretches.push(start..pixels.len());
    stretches
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_cut_where_it_turns_sharply_and_loses_no_point() {
        let pixels = [(0, 0), (10, 1), (20, 2), (20, 2), (21, 90), (22, 0), (30, 0)];
        assert_eq!(without_sharp_turns(&pixels), vec![0..4, 3..5, 4..6, 5..7]);
        assert_eq!(without_sharp_turns(&[]), vec![0..0]);
    }
}
