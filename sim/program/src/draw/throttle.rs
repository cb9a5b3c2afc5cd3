//! The pictures: pulses over time with what was found in them, and how they scatter at rest.

use easeoff_core::CalibrationProgress;
use easeoff_sim::study::throttle::frames::waits;
use easeoff_sim::study::throttle::levels::{DeadBand, Level, Rest};
use easeoff_sim::study::throttle::robust::quantile;
use easeoff_sim::study::throttle::{Throttle, words};

use crate::draw::chart::{Column, Panel, Series, Sheet, colour};

/// As many stretches as a line is thinned to; each keeps its lowest and its highest point.
const STRETCHES: usize = 1_000;

/// The longest words at a mark take this share of the axis.
const WORDS_SHARE: f64 = 0.15;

/// Pulses, their rest magnified, and the time between them.
pub fn over_time(title: &str, throttle: &Throttle) -> Sheet {
    let samples: Vec<(f64, f64)> =
        throttle.pulses.samples.iter().map(|[time, us]| (*time, *us)).collect();
    let levels = &throttle.levels;
    let all: Vec<f64> = samples.iter().map(|point| point.1).collect();
    let line = |points: &[(f64, f64)]| Series {
        name: String::new(),
        points: thinned(points),
        colour: colour::BLUE,
    };
    let mut panels = Vec::new();
    let mut whole = Panel::new("pulse, us", vec![line(&samples)], 2.0);
    // A few wild pulses must not flatten the rest.
    let (low, high) = (quantile(&all, 0.002), quantile(&all, 0.998));
    if let Some((low, high)) = low.zip(high) {
        let air = 0.15 * (high - low).max(20.0);
        whole.y = low - air..high + air;
        whole.series[0].points.retain(|point| whole.y.contains(&point.1));
    }
    let neutral = levels.rest.as_ref().map(|rest| throttle.neutral(rest));
    let kept = throttle.verdict.calibration;
    let end = |level: Option<Level>, kept: Option<f32>| {
        kept.map(f64::from).or(level.map(|level| level.us))
    };
    let places = [
        ("low", end(levels.low, kept.map(|kept| kept.low_us))),
        ("neutral", neutral.map(|(us, _)| us)),
        ("high", end(levels.high, kept.map(|kept| kept.high_us))),
    ];
    let named = |(name, us): (&str, Option<f64>)| us.map(|us| (us, format!("{name} {us:.1}")));
    whole.levels = places.into_iter().filter_map(named).collect();
    whole.marks = marks(throttle);
    panels.push(whole);
    if let Some((us, DeadBand { us: band, .. })) = neutral {
        let near = us - 2.0 * band..us + 2.0 * band;
        let apart = |a: &(f64, f64), b: &(f64, f64)| b.0 - a.0 <= 0.25;
        let inside: Vec<(f64, f64)> =
            samples.iter().copied().filter(|point| near.contains(&point.1)).collect();
        // What is left out between two rests is no line, and passing by is no rest.
        let rests = inside.chunk_by(apart).filter(|part| part[part.len() - 1].0 - part[0].0 > 0.25);
        let mut close = Panel::new("the same near neutral, us", rests.map(line).collect(), 1.4);
        close.y = near;
        let edge = |sign: &str, us| (us, format!("dead band {sign}{band}"));
        close.levels = vec![edge("-", us - band), edge("+", us + band)];
        panels.push(close);
    }
    if throttle.frames.is_some() {
        let mut gaps = Panel::new(
            "time since the pulse before, ms",
            vec![line(&waits(&throttle.pulses.samples))],
            1.0,
        );
        gaps.y.start = 0.0;
        panels.push(gaps);
    }
    let (from, to) = throttle.pulses.span_s();
    Sheet {
        title: title.into(),
        subtitle: format!("{} Grey: what a board would ask for.", words::kept(throttle)),
        columns: vec![Column { header: String::new(), panels, bars: Vec::new() }],
        x: from..to.max(from + 1.0e-3),
        x_label: "time, s".into(),
        size: (1_200, 900),
    }
}

