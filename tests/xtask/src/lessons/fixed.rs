//! Fixed point: what a step of it is worth, what happens at its end, and why a sum needs more of it.

use easeoff::draw::chart::{Series, colour};
use easeoff_core::{Demand, Duty, HoldSettings, Input, Settings, Speed};
use easeoff_plant::parts::pack::Pack;
use easeoff_sim::digits::digits;
use easeoff_sim::files::demo;

use super::{Made, slide, table};
use crate::stages::Failure;
use crate::stages::bench::{Tick, feed, panel, throttle};

/// The loop's error in the picture, as a part of full speed, and its gain \[1/s\].
const ERROR: f64 = 1.0 / 1_024.0;
const GAIN_PER_S: f32 = 6.0;
const SECONDS: f64 = 6.0;

/// Sums at the end of a format, and sums of what is too small for it.
pub(crate) fn fixed_point() -> Result<Made, Failure> {
    let picture = slide(
        "At its end a number must stop, not turn round; and a sum needs more bits than its parts",
        "above: throttle 0.9 and ever more added, 16 bits; below: a hold's integral of an error of 1/1024 of full speed",
        vec![ends(), integral()?],
        0.0..SECONDS,
        "time, s",
    );
    Ok(Made {
        name: "fixed-point",
        picture,
        tables: vec![("", formats()?), ("-one", one()?), ("-solution", solution())],
    })
}

/// A value in I1F15: one bit for the sign, 15 for the fraction.
fn i1f15(value: f64) -> i16 {
    // `as` ends at the type's ends; what is asked for is below them.
    (value * 32_768.0).round() as i16
}

fn ends() -> easeoff::draw::chart::Panel {
    let throttle = i1f15(0.9);
    let sum = |name: &str, colour, add: fn(i16, i16) -> i16| {
        let points = (0..=600).map(|step| {
            let time_s = f64::from(step) / 100.0;
            let total = add(throttle, i1f15(0.04 * time_s));
            (time_s, f64::from(total) / 32_768.0)
        });
        Series { name: name.into(), points: points.collect(), colour }
    };
    let lines = vec![
        sum("wraps", colour::VERMILION, i16::wrapping_add),
        sum("saturates", colour::BLUE, i16::saturating_add),
    ];
    let mut shown = panel("duty", lines, 1.2, -1.15..1.35);
    let over_s = (1.0 - 0.9) / 0.04;
    shown.marks = vec![(over_s, "full forward; one step more wraps to full reverse".into())];
    shown.layered = true;
    shown
}

fn integral() -> Result<easeoff::draw::chart::Panel, Failure> {
    let full = 64.0;
    let mut settings = Settings {
        hold: Some(HoldSettings {
            full_speed_rad_s: full,
            gain: 0.0,
            gain_per_s: GAIN_PER_S,
            fade_ms: 0.0,
            ..HoldSettings::default()
        }),
        ..Settings::default()
    };
    settings.pulse.jump_us = 2_000.0;
    settings.slew.rise_per_s = 1_000.0;
    let asked = 0.5;
    let ticks = feed(&settings, SECONDS, |now| Input {
        pulse: throttle(if now.time_s < 0.0 { 0.0 } else { asked }),
        speed: Speed::new(full * (asked - ERROR) as f32),
        ..Input::default()
    })?;
    let added = |tick: &Tick| f64::from(tick.output.trace.added.to_f32());
    let core = ticks.iter().filter(|tick| tick.time_s >= 0.0).map(|t| (t.time_s, added(t)));
    // The same sum, rounded to 16 fraction bits in each tick: what is added is less than half a step.
    let per_tick = ERROR * f64::from(GAIN_PER_S) / 1_000.0;
    let bits = (per_tick * 65_536.0).round();
    let short =
        (0..6_000).map(|tick| (f64::from(tick) / 1_000.0, f64::from(tick) * bits / 65_536.0));
    let line = |name: &str, points, colour| Series { name: name.into(), points, colour };
    let core: Vec<(f64, f64)> = core.collect();
    let (last_s, end) = *core.last().ok_or("nothing was stepped")?;
    let exact = last_s * ERROR * f64::from(GAIN_PER_S);
    if (end - exact).abs() > 2.0e-4 || bits != 0.0 {
        return Err(format!("the core's integral is {end}, exact is {exact}").into());
    }
    let lines = vec![
        line("16 fraction bits", short.collect(), colour::VERMILION),
        line("48: the core", core, colour::BLUE),
    ];
    Ok(panel("duty added by the integral", lines, 1.0, -0.002..0.042))
}

/// What a step is worth in formats of different widths.
fn formats() -> Result<String, Failure> {
    let rig = demo::rig().map_err(|_| "the demo's rig is broken")?;
    let pack_v = Pack::new(&rig.pack).open_v(rig.pack.charge, 0.0);
    let rows: Vec<Vec<String>> = [("I1F7", 8, 7), ("I1F15", 16, 15), ("I16F16", 32, 16)]
        .iter()
        .map(|&(name, bits, fraction)| {
            let step = libm::exp2(-f64::from(fraction));
            let largest = libm::exp2(f64::from(bits - 1 - fraction)) - step;
            vec![
                name.into(),
                format!("{bits}"),
                format!("1/{}", 1_u32 << fraction),
                digits(pack_v * 1.0e3 * step),
                format!("{largest:.5}"),
            ]
        })
        .collect();
    let millivolts = format!("of {} V, in mV", digits(pack_v));
    let heads = ["format", "bits", "one step of duty", &millivolts, "largest number"];
    Ok(table(&heads, &rows))
}

/// 1.0 where it does not fit, and in the core's own types.
fn one() -> Result<String, Failure> {
    let half = Duty::new(0.5).ok_or("half a duty is refused")?;
    let rows = [
        ("1.0 as I1F15, bits cut off", f64::from(i16::MIN) / 32_768.0),
        ("1.0 as I1F15, saturated", f64::from(i1f15(1.0)) / 32_768.0),
        (
            "0.75 + 0.5 as I1F15, wrapped",
            f64::from(i1f15(0.75).wrapping_add(i1f15(0.5))) / 32_768.0,
        ),
        ("the core's Demand, 1.0", Demand::HIGHEST.to_f32().into()),
        ("the core's Duty, 1.0 + 0.5", (Duty::HIGHEST + half).to_f32().into()),
        ("the core's Duty, -1.0 - 0.5", (Duty::LOWEST - half).to_f32().into()),
    ];
    let rows = rows.map(|(what, value)| vec![what.to_owned(), format!("{value:.5}")]);
    Ok(table(&["", "is"], &rows))
}

/// The least error that a rounded sum still sees, by the bits it keeps.
fn solution() -> String {
    let gain = f64::from(GAIN_PER_S) / 1_000.0;
    let rows = [16, 24, 32, 48].map(|fraction| {
        let least = libm::exp2(-f64::from(fraction)) / 2.0 / gain;
        vec![format!("{fraction}"), format!("{least:.1e}")]
    });
    table(&["fraction bits of the sum", "least error that moves it, of full speed"], &rows)
}
