//! The course: heights along the way, surfaces, snags.

use std::ops::RangeInclusive;

use serde::Serialize;

use crate::document::Document;
use crate::folder::Folder;
use crate::mistake::{Refusal, Source};
use crate::reader::Table;
use crate::rough::{Class, Rough};
use crate::table::read_pairs;
use crate::track::{self, TrackFilter};

/// The ground.
#[derive(Clone, Debug, Serialize)]
pub struct Course {
    /// Distance over level ground and height \[m, m\], the first not falling.
    pub profile_m: Vec<[f64; 2]>,
    /// Roughness laid over the profile, which already has it.
    pub rough: Option<Rough>,
    /// Where the rig starts, along the way \[m\].
    pub start_m: f64,
    /// Surfaces, each from its place to the next; the first from the start.
    pub surfaces: Vec<Surface>,
    /// Things that catch the wheels.
    pub snags: Vec<Snag>,
}

/// A rise that a wheel cannot be expected to climb however short it is \[m\] ...
const LOWEST_WALL_M: f64 = 0.2;
/// ... if it is steeper than 60 degrees.
const STEEPEST: f64 = 1.732;

/// Rolling resistance coefficients that a course may have.
pub const ROLLING: RangeInclusive<f64> = 0.0..=0.5;

/// What the ground is like from a place on.
#[derive(Clone, Debug, Serialize)]
pub struct Surface {
    /// From here on, along the way \[m\].
    pub from_m: f64,
    /// Peak friction coefficient of the tyres.
    pub grip: f64,
    /// Friction coefficient sliding.
    pub grip_sliding: f64,
    /// Rolling resistance coefficient.
    pub rolling: f64,
}

/// Something that winds itself round a wheel: torque grows with wheel rotation like a spring's.
#[derive(Clone, Debug, Serialize)]
pub struct Snag {
    /// Where it catches, along the way \[m\].
    pub at_m: f64,
    /// Torque per wheel rotation \[N m/rad\].
    pub stiffness_n_m_per_rad: f64,
    /// The torque it stands \[N m\].
    pub break_n_m: f64,
    /// What happens then.
    pub then: AfterBreak,
}

/// What a snag does once its torque is reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum AfterBreak {
    /// It tears; the wheels are free.
    LetsGo,
    /// It holds on and drags at that torque.
    Stays,
}

impl Default for Surface {
    /// Firm earth: friction 0.68 and 0.65 (Wong, Theory of Ground Vehicles, second
    /// hand), rolling 0.02 (Carvill, worn asphalt).
    fn default() -> Self {
        Self { from_m: 0.0, grip: 0.68, grip_sliding: 0.65, rolling: 0.02 }
    }
}

impl Course {
    /// Reads a course file; a profile it names is looked up in `folder`.
    ///
    /// # Errors
    /// Every mistake in it, or in the profile it names.
    pub fn read(source: &Source, folder: &Folder) -> Result<Self, Vec<Refusal>> {
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
            let course = Self {
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
            && let Some(refusal) = course.ends_refusal(source)
        {
            refusals.push(refusal);
        }
        let course = course.filter(|_| refusals.is_empty()).ok_or(refusals)?;
        let rough = course.rough.map(|rough| rough.lay(&course.profile_m));
        Ok(Self { profile_m: rough.unwrap_or(course.profile_m), ..course })
    }

    /// What can only be judged once the profile is read: its length, and where the start lies.
    fn ends_refusal(&self, source: &Source) -> Option<Refusal> {
        let (from, to) = (self.profile_m.first()?[0], self.profile_m.last()?[0]);
        let refuse = |what: String, remedy: &str| source.clone().refuse(what, remedy);
        let wall = self.profile_m.windows(2).find(|pair| {
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
        } else if !(from..to).contains(&self.start_m) {
            let what = format!(
                "start_m is {}; allowed is {from} to below {to}, the profile",
                self.start_m
            );
            let mut refusal = refuse(what, "start the rig on the course");
            let document = Document::parse(source).ok();
            refusal.mistakes[0].span = document.and_then(|document| document.span_of("start_m"));
            Some(refusal)
        } else {
            None
        }
    }

    /// The least friction of the tyres along the way.
    pub fn least_grip(&self) -> f64 {
        self.surfaces.iter().fold(f64::MAX, |least, on| least.min(on.grip))
    }

    /// The greatest rolling resistance along the way.
    pub fn most_rolling(&self) -> f64 {
        self.surfaces.iter().fold(0.0, |most: f64, on| most.max(on.rolling))
    }

    /// Which of the surfaces lies at a place.
    pub fn surface_index_at(&self, place_m: f64) -> usize {
        let next = self.surfaces.partition_point(|surface| surface.from_m <= place_m);
        next.saturating_sub(1).min(self.surfaces.len() - 1)
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
