//! A recorded way made into a profile: GPX, an open standard for tracks (topografix.com/GPX/1/1).

use crate::files::mistake::{Refusal, Source};

/// Mean radius of the Earth \[m\] (IUGG).
const EARTH_M: f64 = 6_371_008.8;

/// What is done to a profile before it is driven on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TrackFilter {
    /// Distances and heights are multiplied by this, so that a small rig can drive a large hill.
    pub scale: f64,
    /// Heights are averaged over this distance, before scaling \[m\]. Recorded heights jitter by
    /// metres between points a few metres apart, which no ground does.
    pub smooth_m: f64,
}

impl TrackFilter {
    /// Smooths by a moving average of the straight-line profile, then scales.
    pub(crate) fn apply(&self, raw: &[[f64; 2]]) -> Vec<[f64; 2]> {
        let start = raw.first().map_or(0.0, |point| point[0]);
        let average = RunningMean::new(raw);
        raw.iter()
            .map(|[x, height]| {
                let half = self.smooth_m / 2.0;
                let smooth = if half > 0.0 { average.between(x - half, x + half) } else { *height };
                [start + (x - start) * self.scale, smooth * self.scale]
            })
            .collect()
    }
}

/// The mean of a straight-line function over any stretch, from its running integral.
struct RunningMean<'p> {
    points: &'p [[f64; 2]],
    integral: Vec<f64>,
}

impl<'p> RunningMean<'p> {
    fn new(points: &'p [[f64; 2]]) -> Self {
        let mut sum = 0.0;
        let mut integral = vec![0.0];
        for pair in points.windows(2) {
            sum += (pair[1][0] - pair[0][0]) * (pair[0][1] + pair[1][1]) / 2.0;
            integral.push(sum);
        }
        Self { points, integral }
    }

    /// Outside the profile the stretch is cut short.
    fn between(&self, from: f64, to: f64) -> f64 {
        let (first, last) = (self.points[0][0], self.points[self.points.len() - 1][0]);
        let (from, to) = (from.max(first), to.min(last));
        if to <= from {
            return easeoff_plant::interpolate::straight(self.points, from);
        }
        (self.up_to(to) - self.up_to(from)) / (to - from)
    }

    fn up_to(&self, x: f64) -> f64 {
        let before =
            self.points.partition_point(|point| point[0] <= x).clamp(1, self.points.len()) - 1;
        let [x0, y0] = self.points[before];
        let y = easeoff_plant::interpolate::straight(self.points, x);
        self.integral[before] + (x - x0) * (y0 + y) / 2.0
    }
}

/// Distance and height \[m, m\] of a GPX file's first track, or its first route if it has no track.
/// Points without a height are left out.
///
/// # Errors
/// When it is not GPX, or has fewer than two points with heights.
pub fn read(source: &Source) -> Result<Vec<[f64; 2]>, Refusal> {
    let refuse = |what: String, remedy: &str| source.clone().refuse(what, remedy);
    if deepest(&source.text) > DEEPEST {
        return Err(refuse(
            format!("its elements are nested deeper than {DEEPEST}"),
            "export the track again as plain GPX",
        ));
    }
    let gpx = gpx::read(source.text.as_bytes()).map_err(|error| {
        refuse(format!("this is not GPX: {error}"), "export the track again as GPX 1.0 or 1.1")
    })?;
    let track: Vec<&gpx::Waypoint> = gpx
        .tracks
        .first()
        .iter()
        .flat_map(|track| &track.segments)
        .flat_map(|s| &s.points)
        .collect();
    let points = if track.is_empty() {
        gpx.routes.first().iter().flat_map(|route| &route.points).collect()
    } else {
        track
    };
    let mut profile: Vec<[f64; 2]> = Vec::new();
    let mut distance = 0.0;
    let mut before: Option<(f64, f64)> = None;
    for point in points {
        let place = (point.point().y(), point.point().x());
        let Some(height) = point.elevation.filter(|height| height.abs() < 1.0e4) else { continue };
        distance += before.map_or(0.0, |before| great_circle_m(before, place));
        before = Some(place);
        // Points on one spot would make a cliff of the height's jitter.
        if profile.last().is_none_or(|last| distance > last[0]) {
            profile.push([distance, height]);
        }
    }
    if profile.len() < 2 {
        return Err(refuse(
            format!("it has {} places with a height; allowed is 2 or more", profile.len()),
            "use a track that moves and was recorded with heights",
        ));
    }
    Ok(profile)
}

/// GPX itself nests six deep; extensions a little more. Reading time grows with the square of depth.
const DEEPEST: usize = 64;

/// How deep the elements of an XML text are nested, about.
fn deepest(text: &str) -> usize {
    let (mut depth, mut most) = (0_usize, 0);
    for tag in text.split('<').skip(1) {
        let inside = tag.split('>').next().unwrap_or_default();
        match inside.as_bytes().first() {
            Some(b'/') => depth = depth.saturating_sub(1),
            Some(b'?' | b'!') => {}
            _ if inside.ends_with('/') => {}
            _ => depth += 1,
        }
        most = most.max(depth);
    }
    most
}

/// Haversine formula (Sinnott, Sky and Telescope 68, 1984; quoted from memory), latitude and
/// longitude in degrees.
fn great_circle_m((lat0, lon0): (f64, f64), (lat1, lon1): (f64, f64)) -> f64 {
    let half_sin = |degrees: f64| libm::sin(degrees.to_radians() / 2.0);
    let (dy, dx) = (half_sin(lat1 - lat0), half_sin(lon1 - lon0));
    let h = dy * dy + libm::cos(lat0.to_radians()) * libm::cos(lat1.to_radians()) * dx * dx;
    2.0 * EARTH_M * libm::asin(libm::sqrt(h.clamp(0.0, 1.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_degree_along_a_meridian_is_a_360th_of_the_circle() {
        let degree = great_circle_m((10.0, 20.0), (11.0, 20.0));
        assert!((degree - EARTH_M * std::f64::consts::PI / 180.0).abs() < 1e-6);
        let at_60 = great_circle_m((60.0, 0.0), (60.0, 1.0e-3));
        assert!((at_60 / great_circle_m((0.0, 0.0), (0.0, 1.0e-3)) - 0.5).abs() < 1e-6);
    }

    #[test]
    fn smoothing_keeps_a_straight_slope_and_scaling_keeps_its_grade() {
        let slope: Vec<[f64; 2]> = (0..50).map(|i| [f64::from(i), 0.1 * f64::from(i)]).collect();
        let small = TrackFilter { scale: 0.1, smooth_m: 6.0 }.apply(&slope);
        for pair in small[5..45].windows(2) {
            let grade = (pair[1][1] - pair[0][1]) / (pair[1][0] - pair[0][0]);
            assert!((grade - 0.1).abs() < 1e-9);
        }
    }

    #[test]
    fn a_file_that_is_no_track_is_refused() {
        assert!(read(&Source::new("x.gpx", "hello")).is_err());
        let empty = "<gpx version=\"1.1\" creator=\"t\"></gpx>\n";
        assert!(read(&Source::new("x.gpx", empty)).is_err());
        let deep = format!("<gpx>{}{}</gpx>\n", "<a>".repeat(300_000), "</a>".repeat(300_000));
        let refusal = read(&Source::new("x.gpx", deep)).unwrap_err();
        assert!(refusal.mistakes[0].what.contains("nested"));
    }
}
