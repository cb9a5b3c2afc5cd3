//! What a log cannot tell, each with the drive or the measurement that would.

use nalgebra::{DMatrix, DVector};

use super::interval::{Estimate, Judged, Moved, invert, tau, weighted};
use super::log::Log;
use super::replay::Replay;
use super::solve::Solution;
use super::unknown::{SURFACE_ROLLING, Unknown};

/// Two estimates that hang together closer than this cannot be told apart. Our own choice: the interval
/// of each is then seven times as wide as if the other were known.
const ALIKE: f64 = 0.99;
/// A direction in which the log tells less than this share of what it tells in its best.
const FAINT: f64 = 1.0e-3;
/// An interval from half to twice the value.
const VAGUE: f64 = std::f64::consts::LN_2;
/// A shift or slide of time counts from so many standard deviations on ...
const SURE: f64 = 4.0;
/// ... and, a slide, from this share on.
const SLIDE: f64 = 1.0e-3;
/// Signals this much alike in time hold this few samples as good as independent.
const DEPENDENT: f64 = 0.1;
/// Halving the step may move an estimate by this share of half its interval; beyond it is told ...
const COARSE: f64 = 0.2;
/// ... from this share of the estimate on ...
const COARSE_RELATIVE: f64 = 1.0e-3;
/// ... or from this one, where the step is all that the log and the simulation differ by.
const COARSE_EXACT: f64 = 1.0e-2;
/// At the end of a search the derivatives may ask for a step of this share of half an interval, or of
/// [`COARSE_RELATIVE`] of the estimate.
const STOPPED: f64 = 0.3;

/// What shows a number, by the beginning of its key: the first that fits.
const SHOWN_BY: [(&str, &str); 15] = [
    (
        "motor.resistance_ohm",
        "a pull against blocked wheels (a stiff [[snag]] at the start of the course)",
    ),
    (
        "bridge.resistance_ohm",
        "an ohmmeter, or the data sheet: the motor's current flows through both",
    ),
    ("motor.kv_rpm_per_v", "steady speeds at several duties, almost without load"),
    ("motor.no_load_a", "slow steady speeds at several small duties"),
    ("motor.viscous_share", "steady speeds from slow to fast"),
    ("motor.inductance_uh", "steps of duty logged at 10 kHz or more"),
    ("motor.rotor_inertia_kg_m2", "short hard steps of duty"),
    ("wheels.inertia_kg_m2", "short hard steps of duty"),
    (
        "motor.",
        "minutes of hard driving and of cooling down, with the winding's temperature logged",
    ),
    ("vehicle.mass_kg", "a pair of scales"),
    (
        "vehicle.drag_area_m2",
        "a coast-down from top speed: drag falls with the square of the speed",
    ),
    (SURFACE_ROLLING, "a coast-down to standstill: rolling resistance is what is left when slow"),
    ("gears.efficiency", "both driving and braking on a slope, with the motor's current logged"),
    ("pack.", "steps of load with the pack's voltage and current logged"),
    ("bridge.", "minutes of hard driving with the bridge's temperature logged"),
];

fn shown_by(name: &str) -> &'static str {
    let found = SHOWN_BY.iter().find(|(key, _)| name.starts_with(key));
    found.map_or("a drive with more variety: steps of duty, coasting, braking", |(_, drive)| drive)
}

/// Everything worth a sentence.
pub(super) fn doubts(
    log: &Log,
    replay: &Replay,
    unknowns: &[Unknown],
    solution: &Solution,
    judged: &Judged,
    finer: &Moved,
) -> Vec<String> {
    let estimates = &judged.estimates;
    let mut said = log.notes.clone();
    said.extend(estimates.iter().filter_map(at_the_end));
    said.extend(without_trace(unknowns, solution, estimates));
    said.extend(not_told_apart(estimates, judged));
    said.extend(estimates.iter().filter_map(vague));
    said.extend(clocks(log, solution, judged));
    said.extend(slow(judged));
    let exact = judged.signals.iter().all(|signal| signal.exact);
    if finer.share > COARSE && finer.relative > if exact { COARSE_EXACT } else { COARSE_RELATIVE } {
        said.push(format!(
            "Halving the step of {:.0} us moves an estimate by {:.2} %, which is {:.0} % of half its interval; \
             choose a smaller --step-us",
            replay.step_s() * 1.0e6,
            100.0 * finer.relative,
            100.0 * finer.share
        ));
    }
    said
}

/// A search that ended where its derivatives still point on: `onward` is the step they ask for.
pub(super) fn stopped_early(judged: &Judged, onward: &Moved) -> Option<String> {
    let bounded = judged.estimates.iter().any(|one| one.end.is_some());
    (!bounded && onward.share > STOPPED && onward.relative > COARSE_RELATIVE).then(|| {
        format!(
            "The search stopped although its derivatives point {:.1} % further: the simulation's answer jumps \
             there. Do not trust the intervals; begin at better guesses, or drive by duty instead of pulses",
            100.0 * onward.relative
        )
    })
}

/// Signals whose deviations are no noise.
fn slow(judged: &Judged) -> Option<String> {
    let slow: Vec<String> = judged
        .signals
        .iter()
        .filter(|one| !one.exact && one.independent < DEPENDENT * one.samples as f64)
        .map(|one| {
            format!("{} (its {} samples count as {:.0})", one.name, one.samples, one.independent)
        })
        .collect();
    (!slow.is_empty()).then(|| {
        format!(
            "The deviations change slowly in {}. The simulation lacks something that the rig has, and may lean \
             on the unknowns to make up for it; look at the picture where it is off, and free or correct what \
             acts there",
            slow.join(", ")
        )
    })
}

