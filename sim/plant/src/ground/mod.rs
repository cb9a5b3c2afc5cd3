//! The ground made ready for one rig: what its wheels feel at every place along the way.
//!
//! A round wheel rolls over the ground on the envelope of its circle: the path of its centre is
//!
//! ```text
//! c(x) = max over |u| <= r of  h(x + u) + sqrt(r^2 - u^2)
//! ```
//!
//! so a step is climbed along an arc, and a gap narrower than the wheel is hardly felt. The body
//! stands on both axles' paths, each with its share of the weight. All of it is computed once, on
//! a fine grid, so that a step of the simulation is one look-up. Slopes are joined by straight
//! lines and heights are their exact integral: climbing and falling back give and take the same.

pub mod snag;

use crate::course::Course;
use crate::interpolate::height;
use crate::rig::Rig;

/// What the ground offers the tyres of one axle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// Peak friction coefficient.
    pub grip: f64,
    /// Sliding friction coefficient.
    pub grip_sliding: f64,
    /// Rolling resistance coefficient.
    pub rolling: f64,
}

/// What the rig feels at one place.
#[derive(Clone, Copy, Debug)]
pub struct Footing {
    /// Sine of the slope of the body's way, uphill positive.
    pub sine: f64,
    /// Height of the body's way \[m\].
    pub height_m: f64,
    /// Under the front and the rear axle.
    pub axles: [Patch; 2],
}

#[derive(Clone, Copy, Debug)]
struct Point {
    sine: f64,
    height_m: f64,
    /// Indices of the patches under both axles.
    front: u32,
    rear: u32,
}

/// The ground made ready.
#[derive(Clone, Debug)]
pub struct Ground {
    points: Vec<Point>,
    patches: Vec<Patch>,
    step_m: f64,
    per_step: f64,
    from_m: f64,
}

/// Grid step as a share of the wheel's radius, unless the course is too long for it.
const GRID_PER_RADIUS: f64 = 1.0 / 48.0;
const MOST_POINTS: f64 = 1.0e6;

impl Ground {
    /// From a course and the rig that drives it.
    pub fn new(course: &Course, rig: &Rig) -> Self {
        let profile = &course.profile_m;
        let (first, last) = (profile[0][0], profile[profile.len() - 1][0]);
        let (radius, half_base) = (rig.wheels.radius_m, rig.vehicle.wheelbase_m / 2.0);
        let step_m = (radius * GRID_PER_RADIUS).max((last - first) / MOST_POINTS);
        let centres =
            WheelPath::over(profile, [first - half_base, last + half_base], radius, step_m);

        let share = rig.vehicle.front_share();
        let height =
            |x: f64| share * centres.at(x + half_base) + (1.0 - share) * centres.at(x - half_base);
        let count = ((last - first) / step_m).ceil() as usize + 1;
        let mut place = first;
        let mut way: Vec<[f64; 2]> = vec![[place, height(first)]];
        for index in 1..count {
            let (x, before) = (first + index as f64 * step_m, way[index - 1][1]);
            place += libm::hypot(step_m, height(x) - before);
            way.push([place, height(x)]);
        }
        Self::along(&way, course, half_base, step_m)
    }

    /// The body's way, from its places and heights on a level grid to one that is even along it.
    fn along(way: &[[f64; 2]], course: &Course, half_base: f64, step_m: f64) -> Self {
        let (from_m, to_m) = (way[0][0], way[way.len() - 1][0]);
        let count = ((to_m - from_m) / step_m).ceil() as usize + 1;
        let patches = course.surfaces.iter().map(|on| Patch {
            grip: on.grip,
            grip_sliding: on.grip_sliding,
            rolling: on.rolling,
        });
        let mut points: Vec<Point> = Vec::with_capacity(count);
        for index in 0..count {
            let place = from_m + index as f64 * step_m;
            let rise = height(way, place + step_m) - height(way, place - step_m);
            let sine = (rise / (2.0 * step_m)).clamp(-1.0, 1.0);
            let height_m = match points.last() {
                Some(before) => before.height_m + step_m * (before.sine + sine) / 2.0,
                None => way[0][1],
            };
            let under = |place| course.surface_index_at(place) as u32;
            let (front, rear) = (under(place + half_base), under(place - half_base));
            points.push(Point { sine, height_m, front, rear });
        }
        Self { points, patches: patches.collect(), step_m, per_step: 1.0 / step_m, from_m }
    }

