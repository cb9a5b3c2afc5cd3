//! Stop jerk against run-on without and with a soft end: the fronts of many tunes, and the bound of a rigid rig.

use easeoff::draw::chart::{Column, Panel, Series, Sheet, colour};
use easeoff_core::DragLaw;
use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::palette::Colour;
use easeoff_sim::run::Method;
use easeoff_sim::score::{LURCH, PEAK_DECELERATION, RUN_ON, SLIP, STOP_JERK, STOP_JOLT, Scores};
use easeoff_sim::study::compare::variants;
use easeoff_sim::study::sweep::front;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::lessons::{measured, side_by_side};
use crate::stages::Failure;

const TUNES: usize = 60;
const SEED: u64 = 7;
/// What is drawn evenly: onset \[ms\], braking current at full strength \[A\], wheel speed \[rad/s\].
const ONSET_MS: [f32; 2] = [0.0, 900.0];
const FULL_A: [f32; 2] = [3.0, 14.0];
const SOFT_BELOW_RAD_S: [f32; 2] = [5.0, 60.0];
/// What is in sight: run-on \[m\], stop jerk \[m/s^3\].
const RUN_ON_M: [f64; 2] = [0.25, 0.8];
const JERK: f64 = 140.0;

/// Half a dot's width and height, in units of the axes.
const DOT: [f64; 2] = [0.001_6, 0.8];

/// The picture.
pub(crate) fn sheet() -> Result<Sheet, Failure> {
    let demo = demo::scenario("let-off").ok_or("the demo let-off is broken")?;
    let mut draws = ChaCha8Rng::seed_from_u64(SEED);
    let mut drawn = |[from, to]: [f32; 2]| {
        let share = (draws.next_u32() >> 8) as f32 / (1 << 24) as f32;
        from + (to - from) * share
    };
    let [mut without, mut with] = [Vec::new(), Vec::new()];
    for _ in 0..TUNES {
        let mut tried = demo.clone();
        let drag = &mut tried.tune.drag;
        drag.onset_ms = drawn(ONSET_MS);
        drag.law = DragLaw::Current { full_a: drawn(FULL_A) };
        drag.soft_below_rad_s = drawn(SOFT_BELOW_RAD_S);
        with.push(stop(&tried)?);
        tried.tune.drag.soft_below_rad_s = 0.0;
        without.push(stop(&tried)?);
    }
    let own = variants(vec![(String::new(), demo)], Method::default())?.remove(0);
    let let_off = own.scores.let_off.ok_or("the demo let-off is not let off")?;
    let mut series = vec![bound(own.run.rows[let_off.start].speed_m_s())];
    for (points, name, colour) in
        [(&without, "no soft end", colour::VERMILION), (&with, "soft end", colour::BLUE)]
    {
        series.extend(points.iter().map(|point| dot(*point, 1.0, "", colour)));
        series.push(steps(points, name, colour));
    }
    series.push(dot(point(&own.scores), 3.0, "the demo's tune", colour::INK));
    let mut panel = Panel::new(&STOP_JERK.meaning.label(), series, 1.0);
    panel.y = 0.0..JERK;
    Ok(Sheet {
        title: "A soft end stops as short with much less jerk".into(),
        subtitle: format!(
            "let-off demo, {TUNES} tunes drawn at random, each without and with a soft end; lines: the best of each"
        ),
        columns: vec![Column { header: String::new(), panels: vec![panel], bars: Vec::new() }],
        x: RUN_ON_M[0]..RUN_ON_M[1],
        x_label: RUN_ON.meaning.label(),
        size: (1_160, 620),
    })
}

/// The let-off demo by where its soft end begins.
pub(crate) fn soft_ends() -> Result<String, Failure> {
    let demo = demo::scenario("let-off").ok_or("the demo let-off is broken")?;
    let scenarios = [0.0, 20.0, 40.0, 60.0].map(|below| {
        let mut tried = demo.clone();
        tried.tune.drag.soft_below_rad_s = below;
        (format!("`soft_below_rad_s` {below}"), tried)
    });
    let runs = variants(scenarios.into(), Method::default())?;
    Ok(side_by_side(&runs, &[&STOP_JERK, &LURCH, &STOP_JOLT, &PEAK_DECELERATION, &SLIP, &RUN_ON]))
}

/// Run-on and stop jerk of a tune; infinite where it does not stop.
fn stop(scenario: &Scenario) -> Result<[f64; 2], Failure> {
    Ok(point(&measured(scenario, &[&RUN_ON, &STOP_JERK])?))
}

fn point(scores: &Scores) -> [f64; 2] {
    [&RUN_ON, &STOP_JERK].map(|score| scores.value(score).number().unwrap_or(f64::INFINITY))
}

/// A dot that a panel of lines can draw.
fn dot([x, y]: [f64; 2], size: f64, name: &str, colour: Colour) -> Series {
    let [wide, high] = DOT.map(|half| size * half);
    let points = vec![(x - wide, y), (x, y + high), (x + wide, y), (x, y - high), (x - wide, y)];
    Series { name: name.into(), points, colour }
}

/// The front as steps: nobody has tried what lies beyond the corners.
fn steps(points: &[[f64; 2]], name: &str, colour: Colour) -> Series {
    let best: Vec<(f64, f64)> =
        front(points).into_iter().map(|index| (points[index][0], points[index][1])).collect();
    let corners = best.windows(2).flat_map(|pair| [pair[0], (pair[1].0, pair[0].1)]);
    let points = corners.chain(best.last().copied()).collect();
    Series { name: name.into(), points, colour }
}

/// `J = v0^3 / d^2`: a rigid rig whose deceleration rises for half of the stop and falls for the other half, both at
/// the jerk J, stops from v0 in `d = v0 t / 2` with `v0 = J t^2 / 4`. No stop in this distance has a smaller largest
/// jerk. Source: algebra.
fn bound(speed_m_s: f64) -> Series {
    let [from, to] = RUN_ON_M;
    let points = (0..=100_u8)
        .map(|step| from + (to - from) * f64::from(step) / 100.0)
        .map(|way_m| (way_m, speed_m_s * speed_m_s * speed_m_s / (way_m * way_m)));
    Series {
        name: "rigid rig, v\u{2080}\u{b3}/d\u{b2}".into(),
        points: points.collect(),
        colour: colour::GREY,
    }
}
