//! Dry friction that really stands: a bristle that gives a little before it slides.
//!
//! Dahl's model (P. Dahl, Aerospace Corporation TOR-0158, 1968; quoted from memory), as a share z of the
//! full friction, -1 to 1 in the direction of motion, over the way x that the surfaces moved:
//!
//! ```text
//! dz/dx = (sign(dx) - z) / reach,   torque against the motion = T z + c w (1 - z^2), at most T
//! ```
//!
//! At rest z keeps its value and holds, without creep; sliding it is 1 after a few reaches. The reach is
//! chosen so that bristle and inertia swing at 2000 rad/s, which the default step resolves;
//! the damping acts only while it sticks, at half the critical value. Over a step z has its exact
//! solution, so that the stiffest of all equations here needs no small step.

/// How fast a sticking inertia swings on its bristle \[rad/s\].
const BRISTLE_RAD_S: f64 = 2_000.0;

/// A place of dry friction made ready.
#[derive(Clone, Copy, Debug)]
pub struct DryFriction {
    per_reach: f64,
    damping: f64,
}

/// The share of the full friction in the direction of motion, -1 to 1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Bristle {
    share: f64,
}

impl DryFriction {
    /// For the largest usual friction and the inertia it can stop, in consistent units.
    pub fn new(friction: f64, inertia: f64) -> Self {
        let reach = friction / (inertia * BRISTLE_RAD_S * BRISTLE_RAD_S);
        Self { per_reach: 1.0 / reach.max(1.0e-12), damping: inertia * BRISTLE_RAD_S }
    }

    /// Friction against the motion with `full` friction at `speed`.
    pub fn against(&self, bristle: Bristle, full: f64, speed: f64) -> f64 {
        let sticks = 1.0 - bristle.share * bristle.share;
        // Not clamp: a run that has lost its numbers must end with its message, not in a panic.
        (full * bristle.share + self.damping * speed * sticks).max(-full).min(full)
    }

    /// The bristle after the surfaces have moved.
    pub fn settle(&self, bristle: &mut Bristle, moved: f64) {
        let towards = moved.signum();
        let reaches = moved.abs() * self.per_reach;
        // Sliding, which is most of the time, nothing is left that a number of 53 bits could show.
        let left = if reaches > 40.0 { 0.0 } else { libm::exp(-reaches) };
        bristle.share = towards + (bristle.share - towards) * left;
    }
}

impl Bristle {
    /// The share, for losses that scale with it.
    pub fn share(self) -> f64 {
        self.share
    }

    /// Sliding for long, forward (1) or backward (-1).
    pub fn sliding(way: f64) -> Self {
        Self { share: way }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A block of 1 kg that slides at 1 m/s onto friction of 2 N while `push` pushes: where it is after
    /// `seconds`.
    fn block(push: f64, seconds: f64) -> (f64, f64) {
        let friction = DryFriction::new(2.0, 1.0);
        let (mut bristle, mut speed, mut place) = (Bristle::default(), 1.0, 0.0);
        let h = 0.25e-3;
        for _ in 0..(seconds / h) as u32 {
            speed += h * (push - friction.against(bristle, 2.0, speed));
            place += h * speed;
            friction.settle(&mut bristle, h * speed);
        }
        (place, speed)
    }

    #[test]
    fn slides_as_coulomb_says_and_then_stands() {
        // Coulomb: 1 m/s against 2 N on 1 kg stops after 0.25 m; with 1 N of push after 0.5 m.
        for (push, way) in [(0.0, 0.25), (1.0, 0.5), (-1.0, 1.0 / 6.0)] {
            let (place, _) = block(push, 3.0);
            assert!((place - way).abs() < 1e-3, "{place} with {push} N");
            // Standing is standing, also under a push, for a minute more.
            let (later, speed) = block(push, 60.0);
            assert!((later - place).abs() < 1e-9 && speed.abs() < 1e-9, "{later}, {place}");
        }
    }

    /// A run that has left the finite numbers gets that far before it is told.
    #[test]
    fn no_number_is_no_panic() {
        let friction = DryFriction::new(2.0, 1.0);
        let mut bristle = Bristle::default();
        friction.settle(&mut bristle, f64::NAN);
        for full in [2.0, f64::NAN, f64::INFINITY] {
            assert!(!friction.against(bristle, full, 1.0).is_finite() || full == 2.0);
        }
    }

    #[test]
    fn more_than_its_friction_moves_it() {
        let (_, speed) = block(2.5, 3.0);
        assert!((speed - (1.0 + 3.0 * 0.5)).abs() < 2e-2, "{speed}");
    }
}
