//! The ground made ready for one rig: what its wheels feel at every place along the way.
//!
//! A wheel does not feel a corner in the profile as a corner: its slope is taken over one wheel radius
//! to either side, and the body's slope is the mean of its two axles'. All of it is computed once,
//! on a fine grid, so that a step of the simulation is one look-up.

use crate::course::Course;
use crate::interpolate::straight;
use crate::rig::Rig;

/// What the rig feels at one place.
#[derive(Clone, Copy, Debug)]
pub struct Footing {
    /// Sine of the slope, uphill positive.
    pub sine: f64,
    /// Peak friction coefficient.
    pub grip: f64,
    /// Sliding friction coefficient.
    pub grip_sliding: f64,
    /// Rolling resistance coefficient.
    pub rolling: f64,
}

/// The ground made ready.
#[derive(Clone, Debug)]
pub struct Ground {
    footing: Vec<Footing>,
    step_m: f64,
    from_m: f64,
    end_m: f64,
}

/// Grid step unless the course is too long for it.
const GRID_M: f64 = 0.004;
const MOST_POINTS: f64 = 2.0e6;

impl Ground {
    /// From a course and the rig that drives it.
    pub fn new(course: &Course, rig: &Rig) -> Self {
        let way = along_the_way(&course.profile_m);
        let from_m = way.first().map_or(0.0, |point| point[0]);
        let length = way.last().map_or(0.0, |point| point[0]) - from_m;
        let step_m = GRID_M.max(length / MOST_POINTS);
        let count = (length / step_m) as usize + 2;
        let (radius, half_base) = (rig.wheels.radius_m, rig.vehicle.wheelbase_m / 2.0);
        let slope_at = |place: f64| {
            let rise = height(&way, place + radius) - height(&way, place - radius);
            rise / (2.0 * radius)
        };
        let footing = (0..count)
            .map(|index| {
                let place = from_m + index as f64 * step_m;
                let surface = course.surface_at(place);
                let sine = (slope_at(place - half_base) + slope_at(place + half_base)) / 2.0;
                Footing {
                    sine: sine.clamp(-1.0, 1.0),
                    grip: surface.grip,
                    grip_sliding: surface.grip_sliding,
                    rolling: surface.rolling,
                }
            })
            .collect();
        Self { footing, step_m, from_m, end_m: from_m + length }
    }

    /// The footing at a place; beyond the ends it stays as it was there.
    pub fn at(&self, place_m: f64) -> Footing {
        let last = self.footing.len() - 2;
        let grid = ((place_m - self.from_m) / self.step_m).max(0.0);
        let index = (grid as usize).min(last);
        let t = (grid - index as f64).min(1.0);
        let (a, b) = (&self.footing[index], &self.footing[index + 1]);
        Footing { sine: a.sine + (b.sine - a.sine) * t, ..*a }
    }

    /// Where the course ends, along the way \[m\].
    pub fn end_m(&self) -> f64 {
        self.end_m
    }
}

/// Level distance and height become distance along the slope and height.
pub fn along_the_way(profile: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut place = profile.first().map_or(0.0, |point| point[0]);
    let mut way: Vec<[f64; 2]> =
        profile.first().map(|point| vec![[place, point[1]]]).unwrap_or_default();
    for pair in profile.windows(2) {
        let length = libm::hypot(pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]);
        if length <= 0.0 {
            continue; // a point given twice
        }
        place += length;
        way.push([place, pair[1][1]]);
    }
    way
}

/// Height at a place of the way; beyond the ends the first and the last slope go on.
pub fn height(way: &[[f64; 2]], place: f64) -> f64 {
    match way {
        [first, second, ..] if place < first[0] => extend(first, second, place),
        [.., before, last] if place > last[0] => extend(last, before, place),
        _ => straight(way, place),
    }
}

fn extend(end: &[f64; 2], next: &[f64; 2], place: f64) -> f64 {
    end[1] + (next[1] - end[1]) / (next[0] - end[0]) * (place - end[0])
}
