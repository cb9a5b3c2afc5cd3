//! The two trade-offs, each as three runs side by side.

use easeoff_sim::palette::Colour;
use easeoff_sim::run::Row;
use easeoff_sim::score::{
    CREEP, HIDDEN_HEAT, HIDDEN_TORQUE, MASKING, NOTICE_TIME, RUN_ON, SPEED_DROP, STOP_JERK,
    ScoreRow, Value, smooth_acceleration,
};
use easeoff_sim::study::compare::Variant;
use easeoff_sim::study::words::part;

use crate::draw::chart::{Bar, Column, Panel, Sheet, colour, share_axes};
use crate::draw::run::line;

/// Letting go: speed and deceleration over the seconds around it; stop jerk, run-on and creep as bars.
///
/// `creep_slope_deg` is the slope that the creep was measured on.
pub fn let_off_sheet(variants: &[Variant], creep_slope_deg: f64) -> Sheet {
    let creep_label = format!("{} on {creep_slope_deg}\u{b0}", CREEP.meaning.name);
    let (from, to) = (-0.25, 1.75);
    let mut columns: Vec<Column> = variants
        .iter()
        .map(|variant| {
            let rows = &variant.run.rows;
            let start = variant.scores.let_off.map_or(0.0, |found| rows[found.start].time_s);
            let since = move |row: &Row| row.time_s - start;
            let smooth = smooth_acceleration(&variant.run);
            let mut speed = Panel::within(
                "speed over ground, m/s",
                vec![line(rows, "", colour::BLUE, |_, row| row.speed_m_s(), since)],
                1.0,
                &(from..to),
            );
            let mut deceleration = Panel::within(
                "deceleration, m/s\u{b2}",
                vec![line(rows, "", colour::VERMILION, |index, _| -smooth[index], since)],
                1.0,
                &(from..to),
            );
            for panel in [&mut speed, &mut deceleration] {
                panel.marks = vec![(0.0, "lets go".into())];
                if let Some(stop) = variant.scores.let_off.and_then(|found| found.stop) {
                    panel.marks.push((since(&rows[stop]), "stops".into()));
                }
            }
            Column {
                header: variant.name.clone(),
                panels: vec![speed, deceleration],
                bars: Vec::new(),
            }
        })
        .collect();
    share_axes(&mut columns);
    let bars = [
        (&STOP_JERK, STOP_JERK.meaning.name, colour::VERMILION),
        (&RUN_ON, RUN_ON.meaning.name, colour::BLUE),
        (&CREEP, creep_label.as_str(), colour::GREY),
    ];
    add_bars(&mut columns, variants, &bars);
    Sheet {
        title: "Easing off: a softer brake jerks less, but runs on farther".into(),
        subtitle:
            "the same rig let go at the same speed downhill; only the drag brake's onset time \
                   differs; a shorted motor creeps whatever the onset"
                .into(),
        columns,
        x: from..to,
        x_label: "seconds since letting go".into(),
        size: (1_200, 720),
    }
}

/// The snag: what the driver sees over what the parts feel; what stays hidden is shaded.
pub fn snag_sheet(variants: &[Variant]) -> Sheet {
    let start_of = |variant: &Variant| {
        variant.scores.load.map_or(0.0, |found| variant.run.rows[found.start].time_s)
    };
    let from = -0.75;
    let last = variants.iter().filter_map(|v| Some(v.run.rows.last()?.time_s - start_of(v)));
    let to = last.fold(from + 1.0, f64::max);
    let mut columns: Vec<Column> = variants
        .iter()
        .map(|variant| {
            let rows = &variant.run.rows;
            let start = start_of(variant);
            let since = move |row: &Row| row.time_s - start;
            let noticed = variant.scores.load.and_then(|found| found.noticed);
            // Until the wheels stand; then the wound-up bramble turns them back, which is another story.
            let stand = noticed.and_then(|noticed| {
                let slow = rows[noticed..].iter().position(|row| row.wheel_speed_m_s() <= 0.0);
                slow.map(|after| noticed + after)
            });
            let rows = &rows[..stand.unwrap_or(rows.len())];
            let hidden_to = noticed.map_or(to, |index| since(&rows[index]));
            let words = if noticed.is_some() { "unnoticed" } else { "never noticed" };
            let mut seen = Panel::within(
                "what the driver sees: wheel speed, m/s",
                vec![line(rows, "", colour::BLUE, |_, row| row.wheel_speed_m_s(), since)],
                1.0,
                &(from..to),
            );
            let mut felt = Panel::within(
                "what the parts feel: torque in the drive line, N\u{b7}m; rating of the weakest part",
                vec![line(rows, "", colour::VERMILION, |_, row| row.flows.shaft_n_m, since)],
                1.3,
                &(from..to),
            );
            let rating = variant.scenario.rig.gears.rating_n_m;
            felt.levels = vec![(rating, "rating".into())];
            felt.y.end = felt.y.end.max(rating * 1.5);
            seen.y.end *= 1.15;
            felt.shade = Some((0.0..hidden_to, words.into()));
            seen.shade = Some((0.0..hidden_to, String::new()));
            for panel in [&mut seen, &mut felt] {
                panel.marks = vec![(0.0, String::new())];
            }
            if noticed.is_some() {
                seen.marks.push((hidden_to, "driver notices".into()));
                felt.marks.push((hidden_to, String::new()));
            }
            let header = format!("{}\n{}", variant.name, part(variant));
            Column { header, panels: vec![seen, felt], bars: Vec::new() }
        })
        .collect();
    share_axes(&mut columns);
    let bars = [
        (&SPEED_DROP, colour::BLUE),
        (&MASKING, colour::ORANGE),
        (&NOTICE_TIME, colour::GREY),
        (&HIDDEN_TORQUE, colour::VERMILION),
        (&HIDDEN_HEAT, colour::VERMILION),
    ];
    let bars = bars.map(|(score, colour)| (score, score.meaning.name, colour));
    add_bars(&mut columns, variants, &bars);
    Sheet {
        title: "Hidden bogging: the better the loop holds speed, the less the driver sees".into(),
        subtitle:
            "the same bramble round an axle; the driver eases off once it shows. Masking: the part of the speed drop \
                   that the hold hides"
                .into(),
        columns,
        x: from..to,
        x_label: "seconds since the snag caught".into(),
        size: (1_200, 850),
    }
}

/// Bars share their scale across the columns: the longest is the largest value there is.
fn add_bars(columns: &mut [Column], variants: &[Variant], bars: &[(&ScoreRow, &str, Colour)]) {
    for (score, label, colour) in bars {
        let value = |variant: &Variant| variant.scores.value(score);
        let largest = variants.iter().filter_map(|v| value(v).number()).fold(0.0, f64::max);
        for (column, variant) in columns.iter_mut().zip(variants) {
            let share = match value(variant) {
                Value::Is(number) if largest > 0.0 => number.max(0.0) / largest,
                Value::Never => 1.0,
                _ => 0.0,
            };
            column.bars.push(Bar {
                label: (*label).into(),
                text: if score.meaning.unit == "-" {
                    value(variant).number().map_or("-".into(), |n| format!("{:.0} %", n * 100.0))
                } else {
                    variant.scores.amount(score)
                },
                share,
                colour: *colour,
            });
        }
    }
}
