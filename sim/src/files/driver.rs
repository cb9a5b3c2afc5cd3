//! The driver: who works the throttle.

use easeoff_plant::interpolate::straight;
use serde::Serialize;

use crate::files::document::Document;
use crate::files::folder::Folder;
use crate::files::human::{Aim, HumanData};
use crate::files::mistake::{Refusal, Source};
use crate::files::reader::Table;
use crate::files::retune;
use crate::files::retune::Retune;
use crate::files::table::read_pairs;

/// What the driver does, and the radio it does it through.
#[derive(Clone, Debug, Serialize)]
pub struct Driver {
    /// How long the run lasts \[s\].
    pub duration_s: f64,
    /// The motion.
    pub motion: Motion,
    /// The steering, -1 to 1, over time \[s\], in straight lines; only the servo's load comes of it.
    pub steer: Vec<[f64; 2]>,
    /// The radio.
    pub radio: Radio,
    /// Times without a signal, from and to \[s\].
    pub lost_s: Vec<[f64; 2]>,
    /// Other tunes put in force on the way.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub retunes: Vec<Retune>,
}

/// How the throttle moves. Between the points it moves in straight lines; outside them it rests.
#[derive(Clone, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Motion {
    /// Throttle, -1 to 1, over time \[s\].
    ByTime(Vec<[f64; 2]>),
    /// Throttle by place. At rest the place does not change, so that it waits until the controller is armed.
    ByPlace {
        /// Neutral before \[s\].
        from_s: f64,
        /// Throttle, -1 to 1, over place along the course \[m\].
        throttle: Vec<[f64; 2]>,
    },
    /// Recorded pulse widths \[us\] over time \[s\]; each holds until the next. After the last
    /// there is no signal.
    Recording(Vec<[f64; 2]>),
    /// A driver who watches the rig.
    Human(HumanData),
}

/// What turns throttle into pulses.
#[derive(Clone, Debug, Serialize)]
pub struct Radio {
    /// Time from pulse to pulse \[ms\].
    pub frame_ms: f64,
    /// Pulse at rest \[us\].
    pub neutral_us: f64,
    /// Pulse at full throttle less pulse at rest \[us\].
    pub travel_us: f64,
    /// Jitter of the pulses, root mean square \[us\].
    pub jitter_us: f64,
    /// Share of the frames that never arrive.
    pub missing_share: f64,
}

impl Driver {
    /// Reads a driver file; a recording is looked up in `folder`.
    ///
    /// # Errors
    /// Every mistake in it, or in the recording it names.
    pub fn read(source: &Source, folder: &Folder) -> Result<Self, Vec<Refusal>> {
        let document = Document::parse(source).map_err(|refusal| vec![refusal])?;
        let (driver, recording, retunes) = {
            let top = document.top();
            let radio = top.optional_table("radio");
            let frame_ms = radio.number_or("frame_ms", 2.0..=50.0, 20.0);
            let radio = Radio {
                frame_ms,
                neutral_us: radio.number_or("neutral_us", 800.0..=2_200.0, 1_500.0),
                travel_us: radio.number_or("travel_us", 50.0..=900.0, 500.0),
                jitter_us: radio.number_or("jitter_us", 0.0..=50.0, 0.0),
                missing_share: radio.number_or("missing_share", 0.0..=1.0, 0.0),
            };
            let throttle = || -1.0..=1.0;
            let by_time = top.pairs("throttle", 2, [0.0..=3_600.0, throttle()]);
            let by_place = top.pairs("throttle_by_place", 2, [-1.0e6..=1.0e6, throttle()]);
            let by_place = by_place.map(|throttle| Motion::ByPlace {
                from_s: top.number_or("throttle_by_place_from_s", 0.0..=3_600.0, 1.0),
                throttle,
            });
            let recording = top.text("recording_csv");
            let retunes = top.text("retunes_csv");
            let human = top.has("human").then(|| human(&top.table("human")));
            let steer = top.pairs("steer", 1, [0.0..=3_600.0, throttle()]).unwrap_or_default();
            let given = ["throttle", "throttle_by_place", "recording_csv", "human"];
            let count = given.iter().filter(|key| top.has(key)).count();
            if count != 1 {
                top.contradiction(
                    given[0],
                    format!("the file gives {count} motions; allowed is exactly one"),
                    "give one of throttle, throttle_by_place, recording_csv and the table [human]",
                );
            }
            let lost_s = if top.has("lost_s") {
                let lost =
                    top.pairs("lost_s", 1, [0.0..=3_600.0, 0.0..=3_600.0]).unwrap_or_default();
                if lost.iter().any(|[from, to]| from > to) {
                    top.contradiction(
                        "lost_s",
                        "a pair of lost_s ends before it begins".into(),
                        "write each pair as [from, to]",
                    );
                }
                lost
            } else {
                Vec::new()
            };
            let motion = match (by_place, human) {
                (Some(by_place), _) => by_place,
                (None, Some(human)) => Motion::Human(human),
                (None, None) => Motion::ByTime(by_time.unwrap_or_default()),
            };
            let duration_s = top.number("duration_s", 0.1..=3_600.0);
            let driver = Self { duration_s, motion, steer, radio, lost_s, retunes: Vec::new() };
            (driver, recording, retunes)
        };
        let mut refusals = Vec::new();
        let mut driver = document.finish(driver).map_err(|refusal| refusals.push(refusal)).ok();
        if let (Some(name), Some(driver)) = (recording, &mut driver) {
            let read = folder.read(&name).and_then(|source| {
                read_pairs(&source, ["time_s", "pulse_us"], [0.0..=3_600.0, 0.0..=30_000.0])
            });
            match read {
                Ok(pulses) => driver.motion = Motion::Recording(pulses),
                Err(refusal) => refusals.push(refusal),
            }
        }
        if let (Some(name), Some(driver)) = (retunes, &mut driver) {
            match folder.read(&name).and_then(|source| retune::read(&source)) {
                Ok(retunes) => driver.retunes = retunes,
                Err(refusal) => refusals.push(refusal),
            }
        }
        driver.filter(|_| refusals.is_empty()).ok_or(refusals)
    }