fn at_the_end(estimate: &Estimate) -> Option<String> {
    let end = estimate.end?;
    Some(format!(
        "{} ran to its {end} allowed value, {:.3e}: do not use it. Either the log shows nothing of it, or \
         something else is wrong that it tries to make up for; check units, signs and the other numbers of \
         the rig, or leave it out of --free",
        estimate.name, estimate.value
    ))
}

/// Whether a log shows nothing at all of an estimate.
fn is_without_trace(index: usize, solution: &Solution) -> bool {
    let column = weighted(&solution.slopes, &solution.weights);
    column.column(index).norm() < 1.0e-6
}

fn without_trace(unknowns: &[Unknown], solution: &Solution, found: &[Estimate]) -> Vec<String> {
    (0..unknowns.len())
        .filter(|index| is_without_trace(*index, solution))
        .map(|index| {
            let name = &found[index].name;
            format!(
                "Nothing that was measured depends on {name}; leave it out of --free, or log what shows it: {}",
                shown_by(name)
            )
        })
        .collect()
}

/// Unknowns that only act together.
fn not_told_apart(found: &[Estimate], judged: &Judged) -> Vec<String> {
    let mut said = Vec::new();
    for (i, one) in found.iter().enumerate() {
        for (j, other) in found.iter().enumerate().skip(i + 1) {
            let together = judged.correlations[(i, j)];
            if together.abs() > ALIKE {
                let how = if together < 0.0 {
                    "more of one looks like more of the other"
                } else {
                    "more of one looks like less of the other"
                };
                said.push(format!(
                    "The log cannot tell {} from {}: {how} (their correlation is {together:.4}). What would: \
                     for {}, {}; for {}, {}. Or keep the one you can measure out of --free",
                    one.name, other.name, one.name, shown_by(&one.name), other.name, shown_by(&other.name)
                ));
            }
        }
    }
    let (first, last) = (judged.singular.max(), judged.singular.min());
    if said.is_empty() && last < FAINT * first && found.len() > 2 {
        let row = judged.singular.imin();
        let names: Vec<&str> = found
            .iter()
            .enumerate()
            .filter(|(index, _)| judged.directions[(row, *index)].abs() > 0.2)
            .map(|(_, one)| one.name.as_str())
            .collect();
        if names.len() > 1 {
            let drives: Vec<String> =
                names.iter().map(|name| format!("for {name}, {}", shown_by(name))).collect();
            said.push(format!(
                "The log cannot tell {} from each other: together they can change and leave hardly a trace \
                 (singular values {first:.2} to {last:.1e}). What would: {}",
                names.join(", "),
                drives.join("; ")
            ));
        }
    }
    said
}

fn vague(estimate: &Estimate) -> Option<String> {
    (estimate.relative && estimate.half > VAGUE && estimate.end.is_none()).then(|| {
        format!(
            "The log hardly shows {}: its interval is wider than from half to twice the value. What would \
             show it: {}",
            estimate.name,
            shown_by(&estimate.name)
        )
    })
}

/// Whether the measured signals are late against the drive, or slide along it: by how far the deviations
/// look like the signals' own slopes in time, and like those times the time.
fn clocks(log: &Log, solution: &Solution, judged: &Judged) -> Vec<String> {
    if judged.signals.iter().all(|signal| signal.exact) {
        return Vec::new();
    }
    let times: Vec<f64> = log
        .signals
        .iter()
        .flat_map(|signal| signal.samples.iter().map(|(index, _)| log.time_s[*index]))
        .collect();
    let mut rates = Vec::with_capacity(times.len());
    for (part, time) in log.parts(&solution.simulated).into_iter().zip(log.parts(&times)) {
        let last = part.len() - 1;
        rates.extend((0..part.len()).map(|index| {
            let (a, b) = (index.saturating_sub(1), (index + 1).min(last));
            (part[b] - part[a]) / (time[b] - time[a])
        }));
    }
    let middle = log.duration_s() / 2.0;
    let count = judged.estimates.len();
    let slopes = DMatrix::from_fn(times.len(), count + 2, |row, column| match column {
        column if column < count => solution.slopes[(row, column)],
        column if column == count => rates[row],
        _ => rates[row] * (times[row] - middle),
    });
    let jacobian = weighted(&slopes, &solution.weights);
    let weights = DVector::from_column_slice(&solution.weights);
    let deviations = DVector::from_column_slice(&solution.residuals).component_mul(&weights);
    let inverse = invert(&jacobian).inverse;
    let found = &inverse * jacobian.transpose() * &deviations;
    // What a shift and a slide leave over, and how alike it is: the deviations that they make are none.
    let left = deviations - &jacobian * &found;
    let alike = log.parts(left.as_slice()).into_iter().map(tau).fold(1.0, f64::max);
    let free = (times.len() as f64 - (count + 2) as f64).max(1.0);
    let deviation = (alike * left.norm_squared() / free).sqrt();
    let sure =
        |index: usize| found[index].abs() > SURE * deviation * inverse[(index, index)].sqrt();
    let (late_s, slide) = (found[count], found[count + 1]);
    let mut said = Vec::new();
    if sure(count) && late_s.abs() > 0.25 * log.interval_s() {
        said.push(format!(
            "The measured signals seem to come {:.1} ms {} against the drive; shift their columns, or check \
             the logger's filters: a delay is taken for inertia",
            1.0e3 * late_s.abs(),
            if late_s > 0.0 { "late" } else { "early" }
        ));
    }
    if sure(count + 1) && slide.abs() > SLIDE {
        said.push(format!(
            "The measured signals seem to slide along the drive by {:.2} % of the time: two clocks that run \
             apart. Log both by one clock, or stretch one of them",
            100.0 * slide.abs()
        ));
    }
    said
}
