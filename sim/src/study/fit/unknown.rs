//! The unknowns: which numbers of rig and course a fit may move, how far, and on which scale.

use std::ops::Range;

use easeoff_plant::course::ROLLING;

use super::log::{Driven, Log, Signal, median};
use super::replay::Replay;
use crate::files::document::Document;
use crate::files::mistake::{did_you_mean, quoted};
use crate::files::reader::Asked;

/// Rolling resistance of every surface of the course, which is no number of the rig.
pub(crate) const SURFACE_ROLLING: &str = "surface.rolling";
/// Below this share of its largest value a number that may be 0 counts as 0. Our own choice.
const NOTHING: f64 = 1.0e-6;
/// At rest a log reads no more than so many times its noise, or this share of its largest speed.
const AT_REST: (f64, f64) = (3.0, 0.002);

/// A number the fit may move.
#[derive(Clone, Debug)]
pub struct Unknown {
    /// Its key, such as `motor.resistance_ohm`.
    pub name: String,
    /// Where it goes.
    pub place: Place,
    /// Where the search begins.
    pub guess: f64,
    /// The scale it is moved on.
    pub scale: Scale,
}

/// Where an unknown goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// These bytes of the rig file.
    Rig(Range<usize>),
    /// Every surface of the course.
    Rolling,
    /// Wheel speed at the log's beginning \[rad/s\], the whole rig moving with it.
    StartSpeed,
    /// Temperature of winding and case at the log's beginning \[degrees C\].
    StartCelsius,
}

/// The scale an unknown is moved on, and its bounds there.
///
/// The search itself runs on `u`, without bounds: `q = low + (high - low) / (1 + exp(-u))`, where q is the
/// value or, for a number that cannot be negative, its logarithm.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    logarithmic: bool,
    low: f64,
    high: f64,
}

impl Scale {
    fn of(range: [f64; 2]) -> Self {
        let [low, high] = range;
        if low < 0.0 {
            return Self { logarithmic: false, low, high };
        }
        let low = low.max(NOTHING * high);
        Self { logarithmic: true, low: libm::log(low), high: libm::log(high) }
    }

    /// From a value to q.
    pub(crate) fn q(&self, value: f64) -> f64 {
        if self.logarithmic { libm::log(value) } else { value }
    }

    /// From q to the value.
    pub fn value(&self, q: f64) -> f64 {
        if self.logarithmic { libm::exp(q) } else { q }
    }

    /// From q to u.
    pub fn free(&self, q: f64) -> f64 {
        let share = ((q - self.low) / (self.high - self.low)).clamp(1.0e-6, 1.0 - 1.0e-6);
        libm::log(share / (1.0 - share))
    }

    /// From u to q.
    pub fn bound(&self, u: f64) -> f64 {
        self.low + (self.high - self.low) / (1.0 + libm::exp(-u))
    }

    /// From q to the value, kept within the bounds.
    pub(crate) fn bounded_value(&self, q: f64) -> f64 {
        self.value(q.max(self.low).min(self.high))
    }

    /// Whether a difference of q is a share of the value.
    pub(crate) fn is_relative(&self) -> bool {
        self.logarithmic
    }

    /// `dq/du`.
    pub fn slope(&self, q: f64) -> f64 {
        let share = (q - self.low) / (self.high - self.low);
        (self.high - self.low) * share * (1.0 - share)
    }

    /// The two places around q between which a derivative is taken: this share to either side, or a quarter
    /// of this share of the range.
    pub fn around(&self, q: f64, share: f64) -> [f64; 2] {
        let step = if self.logarithmic { share } else { 0.25 * share * (self.high - self.low) };
        [(q - step).max(self.low), (q + step).min(self.high)]
    }

    /// The bound that q has run to, in words.
    pub fn end(&self, q: f64) -> Option<&'static str> {
        // Towards its bounds the search slows down, so it never quite gets there.
        let near = 0.02 * (self.high - self.low);
        if q - self.low < near {
            Some("lowest")
        } else if self.high - q < near {
            Some("highest")
        } else {
            None
        }
    }
}