    /// The footing at a place; beyond the ends surface and slope go on as they were there.
    pub fn at(&self, place_m: f64) -> Footing {
        let (a, b, t) = self.between(place_m);
        let patch = |index: u32| self.patches[index as usize];
        let beyond = (place_m - self.from_m) * self.per_step - self.last_index() as f64 - 1.0;
        let before = (self.from_m - place_m).max(0.0);
        let within = self.step_m * t * (a.sine + (b.sine - a.sine) * t / 2.0);
        Footing {
            sine: a.sine + (b.sine - a.sine) * t,
            height_m: a.height_m + within + beyond.max(0.0) * self.step_m * b.sine
                - before * a.sine,
            axles: [patch(a.front), patch(a.rear)],
        }
    }

    /// The steepest climb of the body that is so long \[m\], on average over it \[degrees\]; 0 where
    /// nothing climbs.
    pub fn steepest_deg(&self, over_m: f64) -> f64 {
        let heights = (0..self.points.len()).map(|index| {
            let place_m = self.from_m + index as f64 * self.step_m;
            let rise_m = self.at(place_m + over_m).height_m - self.at(place_m).height_m;
            if place_m + over_m > self.end_m() { 0.0 } else { rise_m / over_m }
        });
        libm::asin(heights.fold(0.0, f64::max).min(1.0)).to_degrees()
    }

    /// Where the course ends, along the way \[m\].
    pub fn end_m(&self) -> f64 {
        self.from_m + (self.points.len() - 1) as f64 * self.step_m
    }

    fn last_index(&self) -> usize {
        self.points.len() - 2
    }

    fn between(&self, place_m: f64) -> (&Point, &Point, f64) {
        let grid = ((place_m - self.from_m) * self.per_step).max(0.0);
        let index = (grid as usize).min(self.last_index());
        (&self.points[index], &self.points[index + 1], (grid - index as f64).min(1.0))
    }
}

/// The path of a wheel's centre over a profile, less the wheel's radius, on an even grid.
#[derive(Clone, Debug)]
pub struct WheelPath {
    from: f64,
    per_step: f64,
    heights: Vec<f64>,
}

impl WheelPath {
    /// Of a wheel of this radius, from `ends[0]` to `ends[1]` in steps of `step`, all \[m\].
    pub fn over(profile: &[[f64; 2]], ends: [f64; 2], radius: f64, step: f64) -> Self {
        let reach = (radius / step).ceil() as usize;
        let from = ends[0] - reach as f64 * step;
        let count = ((ends[1] - ends[0]) / step).ceil() as usize + 2 + 2 * reach;
        let ground: Vec<f64> =
            (0..count).map(|index| height(profile, from + index as f64 * step)).collect();
        let circle: Vec<f64> = (0..=2 * reach)
            .map(|index| {
                let off = (index as f64 - reach as f64) * step;
                (radius * radius - off * off).max(0.0).sqrt() - radius
            })
            .collect();
        let mut heights: Vec<f64> = ground
            .windows(circle.len())
            .map(|near| {
                let lifted = near.iter().zip(&circle).map(|(ground, arc)| ground + arc);
                lifted.fold(f64::NEG_INFINITY, f64::max)
            })
            .collect();
        // A point of the profile may stand between two of the grid: its own circle, where it is.
        for [x, h] in profile {
            let first = ((x - radius - ends[0]) / step).ceil().max(0.0);
            for (index, height) in heights.iter_mut().enumerate().skip(first as usize) {
                let off = ends[0] + index as f64 * step - x;
                if off > radius {
                    break;
                }
                *height = height.max(h + (radius * radius - off * off).max(0.0).sqrt() - radius);
            }
        }
        Self { from: ends[0], per_step: 1.0 / step, heights }
    }

    /// Its height with the wheel at `x` \[m\]; beyond the ends it stays as it is there.
    pub fn at(&self, x: f64) -> f64 {
        let grid = ((x - self.from) * self.per_step).max(0.0);
        let index = (grid as usize).min(self.heights.len() - 2);
        let t = (grid - index as f64).min(1.0);
        self.heights[index] + (self.heights[index + 1] - self.heights[index]) * t
    }
}
