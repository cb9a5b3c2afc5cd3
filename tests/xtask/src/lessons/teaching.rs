//! What the lab sheet of the teaching kit should give: the same runs as its commands, by the same files.

use easeoff::draw::chart::{Panel, Series, colour};
use easeoff_core::DragLaw;
use easeoff_sim::files::demo;
use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::controller::Own;
use easeoff_sim::run::{DEFAULT_STEP_S, Method, Row, simulate};
use easeoff_sim::score::{
    CREEP, HIDDEN_HEAT, HIDDEN_TORQUE, LURCH, MASKING, NOTICE_TIME, PEAK_DECELERATION, RUN_ON,
    SPEED_DROP, STOP_JERK, STOP_JOLT, STOP_TIME, ScoreRow, Scores, UTILISATION,
};
use easeoff_sim::study::compare::{hold_kinds, onset_times, variants};
use easeoff_sim::study::measured::Measuring;
use easeoff_sim::study::trials::verdict::{Remark, remarks};
use easeoff_sim::study::trials::{Subject, all};

use super::letting_go::side_by_side;
use super::{Made, cell, slide, table};
use crate::stages::Failure;

const SLOPE_DEG: f64 = 12.0;
/// Where the lab's first table is read \[m\]: on the level, up the bank, down again.
const PLACES_M: [(f64, &str); 3] = [(2.0, "level"), (3.8, "up the bank"), (7.5, "down again")];
/// The gears behind the spur gear in the lab's first part.
const INTERNAL_RATIO: f64 = 3.0;
/// The hold's full speed then \[rad/s\], and the driver.
const FULL_SPEED_RAD_S: f32 = 170.0;
const THROTTLE: [[f64; 2]; 3] = [[0.0, 0.0], [0.8, 0.0], [1.2, 0.4]];
/// The longest run-on of the lab's task \[m\].
const RUN_ON_M: f64 = 0.6;

/// The marking guide's values and picture.
pub(crate) fn teaching() -> Result<Made, Failure> {
    let of = |name: &str| demo::scenario(name).ok_or(format!("the demo {name} is broken"));
    let let_off = of("let-off")?;
    let (mut jerks, mut ways) = (Vec::new(), Vec::new());
    let mut solution: Vec<Vec<String>> = Vec::new();
    let shown = [&STOP_JERK, &LURCH, &STOP_JOLT, &RUN_ON];
    let laws = [
        (let_off.tune.drag.law, "law current", colour::BLUE),
        (DragLaw::Duty, "law duty", colour::VERMILION),
    ];
    for (law, name, colour) in laws {
        let (mut jerk, mut way) = (Vec::new(), Vec::new());
        for step in 0..=9_u8 {
            let onset_ms = 100.0 * f32::from(step);
            let mut scenario = let_off.clone();
            (scenario.tune.drag.law, scenario.tune.drag.onset_ms) = (law, onset_ms);
            let found = measured(&scenario, &shown)?;
            let numbers = shown.map(|score| found.value(score).number());
            let [hardest, .., on] = numbers;
            jerk.push((f64::from(onset_ms), hardest.ok_or("it is not let off")?));
            way.push((f64::from(onset_ms), on.ok_or("it does not stop")?));
            if law != DragLaw::Duty {
                solution.push(
                    std::iter::once(format!("{onset_ms}")).chain(numbers.map(cell)).collect(),
                );
            }
        }
        jerks.push(Series { name: name.into(), points: jerk, colour });
        ways.push(Series { name: String::new(), points: way, colour });
    }
    let mut way = Panel::new(&format!("{}; dashed: the task's longest", on(&RUN_ON)), ways, 1.0);
    // Words at the line would lie across a curve.
    way.levels = vec![(RUN_ON_M, String::new())];
    let picture = slide(
        "A longer onset jerks less and runs on farther; by brake duty it helps less",
        "let-off demo, 12 degrees down; what the class's points of part 2 should look like",
        vec![Panel::new(&on(&STOP_JERK), jerks, 1.0), way],
        0.0..901.0,
        "onset, ms",
    );
    let eased = variants(onset_times(&let_off), Method::on_slope(SLOPE_DEG))?;
    let held = variants(hold_kinds(&of("snag")?), Method::on_slope(SLOPE_DEG))?;
    let easing = [&STOP_JERK, &LURCH, &STOP_JOLT, &PEAK_DECELERATION, &RUN_ON, &STOP_TIME, &CREEP];
    let bogging = [&SPEED_DROP, &MASKING, &NOTICE_TIME, &HIDDEN_TORQUE, &HIDDEN_HEAT, &UTILISATION];
    let [a, b, c, d] = shown.map(on);
    let heads = ["onset, ms".into(), a, b, c, d];
    Ok(Made {
        name: "teaching",
        picture,
        tables: vec![
            ("-duty", duty(&of("garden")?)?),
            ("-easing", side_by_side(&eased, &easing)),
            ("-onsets", table(&heads.each_ref().map(String::as_str), &solution)),
            ("-bogging", side_by_side(&held, &bogging)),
            ("-remarks", said(&of("garden")?)?),
        ],
    })
}