/// The unknowns of these names, with their guesses from rig file and course.
///
/// # Errors
/// Every name that is no number of the file, or one the fit cannot move.
pub fn named(
    names: &[String],
    replay: &Replay,
    asked: &[Asked],
) -> Result<Vec<Unknown>, Vec<String>> {
    let (mut found, mut wrong): (Vec<Unknown>, Vec<String>) = (Vec::new(), Vec::new());
    let document = Document::parse(replay.rig_source()).ok();
    for name in names {
        if found.iter().any(|unknown| unknown.name == *name) {
            wrong.push(format!("--free names {name} twice; name it once"));
            continue;
        }
        if name == SURFACE_ROLLING {
            let guess = replay.scenario().course.surfaces[0].rolling;
            let range = [*ROLLING.start(), *ROLLING.end()];
            match positive(name, guess, range, "the course") {
                Ok(scale) => {
                    let place = Place::Rolling;
                    found.push(Unknown { name: name.clone(), place, guess, scale });
                }
                Err(what) => wrong.push(what),
            }
            continue;
        }
        let Some(key) = asked.iter().find(|asked| asked.path == *name && !asked.whole) else {
            wrong.push(no_key(name, asked));
            continue;
        };
        let Some(span) = document.as_ref().and_then(|document| document.span_of(name)) else {
            wrong.push(format!(
                "{name} is not in the rig file; write it there with a guess, so that the search can begin"
            ));
            continue;
        };
        let text = replay.rig_source().text.get(span.clone()).unwrap_or_default();
        let Ok(guess) = text.replace('_', "").parse::<f64>() else {
            wrong.push(format!(
                "{name} is {text} in the rig file; write it as a plain decimal number"
            ));
            continue;
        };
        let range = [*key.range.start(), *key.range.end()];
        match positive(name, guess, range, "the rig file") {
            Ok(scale) => {
                found.push(Unknown { name: name.clone(), place: Place::Rig(span), guess, scale });
            }
            Err(what) => wrong.push(what),
        }
    }
    if wrong.is_empty() { Ok(found) } else { Err(wrong) }
}

/// The scale, if the guess has a place on it.
fn positive(name: &str, guess: f64, range: [f64; 2], file: &str) -> Result<Scale, String> {
    if range[0] >= 0.0 && guess <= NOTHING * range[1] {
        return Err(format!(
            "{name} is {guess} in {file}; a search for it must begin above {}; write a guess there",
            NOTHING * range[1]
        ));
    }
    Ok(Scale::of(range))
}

fn no_key(name: &str, asked: &[Asked]) -> String {
    let mut names: Vec<&str> =
        asked.iter().filter(|asked| !asked.whole).map(|asked| asked.path.as_str()).collect();
    names.push(SURFACE_ROLLING);
    names.sort_unstable();
    names.dedup();
    let table = name.split('.').next().unwrap_or_default();
    let same: Vec<&str> =
        names.iter().copied().filter(|known| known.split('.').next() == Some(table)).collect();
    match (did_you_mean(name, &names), same.as_slice()) {
        (Some(near), [_, ..]) => {
            format!(
                "{name} cannot be fitted; did you mean {near}? Allowed there is {}",
                quoted(&same)
            )
        }
        (Some(near), []) => format!("{name} cannot be fitted; did you mean {near}?"),
        (None, [_, ..]) => format!("{name} cannot be fitted; allowed is {}", quoted(&same)),
        (None, []) => format!(
            "{name} cannot be fitted; allowed is a key of the rig file with a number that need not be whole, \
             such as motor.resistance_ohm, or {SURFACE_ROLLING}"
        ),
    }
}

/// The noise of a signal, by how much its samples stand off the line through their neighbours: what moves
/// evenly does not count. The median of normal noise's second differences is 0.6745 sqrt(6) deviations.
fn noise(signal: &Signal) -> f64 {
    let off = signal.samples.windows(3).map(|at| (at[0].1 - 2.0 * at[1].1 + at[2].1).abs());
    median(off.collect()) / (0.6745 * 6.0_f64.sqrt())
}

/// What the log's beginning needs besides: a log may begin moving, or warm, and a first reading is as
/// noisy as any other.
pub(crate) fn of_the_start(log: &Log, replay: &Replay) -> Vec<Unknown> {
    let of = |names: &[&str]| log.signals.iter().find(|signal| names.contains(&signal.name));
    let mut found = Vec::new();
    let speeds = of(&["wheel_speed_rad_s", "speed_used_rad_s"]);
    // The controller arms at rest only, so by pulses every drive begins there.
    if let (Some(speeds), Driven::Bridge(_)) = (speeds, &log.driven) {
        let guess = speeds.samples.first().map_or(0.0, |(_, y)| *y);
        let most = speeds.samples.iter().fold(0.0_f64, |most, (_, y)| most.max(y.abs()));
        if guess.abs() > (AT_REST.0 * noise(speeds)).max(AT_REST.1 * most) {
            let reach = 0.2 * most + 1.0;
            found.push(Unknown {
                name: "start.wheel_speed_rad_s".into(),
                place: Place::StartSpeed,
                guess,
                scale: Scale { logarithmic: false, low: guess - reach, high: guess + reach },
            });
        }
    }
    if let Some(warm) = of(&["winding_c", "case_c"]) {
        let guess = warm.samples.first().map_or(replay.scenario().rig.vehicle.air_c, |(_, y)| *y);
        found.push(Unknown {
            name: "start.winding_c".into(),
            place: Place::StartCelsius,
            guess,
            scale: Scale { logarithmic: false, low: guess - 20.0, high: guess + 20.0 },
        });
    }
    found
}
