//! Where on level ground a place along the way is, so that the rig can be drawn to scale.

use easeoff_sim::course::Course;
use easeoff_sim::plant::ground::{Ground, height};

/// From entry to entry \[m\].
const STEP_M: f64 = 0.01;

/// Places along the way and distances over level ground.
#[derive(Clone, Debug)]
pub struct Way {
    from_m: f64,
    level_m: Vec<f64>,
}

impl Way {
    /// Of a course and the ground made of it.
    pub fn new(course: &Course, ground: &Ground) -> Self {
        let from_m = course.profile_m.first().map_or(0.0, |first| first[0]);
        let count = ((ground.end_m() - from_m) / STEP_M).max(0.0) as usize + 2;
        let mut level_m = vec![from_m];
        for index in 1..count {
            let sine = ground.at(from_m + (index as f64 - 0.5) * STEP_M).sine;
            level_m.push(level_m[index - 1] + STEP_M * (1.0 - sine * sine).max(0.0).sqrt());
        }
        Self { from_m, level_m }
    }

    /// The distance over level ground \[m\]; beyond the ends it goes on level.
    pub fn level_m(&self, place_m: f64) -> f64 {
        let grid = (place_m - self.from_m) / STEP_M;
        let last = self.level_m.len() - 1;
        let index = (grid.max(0.0) as usize).min(last - 1);
        let t = grid - index as f64;
        if (0.0..=1.0).contains(&t) {
            self.level_m[index] + t * (self.level_m[index + 1] - self.level_m[index])
        } else if t < 0.0 {
            self.level_m[0] + grid * STEP_M
        } else {
            self.level_m[last] + (grid - last as f64) * STEP_M
        }
    }
}

/// Height of the centre of a wheel that stands at `x_m` \[m\]: the rolling circle's envelope, as the
/// simulator's ground has it, at one place.
pub fn wheel_centre_m(course: &Course, radius_m: f64, x_m: f64) -> f64 {
    let over =
        |u: f64| height(&course.profile_m, x_m + u) + (radius_m * radius_m - u * u).max(0.0).sqrt();
    let even = (-16..=16).map(|n| over(radius_m * f64::from(n) / 16.0));
    // A corner of the profile may stand between two of those.
    let first = course.profile_m.partition_point(|[x, _]| *x < x_m - radius_m);
    let corners = course.profile_m.iter().skip(first).take_while(|[x, _]| *x <= x_m + radius_m);
    even.chain(corners.map(|[x, _]| over(x - x_m))).fold(f64::NEG_INFINITY, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_sim::demo;

    /// Pythagoras on the let-off demo's slope of 12 degrees, and the ground's own heights.
    #[test]
    fn the_way_is_longer_than_the_map_by_the_slope() {
        let scenario = demo::scenario("let-off").unwrap();
        let ground = Ground::new(&scenario.course, &scenario.rig);
        let way = Way::new(&scenario.course, &ground);
        assert!((way.level_m(1.0) - 1.0).abs() < 1.0e-6);
        let run = way.level_m(9.0) - way.level_m(4.0);
        assert!((run - 5.0 * libm::cos(libm::atan(0.2126))).abs() < 1.0e-3, "{run}");
        assert!((way.level_m(-3.0) + 3.0).abs() < 1.0e-9);
        let end = ground.end_m();
        assert!((way.level_m(end + 1.0) - way.level_m(end) - 1.0).abs() < 0.02);
        let radius = scenario.rig.wheels.radius_m;
        for place in [0.0, 1.9, 2.0, 2.1, 6.0] {
            let x = way.level_m(place);
            let half = scenario.rig.vehicle.wheelbase_m / 2.0;
            let share = scenario.rig.vehicle.front_share();
            let of = |x| wheel_centre_m(&scenario.course, radius, x) - radius;
            let body = share * of(x + half) + (1.0 - share) * of(x - half);
            assert!((body - ground.at(place).height_m).abs() < 1.0e-3, "{place}: {body}");
        }
    }
}
