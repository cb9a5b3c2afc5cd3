//! A snag: a spring that the turning wheel winds up, until it tears or begins to drag.

use crate::course::{AfterBreak, Snag};

/// How far the rig has come with the course's snags.
#[derive(Clone, Copy, Debug, Default)]
pub struct Snagged {
    /// Index of the snag that comes next.
    next: usize,
    /// The one that holds the wheel: its index and the wheel angle at which it is slack.
    caught: Option<(usize, f64)>,
}

impl Snagged {
    /// Not caught; snags at or behind `place_m` are behind the rig and stay there.
    pub fn at(snags: &[Snag], place_m: f64) -> Self {
        Self { next: snags.partition_point(|snag| snag.at_m <= place_m), caught: None }
    }

    /// Torque against the wheels \[N m\]; a slack snag does nothing.
    pub fn torque(&self, snags: &[Snag], wheel_rad: f64) -> f64 {
        let Some((index, slack_rad)) = self.caught else { return 0.0 };
        let snag = &snags[index];
        (snag.stiffness_n_m_per_rad * (wheel_rad - slack_rad)).clamp(0.0, snag.break_n_m)
    }

    /// Catches, tears or drags on, after a step.
    pub fn settle(&mut self, snags: &[Snag], place_m: f64, wheel_rad: f64) {
        if let Some((index, slack_rad)) = self.caught {
            let snag = &snags[index];
            let reach_rad = snag.break_n_m / snag.stiffness_n_m_per_rad;
            if wheel_rad - slack_rad > reach_rad {
                self.caught = match snag.then {
                    AfterBreak::LetsGo => None,
                    AfterBreak::Stays => Some((index, wheel_rad - reach_rad)),
                };
            }
        }
        while self.next < snags.len() && place_m >= snags[self.next].at_m {
            self.caught = Some((self.next, wheel_rad));
            self.next += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn snag(then: AfterBreak) -> [Snag; 1] {
        [Snag { at_m: 1.0, stiffness_n_m_per_rad: 0.5, break_n_m: 2.0, then }]
    }

    #[test]
    fn winds_up_then_tears_or_drags() {
        for (then, after) in [(AfterBreak::LetsGo, 0.0), (AfterBreak::Stays, 2.0)] {
            let snags = snag(then);
            let mut snagged = Snagged::default();
            snagged.settle(&snags, 0.9, 10.0);
            assert_eq!(snagged.torque(&snags, 12.0), 0.0);
            snagged.settle(&snags, 1.0, 10.0);
            assert!((snagged.torque(&snags, 12.0) - 1.0).abs() < 1e-12);
            assert_eq!(snagged.torque(&snags, 9.0), 0.0, "a slack snag does not push");
            snagged.settle(&snags, 1.2, 14.1);
            assert!((snagged.torque(&snags, 14.1) - after).abs() < 1e-9);
            snagged.settle(&snags, 1.3, 20.0);
            assert!((snagged.torque(&snags, 20.0) - after).abs() < 1e-9);
        }
    }
}