/// A score with its unit, as over a table.
fn on(score: &ScoreRow) -> String {
    format!("{}, {}", score.meaning.name, score.meaning.unit)
}

/// Some scores of a run by easeoff's own controller.
pub(crate) fn measured(
    scenario: &Scenario,
    wanted: &[&'static ScoreRow],
) -> Result<Scores, Failure> {
    let run = simulate(scenario, DEFAULT_STEP_S)?;
    Ok(Measuring::own(Method::on_slope(SLOPE_DEG)).of(scenario, &run, wanted)?)
}

/// What the trials remark on the demo rig and its tune.
fn said(garden: &Scenario) -> Result<String, Failure> {
    let subject = Subject {
        rig: garden.rig.clone(),
        tune: garden.tune,
        method: Method::on_slope(SLOPE_DEG),
        make: &Own::make,
    };
    let mut said: Vec<(&str, Remark)> = Vec::new();
    for done in all(&[subject])? {
        let remarked = done.tried.iter().flat_map(remarks);
        said.extend(remarked.map(|remark| (done.trial.name, remark)));
    }
    said.sort_by_key(|(_, remark)| remark.severity);
    let row = |(trial, remark): (&str, Remark)| {
        vec![trial.to_owned(), remark.severity.name().into(), remark.says, remark.remedy.into()]
    };
    let rows: Vec<Vec<String>> = said.into_iter().map(row).collect();
    Ok(table(&["trial", "", "", "to try"], &rows))
}

/// Duty and speed at three places of the garden, geared for speed, without and with the hold.
fn duty(garden: &Scenario) -> Result<String, Failure> {
    let mut open = garden.clone();
    open.rig.gears.internal_ratio = INTERNAL_RATIO;
    open.driver.motion = Motion::ByTime(THROTTLE.into());
    let hold = open.tune.hold.as_mut().ok_or("the garden holds no speed")?;
    hold.full_speed_rad_s = FULL_SPEED_RAD_S;
    let held = open.clone();
    open.tune.hold = None;
    let runs = [simulate(&open, DEFAULT_STEP_S)?.rows, simulate(&held, DEFAULT_STEP_S)?.rows];
    let rows: Vec<Vec<String>> = PLACES_M
        .iter()
        .map(|(place_m, words)| {
            let cells = runs.iter().flat_map(|rows| {
                let row = rows.iter().find(|row| row.plant.now.place_m >= *place_m);
                let duty = row.map(|row| f64::from(row.command.duty().to_f32()));
                [cell(duty), cell(row.map(Row::speed_m_s))]
            });
            std::iter::once(format!("{place_m} m, {words}")).chain(cells).collect()
        })
        .collect();
    let heads = ["", "hold off: duty", "speed, m/s", "hold on: duty", "speed, m/s"];
    Ok(table(&heads, &rows))
}
