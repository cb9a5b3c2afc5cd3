//! Sag and cut-off: what a load does to the voltage, and what a cut-off makes of it.

use easeoff::draw::chart::{Panel, Series, colour};
use easeoff_core::{PackRecovery, Settings};
use easeoff_plant::parts::pack::Pack;
use easeoff_plant::rig::Rig;
use easeoff_sim::files::demo;
use easeoff_sim::run::controller::Own;
use easeoff_sim::run::{Method, Row};
use easeoff_sim::study::trials::lasting::{LEAST_CELL_V, LEAST_CELL_VOLTAGE, WAY_KEPT};
use easeoff_sim::study::trials::{Subject, Tried, lasting};

use super::published::{Held, alongside};
use super::{Made, cell, slide, table};
use crate::stages::Failure;
use crate::stages::bench::panel;
use crate::stages::ride::since;

/// Charge left in the pack that is driven; the trial doubles its resistance.
const CHARGE: f64 = 0.03;
/// Geared for speed it pulls hard.
const PINION_TEETH: u32 = 26;
const SLOPE_DEG: f64 = 20.0;
/// Volts per cell at which the cut-off without play begins and ends.
const CUT_V: [f32; 2] = [3.2, 3.15];
/// The stretch of the trial that is drawn \[s\].
const SHOWN_S: [f64; 2] = [0.8, 2.8];

/// A tired pack, spared in two ways.
pub(crate) fn sag() -> Result<Made, Failure> {
    let demo = demo::scenario("garden").ok_or("the demo garden is broken")?;
    let mut fades = Subject {
        rig: demo.rig.clone(),
        tune: demo.tune,
        method: Method::on_slope(SLOPE_DEG),
        make: &Own::make,
    };
    fades.rig.pack.charge = CHARGE;
    fades.rig.gears.pinion_teeth = PINION_TEETH;
    let mut cuts = fades.clone();
    let limits = &mut cuts.tune.limits;
    [limits.derate_from_v, limits.derate_to_v] = CUT_V;
    limits.recover_v = 0.0;
    limits.pack_recovery = PackRecovery::ByVoltage;
    let kinds = [("cut off, no play", &cuts, colour::VERMILION), ("faded", &fades, colour::BLUE)];
    let (mut volts, mut amps, mut speeds) = (Vec::new(), Vec::new(), Vec::new());
    let mut chatter = Vec::new();
    let cells = f64::from(demo.rig.pack.cells);
    for (name, subject, colour) in kinds {
        let tried = (lasting::PACK.run)(subject)?;
        let rows = &tried.run.rows;
        chatter.push(chattering(name, &tried));
        // Only these, so that every tick is drawn.
        let drawn = rows.iter().filter(|row| (SHOWN_S[0]..SHOWN_S[1]).contains(&row.time_s));
        let drawn: Vec<Row> = drawn.copied().collect();
        let line = |value: &dyn Fn(&Row) -> f64| since(&drawn, 0.0, name, colour, value);
        volts.push(line(&|row| row.flows.bus_v / cells));
        amps.push(line(&|row| row.plant.mean_a()));
        speeds.push(line(&Row::speed_m_s));
    }
    let unnamed = |lines: Vec<Series>| -> Vec<Series> {
        lines.into_iter().map(|line| Series { name: String::new(), ..line }).collect()
    };
    let mut cell_v = panel("volts per cell at the bridge", volts, 1.0, 2.9..3.6);
    cell_v.levels = vec![(LEAST_CELL_V, "cells suffer below".into())];
    let picture = slide(
        "A cut-off without play chatters; a fade settles on what the pack can give",
        "trial of a tired pack, demo rig with 26 teeth up 20 degrees; each cut lets the voltage rise, which undoes it",
        vec![
            cell_v,
            Panel::new("motor current, A", unnamed(amps), 1.3),
            Panel::new("speed over ground, m/s", unnamed(speeds), 0.9),
        ],
        SHOWN_S[0]..SHOWN_S[1],
        "time, s",
    );
    let rig = &demo.rig;
    Ok(Made {
        name: "sag",
        picture,
        tables: vec![
            ("", sags(rig)),
            (
                "-chatter",
                table(&["", "times the fade turned", "least V per cell", WAY_KEPT.name], &chatter),
            ),
            ("-published", published(rig)?),
            ("-solution", solution(rig, &fades.tune)),
        ],
    })
}

/// How often the limit turned from taking to giving back, and what the pack and the rig had of it.
fn chattering(name: &str, tried: &Tried) -> Vec<String> {
    let factor = |row: &Row| row.trace.map(|trace| trace.limits.pack);
    let turned =
        tried.run.rows.windows(3).filter(|rows| {
            factor(&rows[1]) < factor(&rows[0]) && factor(&rows[2]) > factor(&rows[1])
        });
    let score = |meaning| tried.score(meaning).and_then(|score| score.value.number());
    vec![
        name.into(),
        format!("{}", turned.count()),
        cell(score(&LEAST_CELL_VOLTAGE)),
        cell(score(&WAY_KEPT)),
    ]
}

/// Volts per cell under a lasting or sudden current.
fn under_v(rig: &Rig, charge: f64, amps: f64, lasting: bool) -> f64 {
    let pack = Pack::new(&rig.pack);
    let delayed_v = if lasting { pack.steady_delayed_v(amps) } else { 0.0 };
    let bus_v = pack.open_v(charge, delayed_v) - amps * pack.resistance_ohm;
    bus_v / f64::from(rig.pack.cells)
}

fn sags(rig: &Rig) -> String {
    let rows: Vec<Vec<String>> = [0.9, 0.5, 0.2, 0.1, 0.05]
        .iter()
        .map(|&charge| {
            let asked = [(0.0, false), (10.0, true), (25.0, false), (25.0, true), (40.0, true)];
            let volts =
                asked.map(|(amps, lasting)| cell(Some(under_v(rig, charge, amps, lasting))));
            [vec![format!("{charge}")], volts.to_vec()].concat()
        })
        .collect();
    let heads =
        ["charge", "at rest", "10 A lasting", "25 A at once", "25 A lasting", "40 A lasting"];
    table(&heads, &rows)
}

/// The published cell's curve, as the pack gives it at rest.
fn published(rig: &Rig) -> Result<String, Failure> {
    let ai = [("0", "3.0"), ("0.05", "3.5421"), ("0.2", "3.6954"), ("0.5", "3.7925"), ("1", "4.2")];
    let held = ai.map(|(charge, published)| Held {
        what: format!("charge {charge}, V per cell"),
        published,
        ours: under_v(rig, charge.parse().unwrap_or(f64::NAN), 0.0, false),
        within: 0.5e-3,
        source: "Ai et al. 2020, PyBaMM's Ai2020, read",
    });
    alongside(&held)
}

/// The charge at which each current brings the fade.
fn solution(rig: &Rig, tune: &Settings) -> String {
    let from_v = f64::from(tune.limits.derate_from_v);
    let begins = |amps: f64| {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..30 {
            let middle = (low + high) / 2.0;
            let fades = under_v(rig, middle, amps, true) < from_v;
            *(if fades { &mut low } else { &mut high }) = middle;
        }
        high
    };
    let rows =
        [0.0, 10.0, 25.0, 40.0].map(|amps| vec![format!("{amps}"), cell(Some(begins(amps)))]);
    table(&["lasting current, A", "charge at which the fade begins"], &rows)
}
