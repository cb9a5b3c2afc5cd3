//! Droop, authority and giving way: how much of a load each lets a driver see.

use easeoff::draw::chart::{Panel, Series, colour};
use easeoff_core::{GiveWaySettings, HoldSettings, Input, Settings, Speed};
use easeoff_sim::digits::digits;
use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::{DEFAULT_STEP_S, Method, simulate};
use easeoff_sim::score::episode::WEBER;
use easeoff_sim::score::{HIDDEN_TORQUE, MASKING, NOTICE_TIME, SPEED_DROP, ScoreRow, Scores};
use easeoff_sim::study::measured::Measuring;

use super::published::{Held, alongside};
use super::{Made, cell, slide, table};
use crate::stages::Failure;
use crate::stages::bench::{feed, panel, throttle};

const TAKEN: [&ScoreRow; 4] = [&SPEED_DROP, &MASKING, &NOTICE_TIME, &HIDDEN_TORQUE];
const SLOPE_DEG: f64 = 12.0;

/// The snag demo under holds of every authority.
pub(crate) fn droop() -> Result<Made, Failure> {
    let snag = demo::scenario("snag").ok_or("the demo snag is broken")?;
    let bounded = snag.tune.hold.ok_or("the demo snag holds no speed")?;
    let give_way = Some(GiveWaySettings { share: 0.5, after_ms: 500.0, release_ms: 300.0 });
    let kinds = [
        ("droop 0", 0.0, None, colour::VERMILION),
        ("droop 0.3", 0.3, None, colour::ORANGE),
        ("droop 1", 1.0, None, colour::BLUE),
        ("droop 0, gives way", 0.0, give_way, colour::GREEN),
    ];
    let (mut maskings, mut torques, mut rows) = (Vec::new(), Vec::new(), Vec::new());
    for (name, droop, give_way, colour) in kinds {
        let (mut masking, mut torque) = (Vec::new(), Vec::new());
        for hundredth in 0..=16_u8 {
            let authority = f32::from(hundredth) / 100.0;
            let hold = HoldSettings { authority, droop, give_way, ..bounded };
            let found = under(&snag, (hundredth > 0).then_some(hold))?;
            let number = |score| found.value(score).number().unwrap_or(0.0);
            masking.push((f64::from(authority), 100.0 * number(&MASKING)));
            torque.push((f64::from(authority), number(&HIDDEN_TORQUE)));
            if [5, 10, 16].contains(&hundredth) || (hundredth == 0 && rows.is_empty()) {
                rows.push(row(hundredth, name, &found));
            }
        }
        let line = |points| Series { name: name.into(), points, colour };
        maskings.push(line(masking));
        torques.push(line(torque));
    }
    let label = format!("hidden share of the lost speed ({}), %", MASKING.meaning.name);
    let hidden = panel(&label, maskings, 1.0, -4.0..112.0);
    let mut felt =
        Panel::new("torque in the drive line before the driver notices, N m", torques, 1.2);
    felt.y = 0.0..3.6;
    felt.levels = vec![(snag.rig.gears.rating_n_m, "rating of the weakest part".into())];
    let picture = slide(
        "Authority hides a load; droop and giving way show it again",
        "the snag demo, a run for each point; above the dashed line a part breaks before the driver can know",
        vec![hidden, felt],
        0.0..0.1601,
        "authority: the most duty the hold may add",
    );
    let masking = format!("{}, %", MASKING.meaning.name);
    let heads = [
        "authority",
        "",
        "speed lost, %",
        &masking,
        NOTICE_TIME.meaning.name,
        "torque by then, N m",
    ];
    Ok(Made {
        name: "droop",
        picture,
        tables: vec![
            ("", table(&heads, &rows)),
            ("-published", published()?),
            ("-solution", solution(&snag, bounded)?),
        ],
    })
}

fn under(snag: &Scenario, hold: Option<HoldSettings>) -> Result<Scores, Failure> {
    let mut scenario = snag.clone();
    scenario.tune.hold = hold;
    let run = simulate(&scenario, DEFAULT_STEP_S)?;
    Ok(Measuring::own(Method::on_slope(SLOPE_DEG)).of(&scenario, &run, &TAKEN)?)
}

