//! The course file, key by key.

use easeoff_plant::course::{AfterBreak, Course, ROLLING, Snag, Surface};
use easeoff_plant::rough::{Class, Rough};

use super::document::Document;
use super::folder::Folder;
use super::mistake::{Refusal, Source};
use super::reader::Table;
use super::table::read_pairs;
use super::track::{self, TrackFilter};

/// A rise that a wheel cannot be expected to climb however short it is \[m\] ...
const LOWEST_WALL_M: f64 = 0.2;
/// ... if it is steeper than 60 degrees.
const STEEPEST: f64 = 1.732;

/// Reads a course file; a profile it names is looked up in `folder`.
///
/// # Errors
/// Every mistake in it, or in the profile it names.
pub fn read(source: &Source, folder: &Folder) -> Result<Course, Vec<Refusal>> {
    let document = Document::parse(source).map_err(|refusal| vec![refusal])?;
    let (course, csv, gpx, filter) = {
        let top = document.top();
        let place = || -1.0e5..=1.0e5;
        let inline = top.pairs("profile_m", 2, [place(), -1.0e4..=1.0e4]);
        let (csv, gpx) = (top.text("profile_csv"), top.text("profile_gpx"));
        let given = ["profile_m", "profile_csv", "profile_gpx"];
        let count = given.iter().filter(|key| top.has(key)).count();
        if count != 1 {
            top.contradiction(
                given[0],
                format!("the file gives {count} profiles; allowed is exactly one"),
                "give one of profile_m, profile_csv and profile_gpx",
            );
        }
        let filter = TrackFilter {
            scale: top.number_or("scale", 0.001..=10.0, 1.0),
            smooth_m: top.number_or("smooth_m", 0.0..=1_000.0, 0.0),
        };
        let course = Course {
            profile_m: inline.unwrap_or_default(),
            rough: rough(&top),
            start_m: top.number_or("start_m", place(), 0.0),
            surfaces: surfaces(&top),
            snags: top.tables("snag").iter().map(snag).collect(),
        };
        (course, csv, gpx, filter)
    };
    let mut refusals = Vec::new();
    let mut course = document.finish(course).map_err(|refusal| refusals.push(refusal)).ok();
    let profile = match (csv, gpx) {
        (Some(name), _) => Some(folder.read(&name).and_then(|source| {
            let ranges = [-1.0e6..=1.0e6, -1.0e4..=1.0e4];
            read_pairs(&source, ["distance_m", "height_m"], ranges)
        })),
        (None, Some(name)) => Some(folder.read(&name).and_then(|source| track::read(&source))),
        (None, None) => None,
    };
    match (profile, &mut course) {
        (Some(Ok(raw)), Some(course)) => course.profile_m = filter.apply(&raw),
        (Some(Err(refusal)), _) => refusals.push(refusal),
        (None, Some(course)) => course.profile_m = filter.apply(&course.profile_m),
        _ => {}
    }
    if let Some(course) = course.as_ref().filter(|_| refusals.is_empty())
        && let Some(refusal) = ends_refusal(course, source)
    {
        refusals.push(refusal);
    }
    let course = course.filter(|_| refusals.is_empty()).ok_or(refusals)?;
    let rough = course.rough.map(|rough| rough.lay(&course.profile_m));
    Ok(Course { profile_m: rough.unwrap_or(course.profile_m), ..course })
}

/// What can only be judged once the profile is read: its length, and where the start lies.
fn ends_refusal(course: &Course, source: &Source) -> Option<Refusal> {
    let (from, to) = (course.profile_m.first()?[0], course.profile_m.last()?[0]);
    let refuse = |what: String, remedy: &str| source.clone().refuse(what, remedy);
    let wall = course.profile_m.windows(2).find(|pair| {
        let rise = (pair[1][1] - pair[0][1]).abs();
        rise > LOWEST_WALL_M && rise > STEEPEST * (pair[1][0] - pair[0][0])
    });
    if let Some(wall) = wall {
        let what = format!(
            "the profile goes from height {} to {} at {} m, a wall; allowed is up to 60 degrees",
            wall[0][1], wall[1][1], wall[0][0]
        );
        Some(refuse(what, "give the height more distance, or smooth it with smooth_m"))
    } else if to - from < 0.1 {
        let what = format!("the profile is {} m long; allowed is 0.1 or more", to - from);
        Some(refuse(what, "give the profile more length, or a larger scale"))
    } else if !(from..to).contains(&course.start_m) {
        let what =
            format!("start_m is {}; allowed is {from} to below {to}, the profile", course.start_m);
        let mut refusal = refuse(what, "start the rig on the course");
        let document = Document::parse(source).ok();
        refusal.mistakes[0].span = document.and_then(|document| document.span_of("start_m"));
        Some(refusal)
    } else {
        None
    }
}

fn surfaces(top: &Table<'_>) -> Vec<Surface> {
    let mut surfaces: Vec<Surface> = top
        .tables("surface")
        .iter()
        .map(|table| {
            let usual = Surface::default();
            let surface = Surface {
                from_m: table.number_or("from_m", -1.0e5..=1.0e5, 0.0),
                grip: table.number_or("grip", 0.02..=2.0, usual.grip),
                grip_sliding: table.number_or("grip_sliding", 0.02..=2.0, usual.grip_sliding),
                rolling: table.number_or("rolling", ROLLING, usual.rolling),
            };
            if surface.grip_sliding > surface.grip {
                table.contradiction(
                    "grip_sliding",
                    format!(
                        "surface.grip_sliding is {}, above surface.grip at {}",
                        surface.grip_sliding, surface.grip
                    ),
                    "a sliding tyre holds no better than a gripping one; lower grip_sliding",
                );
            }
            surface
        })
        .collect();
    if surfaces.is_empty() {
        surfaces.push(Surface::default());
    }
    surfaces.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
    surfaces
}

fn rough(top: &Table<'_>) -> Option<Rough> {
    top.has("rough").then(|| {
        let table = top.optional_table("rough");
        Rough {
            class: table.choice_or("class", &Class::NAMED, Class::C),
            seed: table.whole_or("seed", 0..=u32::MAX, 1),
            scale: table.number_or("scale", 0.01..=1.0, 1.0),
        }
    })
}

fn snag(table: &Table<'_>) -> Snag {
    let endings = [("lets-go", AfterBreak::LetsGo), ("stays", AfterBreak::Stays)];
    Snag {
        at_m: table.number("at_m", -1.0e5..=1.0e5),
        stiffness_n_m_per_rad: table.number("stiffness_n_m_per_rad", 0.001..=1.0e4),
        break_n_m: table.number("break_n_m", 0.001..=1.0e4),
        then: table.choice_or("then", &endings, AfterBreak::LetsGo),
    }
}