    /// The pulse \[us\] that the radio sends at this time and place, whole microseconds; `None`
    /// without a signal. `driven` is what a [human](Motion::Human) gives.
    pub fn pulse_us(&self, time_s: f64, place_m: f64, driven: f64) -> Option<f64> {
        if self.lost_s.iter().any(|[from, to]| (*from..*to).contains(&time_s)) {
            return None;
        }
        let throttle = match &self.motion {
            Motion::ByTime(points) => straight(points, time_s),
            Motion::ByPlace { from_s, .. } if time_s < *from_s => 0.0,
            Motion::ByPlace { throttle, .. } => straight(throttle, place_m),
            Motion::Human(_) => driven,
            Motion::Recording(pulses) => {
                let next = pulses.partition_point(|[time, _]| *time <= time_s);
                let over = next == pulses.len()
                    && pulses.last().is_some_and(|[last, _]| time_s > last + 0.05);
                return if next == 0 || over { None } else { Some(pulses[next - 1][1]) };
            }
        };
        Some(libm::rint(self.radio.neutral_us + self.radio.travel_us * throttle))
    }
}

fn human(table: &Table<'_>) -> HumanData {
    let short = table.number_or("short", 0.02..=0.9, 0.3);
    let rest_s = table.number_or("rest_s", 0.0..=60.0, 1.0);
    let aims = [("keep-pace", Aim::KeepPace), ("spare-rig", Aim::SpareRig { short, rest_s })];
    HumanData {
        pace_m_s: table.pairs("pace", 1, [-1.0e6..=1.0e6, 0.0..=30.0]).unwrap_or_else(|| {
            if !table.has("pace") {
                table.contradiction(
                    "pace",
                    "human.pace is missing; it is a list of pairs of place in m and speed in m/s"
                        .into(),
                    "add human.pace, such as [[0, 1.0], [8, 0.5]]",
                );
            }
            Vec::new()
        }),
        from_s: table.number_or("from_s", 0.0..=3_600.0, 1.0),
        crossover_rad_s: table.number_or("crossover_rad_s", 0.1..=20.0, 2.0),
        delay_s: table.number_or("delay_s", 0.0..=2.0, 0.2),
        weber: table.number_or("weber", 0.0..=0.9, 0.07),
        full_speed_m_s: table.number("full_speed_m_s", 0.05..=50.0),
        lag_s: table.number_or("lag_s", 0.0..=10.0, 0.3),
        aim: table.choice_or("aim", &aims, Aim::KeepPace),
    }
}