/// How pulses at rest scatter, against the dead band.
pub fn at_rest(throttle: &Throttle, rest: &Rest) -> Sheet {
    let (_, DeadBand { us: band, .. }) = throttle.neutral(rest);
    let edge = 1.3 * band;
    // Whole steps of the recording, or some bars would hold one step more than others.
    let step = throttle.levels.resolution_us;
    let wish = edge / 30.0;
    let bar_us = if step > 0.01 { step * libm::ceil(wish / step) } else { wish };
    // An odd number, so that the middle one stands around nothing.
    let bars = 2 * libm::ceil(edge / bar_us) as usize + 1;
    let share = 100.0 / rest.residuals_us.len().max(1) as f64;
    let mut counts = vec![0.0; bars];
    for us in &rest.residuals_us {
        let place = libm::floor(us / bar_us + bars as f64 / 2.0);
        if let Some(count) = counts.get_mut(place.max(-1.0) as usize).filter(|_| place >= 0.0) {
            *count += share;
        }
    }
    let start = -(bars as f64) / 2.0 * bar_us;
    let outline = counts.iter().enumerate().flat_map(|(index, count)| {
        let left = start + index as f64 * bar_us;
        [(left, *count), (left + bar_us, *count)]
    });
    let points = std::iter::once((start, 0.0)).chain(outline).collect();
    let series = Series { name: String::new(), points, colour: colour::BLUE };
    let mut panel = Panel::new("share of the pulses at rest, %", vec![series], 1.0);
    panel.shade = Some((-band..band, format!("dead band: {band} us to either side")));
    Sheet {
        title: format!("At rest 90 % of the pulses lie within {:.1} us", rest.noise_us),
        subtitle: format!(
            "{} pulses in {:.1} s, each against the median of its own rest",
            rest.level.pulses, rest.level.held_s
        ),
        columns: vec![Column { header: String::new(), panels: vec![panel], bars: Vec::new() }],
        x: -edge..edge,
        x_label: "pulse less neutral, us".into(),
        size: (1_200, 480),
    }
}

/// What the board asks for and when. Words that would run into the next mark are left out: the report has
/// them all.
fn marks(throttle: &Throttle) -> Vec<(f64, String)> {
    let (from, to) = throttle.pulses.span_s();
    // The first step is the beginning itself.
    let steps = throttle.board.steps.get(1..).unwrap_or_default();
    let nexts = steps.iter().skip(1).map(|(time, _)| *time).chain([f64::INFINITY]);
    let words = |((time, step), next): (&(f64, CalibrationProgress), f64)| {
        let room = (next - time) / (to - from).max(1.0e-3);
        (*time, if room >= WORDS_SHARE { mark(*step) } else { String::new() })
    };
    steps.iter().zip(nexts).map(words).collect()
}

fn mark(step: CalibrationProgress) -> String {
    match step {
        CalibrationProgress::RestIt => "asks for rest".into(),
        CalibrationProgress::PushFull => "asks for full forward".into(),
        CalibrationProgress::PushFar => "asks for the far end".into(),
        CalibrationProgress::RestAgain => "asks for rest again".into(),
        CalibrationProgress::Accepted(_) => "accepts".into(),
        CalibrationProgress::Refused(_) => "refuses".into(),
    }
}

/// At most two points for each of many stretches, the lowest and the highest, in their order.
fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let length = points.len().div_ceil(STRETCHES).max(1);
    if length < 3 {
        return points.to_vec();
    }
    let ends = points.chunks(length).flat_map(|chunk| {
        let by_height = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
        let (low, high) = (chunk.iter().min_by(by_height), chunk.iter().max_by(by_height));
        let mut pair: Vec<(f64, f64)> = low.into_iter().chain(high).copied().collect();
        pair.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        pair
    });
    ends.collect()
}
