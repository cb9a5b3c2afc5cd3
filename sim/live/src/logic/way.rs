//! Where on level ground a place along the way is, so that the rig can be drawn to scale.

use easeoff_plant::course::Course;
use easeoff_plant::ground::{Ground, WheelPath};
use easeoff_plant::rig::Rig;

/// From entry to entry \[m\].
const STEP_M: f64 = 0.01;

/// So far beyond its ends a course may be driven \[m\].
const BEYOND_M: f64 = 2.0;
/// The wheels' path has an entry every so much of their radius, unless the course is too long for it.
const PER_RADIUS: f64 = 1.0 / 32.0;
const MOST_ENTRIES: f64 = 1.0e5;

/// Places along the way and distances over level ground.
#[derive(Clone, Debug)]
pub struct Way {
    from_m: f64,
    level_m: Vec<f64>,
    wheels: WheelPath,
    radius_m: f64,
}

impl Way {
    /// Of a course, the ground made of it, and the rig whose wheels roll there.
    pub fn new(course: &Course, ground: &Ground, rig: &Rig) -> Self {
        let from_m = course.profile_m.first().map_or(0.0, |first| first[0]);
        let count = ((ground.end_m() - from_m) / STEP_M).max(0.0) as usize + 2;
        let mut level_m = vec![from_m];
        for index in 1..count {
            let sine = ground.at(from_m + (index as f64 - 0.5) * STEP_M).sine;
            level_m.push(level_m[index - 1] + STEP_M * (1.0 - sine * sine).max(0.0).sqrt());
        }
        let end_m = course.profile_m.last().map_or(from_m, |last| last[0]);
        let reach_m = rig.vehicle.wheelbase_m / 2.0 + BEYOND_M;
        let radius_m = rig.wheels.radius_m;
        let step_m = (PER_RADIUS * radius_m).max((end_m - from_m) / MOST_ENTRIES);
        let ends = [from_m - reach_m, end_m + reach_m];
        let wheels = WheelPath::over(&course.profile_m, ends, radius_m, step_m);
        Self { from_m, level_m, wheels, radius_m }
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

    /// Height of the centre of a wheel that stands at `x_m` \[m\].
    pub fn wheel_centre_m(&self, x_m: f64) -> f64 {
        self.wheels.at(x_m) + self.radius_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_sim::files::demo;

    /// Pythagoras on the let-off demo's slope of 12 degrees, and the ground's own heights.
    #[test]
    fn the_way_is_longer_than_the_map_by_the_slope() {
        let scenario = demo::scenario("let-off").unwrap();
        let ground = Ground::new(&scenario.course, &scenario.rig);
        let way = Way::new(&scenario.course, &ground, &scenario.rig);
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
            let of = |x| way.wheel_centre_m(x) - radius;
            let body = share * of(x + half) + (1.0 - share) * of(x - half);
            assert!((body - ground.at(place).height_m).abs() < 1.0e-3, "{place}: {body}");
        }
    }
}
