//! Jerk and load transfer.

use easeoff::draw::chart::{Panel, colour};
use easeoff::draw::run::line;
use easeoff_plant::{GRAVITY, level_loads_n};
use easeoff_sim::digits::digits;
use easeoff_sim::run::Method;
use easeoff_sim::score::{LURCH, STOP_JERK, STOP_JOLT, smooth_acceleration};
use easeoff_sim::study::compare::variants;

use super::letting_go::let_go;
use super::{Made, cell, slide, table};
use crate::stages::Failure;
use crate::stages::ride::since;

const ONSETS: [(f32, colour::Colour); 3] =
    [(0.0, colour::VERMILION), (330.0, colour::BLUE), (900.0, colour::GREEN)];

/// Three onsets: how the deceleration grows, and what the rear axle feels.
pub(crate) fn load_transfer() -> Result<Made, Failure> {
    let scenarios = ONSETS.map(|(onset_ms, _)| {
        let scenario = let_go(|drag| drag.onset_ms = onset_ms)?;
        Ok((format!("onset {onset_ms} ms"), scenario))
    });
    let scenarios = scenarios.into_iter().collect::<Result<Vec<_>, Failure>>()?;
    let runs = variants(scenarios, Method::default())?;
    let rig = &runs[0].scenario.rig;
    let [_, rear_n] = level_loads_n(&rig.vehicle);
    let (mut slowing, mut loads, mut rows) = (Vec::new(), Vec::new(), Vec::new());
    for (run, (_, colour)) in runs.iter().zip(ONSETS) {
        let smooth = smooth_acceleration(&run.run);
        let ticks = &run.run.rows;
        slowing.push(line(ticks, &run.name, colour, |at, _| smooth[at], |row| row.time_s - 3.0));
        loads.push(since(&run.run.rows, 3.0, "", colour, move |row| {
            100.0 * row.flows.rear_n / rear_n
        }));
        // Without the filter, as the axle feels it.
        let after = run.run.rows.iter().filter(|row| row.time_s > 3.0);
        let hardest = after.min_by(|a, b| a.flows.rear_n.total_cmp(&b.flows.rear_n));
        let slows = hardest.map(|row| -row.acceleration());
        let by_sum = slows.map(|slows| transfer_n(rig, slows));
        let in_run = hardest.map(|row| rear_n - row.flows.rear_n);
        rows.push(vec![
            run.name.clone(),
            run.scores.amount(&STOP_JERK),
            run.scores.amount(&LURCH),
            run.scores.amount(&STOP_JOLT),
            format!("{} m/s\u{b2}", cell(slows)),
            cell(by_sum),
            cell(in_run),
        ]);
    }
    let x = -0.1..1.4;
    let picture = slide(
        "What a head feels is the change of the deceleration: jerk",
        "demo rig on the level, let go at 0 s; the rear axle carries less while it slows down",
        vec![
            Panel::within("acceleration, m/s\u{b2}, low-pass filtered at 10 Hz", slowing, 1.0, &x),
            Panel::within("load on the rear axle, % of that at rest", loads, 1.0, &x),
        ],
        x,
        "seconds since letting go",
    );
    let [whole, lurch, jolt] = [&STOP_JERK, &LURCH, &STOP_JOLT].map(|score| score.meaning.name);
    let heads = [
        "",
        whole,
        lurch,
        jolt,
        "largest deceleration",
        "rear axle loses by the sum, N",
        "in the run, N",
    ];
    // The rear wheels lift where the transfer is all they carry: h = g b / a.
    let ahead_m = rig.vehicle.wheelbase_m - rig.vehicle.cg_ahead_of_rear_m;
    let lifts = [3.0, 5.0, 7.5].map(|slows| {
        vec![format!("{slows} m/s\u{b2}"), digits(GRAVITY * ahead_m / slows * 1_000.0)]
    });
    Ok(Made {
        name: "jerk",
        picture,
        tables: vec![
            ("", table(&heads, &rows)),
            (
                "-solution",
                table(&["deceleration", "rear wheels lift with the weight this high, mm"], &lifts),
            ),
        ],
    })
}

/// `m a h / L` \[N\].
fn transfer_n(rig: &easeoff_plant::rig::Rig, slows_m_s2: f64) -> f64 {
    let vehicle = &rig.vehicle;
    vehicle.mass_kg * slows_m_s2 * vehicle.cg_height_m / vehicle.wheelbase_m
}