fn row(hundredth: u8, name: &str, found: &Scores) -> Vec<String> {
    let off = hundredth == 0;
    let percent = |score| cell(found.value(score).number().map(|share| 100.0 * share));
    vec![
        if off { "0".into() } else { format!("{:.2}", f64::from(hundredth) / 100.0) },
        if off { "hold off".into() } else { name.into() },
        percent(&SPEED_DROP),
        percent(&MASKING),
        found.amount(&NOTICE_TIME),
        cell(found.value(&HIDDEN_TORQUE).number()),
    ]
}

/// The worked examples of a governor's droop, through the core itself: full speed stands for the grid's
/// 60 Hz, duty for the share of the generator's power.
fn published() -> Result<String, Failure> {
    let power_mw = |rated_mw: f64, before_mw: f64| -> Result<f64, Failure> {
        let mut settings = Settings {
            hold: Some(HoldSettings {
                full_speed_rad_s: 60.0,
                feed_forward: (before_mw / rated_mw) as f32,
                droop: 0.06,
                ..HoldSettings::default()
            }),
            ..Settings::default()
        };
        settings.pulse.jump_us = 2_000.0;
        let ticks = feed(&settings, 30.0, |_| Input {
            pulse: throttle(1.0),
            speed: Speed::new(60.3),
            ..Input::default()
        })?;
        let last = ticks.last().ok_or("nothing was stepped")?;
        Ok(rated_mw * f64::from(last.output.command.duty().to_f32()))
    };
    let held = |rated_mw, before_mw, published| -> Result<Held, Failure> {
        Ok(Held {
            what: format!(
                "{rated_mw} MW at 60 Hz, droop 6 %, gives {before_mw} MW; at 60.3 Hz it gives, MW"
            ),
            published,
            ours: power_mw(rated_mw, before_mw)?,
            within: 0.05,
            source: "dkr.kr/Brain/droop.html, read",
        })
    };
    alongside(&[held(180.0, 180.0, "165")?, held(240.0, 180.0, "160")?])
}

/// Which droop lets the snag take as much speed as an eye sees, by the steady state; and which lets the driver act
/// before the part breaks, by runs.
fn solution(snag: &Scenario, bounded: HoldSettings) -> Result<String, Failure> {
    let free = HoldSettings { authority: 1.0, ..bounded };
    let mut scenario = snag.clone();
    scenario.tune.hold = Some(free);
    let rows = simulate(&scenario, DEFAULT_STEP_S)?.rows;
    let trace = rows.last().and_then(|row| row.trace).ok_or("nothing was run")?;
    let (demand, added) = (f64::from(trace.slewed.to_f32()), f64::from(trace.added.to_f32()));
    let least = WEBER * demand / (added - WEBER * demand);
    let with = |droop: f64| under(snag, Some(HoldSettings { droop: droop as f32, ..free }));
    let number = |found: &Scores, score| found.value(score).number().ok_or("there is no snag");
    let seen = with(least)?;
    let (drop, torque) = (number(&seen, &SPEED_DROP)?, number(&seen, &HIDDEN_TORQUE)?);
    if (drop - WEBER).abs() > 0.01 {
        return Err(format!("a droop of {least} gives a speed drop of {drop}, not {WEBER}").into());
    }
    let (mut little, mut enough) = (least, 1.0);
    for _ in 0..7 {
        let middle = (little + enough) / 2.0;
        let spares = number(&with(middle)?, &HIDDEN_TORQUE)? <= snag.rig.gears.rating_n_m;
        *(if spares { &mut enough } else { &mut little }) = middle;
    }
    let rows = [
        ("demand", digits(demand)),
        ("duty added with droop 0", digits(added)),
        ("droop for 7 % by the sum", digits(least)),
        ("speed lost with it, by a run, %", digits(100.0 * drop)),
        ("torque before the driver notices, N m", digits(torque)),
        ("droop at which that is the rating, by runs", digits(enough)),
    ];
    let rows = rows.map(|(what, value)| vec![what.to_owned(), value]);
    Ok(table(&["full authority, the snag demo", ""], &rows))
}
