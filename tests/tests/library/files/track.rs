//! A track becomes a course, and a rig drives it to its end.

use std::collections::BTreeSet;
use std::path::Path;

use easeoff_plant::course::Course;
use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::mistake::Source;
use easeoff_sim::files::{demo, track};
use easeoff_sim::run::{DEFAULT_STEP_S, End, simulate};
use easeoff_tests::made_walk::{self, POINTS, STANDING};

fn data() -> Folder {
    Folder::Disk(Path::new(env!("CARGO_MANIFEST_DIR")).join("data"))
}

/// Latitude, longitude and height of each point, cut out of the text without any GPX reader.
fn points(text: &str) -> Vec<[f64; 3]> {
    let cut = |part: &str, from: &str, to: &str| -> f64 {
        part.split(from).nth(1).unwrap().split(to).next().unwrap().parse().unwrap()
    };
    text.split("<trkpt")
        .skip(1)
        .map(|part| {
            [cut(part, "lat=\"", "\""), cut(part, "lon=\"", "\""), cut(part, "<ele>", "</ele>")]
        })
        .collect()
}

/// Length by taking each piece for flat (equirectangular): for pieces of metres that is the great
/// circle to far better than a part in 10,000.
fn flat_length_m(points: &[[f64; 3]]) -> f64 {
    let per_degree = std::f64::consts::PI / 180.0 * 6_371_008.8;
    points
        .windows(2)
        .map(|pair| {
            let north = pair[1][0] - pair[0][0];
            let east = (pair[1][1] - pair[0][1]) * libm::cos(pair[0][0].to_radians());
            libm::hypot(north, east) * per_degree
        })
        .sum()
}

fn course(scale: f64, smooth_m: f64) -> Course {
    let text = format!("profile_gpx = \"walk.gpx\"\nscale = {scale:?}\nsmooth_m = {smooth_m:?}\n");
    easeoff_sim::files::course::read(&Source::new("course.toml", text), &data()).unwrap()
}

/// Sum of all rises and falls \[m\].
fn up_and_down_m(profile: &[[f64; 2]]) -> f64 {
    profile.windows(2).map(|pair| (pair[1][1] - pair[0][1]).abs()).sum()
}

#[test]
fn the_committed_track_is_what_is_made() {
    let written = data().read("walk.gpx").unwrap();
    assert!(written.text == made_walk::gpx(), "tests/data/walk.gpx: run `cargo xtask walk`");
}

/// What the reader must cope with is there.
#[test]
fn the_track_has_what_recorded_tracks_have() {
    let walk = made_walk::walk();
    let gaps: BTreeSet<u32> = walk[1..].iter().map(|point| point.after_s).collect();
    assert_eq!(gaps, (1..=9).collect());
    let repeated = walk.windows(2).filter(|pair| pair[0].height_m == pair[1].height_m).count();
    assert!((30..120).contains(&repeated), "{repeated} heights repeat");
    let jumps = STANDING.iter().filter(|at| walk[**at].height_m != walk[**at - 1].height_m).count();
    assert!(jumps > 1, "heights jitter on the spot, too: {jumps}");
}

#[test]
fn the_track_is_as_long_as_it_was_made_and_as_an_independent_sum_says() {
    let source = data().read("walk.gpx").unwrap();
    let points = points(&source.text);
    assert_eq!(points.len(), POINTS);
    let profile = track::read(&source).unwrap();
    assert!(profile.windows(2).all(|pair| pair[1][0] > pair[0][0]), "distance must grow");

    // Before it became degrees: no point twice, each at its way and with its height.
    let mut way_m = 0.0;
    let mut made = Vec::new();
    for (number, point) in made_walk::walk().iter().enumerate() {
        way_m += point.step_m;
        if !STANDING.contains(&number) {
            made.push([way_m, point.height_m]);
        }
    }
    assert_eq!(profile.len(), made.len());
    for (read, made) in profile.iter().zip(&made) {
        // The file's last digit is 0.1 mm of each point.
        let most = 1e-4 + 1e-6 * made[0];
        assert!((read[0] - made[0]).abs() < most, "{} m, made {} m", read[0], made[0]);
        assert!((read[1] - made[1]).abs() < 1e-9, "{} m high, made {} m", read[1], made[1]);
    }
    let (read, flat) = (profile[profile.len() - 1][0], flat_length_m(&points));
    assert!((read / flat - 1.0).abs() < 1e-4, "{read} m against {flat} m");
    // A walk of a quarter of an hour and more.
    assert!((2_000.0..4_000.0).contains(&read), "{read} m");
}

#[test]
fn a_course_of_it_is_scaled_and_smoothed_but_no_longer() {
    let raw = track::read(&data().read("walk.gpx").unwrap()).unwrap();
    assert_eq!(course(1.0, 0.0).profile_m, raw);

    let small = course(0.02, 0.0).profile_m;
    for (small, raw) in small.iter().zip(&raw) {
        assert!((small[0] - 0.02 * raw[0]).abs() < 1e-9 && (small[1] - 0.02 * raw[1]).abs() < 1e-9);
    }

    let smooth = course(1.0, 100.0).profile_m;
    assert_eq!(smooth.len(), raw.len());
    let (before, after) = (up_and_down_m(&raw), up_and_down_m(&smooth));
    assert!(after < 0.9 * before, "{before} m up and down became {after} m");
    let bounds = raw.iter().fold([f64::MAX, f64::MIN], |[low, high], [_, height]| {
        [low.min(*height), high.max(*height)]
    });
    let beyond = smooth.iter().map(|[_, h]| (bounds[0] - h).max(h - bounds[1]));
    // A mean lies within its values; the running integral may round by far less than this.
    let most = beyond.fold(f64::MIN, f64::max);
    assert!(most < 1e-9, "{most} m beyond the recorded heights");
}

#[test]
fn a_rig_drives_it_to_its_end() {
    let mut scenario = demo::scenario("garden").unwrap();
    scenario.course = course(0.01, 30.0);
    scenario.driver.motion = Motion::ByTime(vec![[0.0, 0.0], [0.8, 0.0], [1.2, 0.6]]);
    scenario.driver.duration_s = 60.0;
    let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    assert_eq!(run.end, End::Course);
    let last = run.rows.last().unwrap();
    // The way along the slope is never shorter than the way over level ground.
    let level_m = scenario.course.profile_m.last().unwrap()[0];
    let place_m = last.plant.now.place_m;
    assert!((level_m..1.02 * level_m).contains(&place_m), "{place_m} m of {level_m} m");
    assert!(run.rows.iter().all(|row| row.speed_m_s() > -0.05), "it never rolls back");
    let speed = place_m / last.time_s;
    assert!((1.0..3.0).contains(&speed), "{speed} m/s");
}
