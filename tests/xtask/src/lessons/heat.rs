//! Heat: how long a motor stands a current.

use easeoff::draw::chart::{Panel, Series, colour};
use easeoff_plant::heating::{Temperatures, heating};
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::parts::motor_kind::Machine;
use easeoff_plant::rig::Rig;
use easeoff_plant::steady::Steady;
use easeoff_sim::files::demo;
use easeoff_sim::files::mistake::Source;

use super::published::{Held, alongside};
use super::{Made, cell, slide, table};
use crate::stages::Failure;

/// The thermal classes and what each stands \[degrees C\], as IEC 60085 is quoted.
const CLASSES: [(&str, &str); 6] =
    [("A", "105"), ("E", "120"), ("B", "130"), ("F", "155"), ("H", "180"), ("N", "200")];

/// The demo motor under constant currents, cold at the start.
pub(crate) fn heat() -> Result<Made, Failure> {
    let rigs = rigs()?;
    let demo = &rigs[2];
    let colours = [colour::VERMILION, colour::ORANGE, colour::BLUE, colour::GREEN];
    let mut lines = Vec::new();
    let mut rows = Vec::new();
    for ((index, rig), colour) in [0, 2, 3, 4].into_iter().map(|i| (i, &rigs[i])).zip(colours) {
        let (name, _) = CLASSES[index];
        let name = format!("class {name}, {} \u{b0}C", rig.motor.winding_limit_c);
        lines.push(line(&name, colour, |amps| winding_s(rig, amps)));
    }
    let name = format!("bridge, {} \u{b0}C", demo.bridge.limit_c);
    lines.push(line(&name, colour::GREY, |amps| bridge_s(demo, amps)));
    for (rig, (name, _)) in rigs.iter().zip(CLASSES) {
        rows.push(row(&format!("winding, class {name}"), |amps| winding_s(rig, amps)));
    }
    rows.push(row("bridge", |amps| bridge_s(demo, amps)));
    let mut times = Panel::new("seconds from cold to the limit", lines, 1.0);
    times.y = 0.0..330.0;
    times.levels = vec![(60.0, "a minute".into())];
    let picture = slide(
        "Twice the current is four times the heat: the time left collapses",
        "the demo motor's winding with four classes of insulation, and the bridge; air of 20 degrees C",
        vec![times],
        15.5..80.0,
        "motor current, A",
    );
    let heads = ["stands", "for ever, A", "30 A, s", "40 A, s", "60 A, s", "80 A, s"];
    let motor = Motor::new(&demo.motor);
    let hot_c = demo.motor.winding_limit_c;
    let more = motor.resistance_at(hot_c) / motor.resistance_at(20.0);
    let weaker = motor.constant_at(80.0) / motor.constant_at(20.0);
    let minute_a = largest(|amps| winding_s(demo, amps).is_none_or(|seconds| seconds > 60.0));
    let solution = table(
        &["demo rig", ""],
        &[
            vec!["current for a minute from cold, A".into(), cell(Some(minute_a))],
            vec![
                format!("resistance of the winding at {hot_c} \u{b0}C, of that at 20"),
                cell(Some(more)),
            ],
            vec!["torque per ampere with the magnets at 80 \u{b0}C".into(), cell(Some(weaker))],
            vec![
                "so the same torque then makes so many times the heat".into(),
                cell(Some(more / (weaker * weaker))),
            ],
        ],
    );
    Ok(Made {
        name: "heat",
        picture,
        tables: vec![
            ("", table(&heads, &rows)),
            ("-published", published(&rigs, &motor)?),
            ("-solution", solution),
        ],
    })
}

/// The demo rig with each class of insulation, by its own reader.
fn rigs() -> Result<Vec<Rig>, Failure> {
    let folder = demo::folder("garden").ok_or("there is no demo garden")?;
    let text = folder.read("rig.toml").map_err(|_| "the demo garden has no rig")?.text;
    let own = "insulation_class = \"B\"";
    if !text.contains(own) {
        return Err("the demo rig is of another class".into());
    }
    let read = |(class, _): &(&str, _)| {
        let of_class = text.replacen(own, &format!("insulation_class = \"{class}\""), 1);
        easeoff_sim::files::rig::read(&Source::new("rig.toml", &of_class))
            .map_err(|_| "the reader refuses a class".into())
    };
    CLASSES.iter().map(read).collect()
}

/// Until the winding is at its limit \[s\]; `None`: never.
fn winding_s(rig: &Rig, amps: f64) -> Option<f64> {
    let steady = Steady::new(rig);
    heating(rig, Temperatures::cold(rig), |at| [steady.heat_w(amps, at)[0], 0.0]).limit_s
}

/// Until the bridge is.
fn bridge_s(rig: &Rig, amps: f64) -> Option<f64> {
    let steady = Steady::new(rig);
    heating(rig, Temperatures::cold(rig), |at| [0.0, steady.heat_w(amps, at)[1]]).limit_s
}

fn line(name: &str, colour: colour::Colour, time_s: impl Fn(f64) -> Option<f64>) -> Series {
    let currents = (0..130).map(|step| 15.5 + f64::from(step) / 2.0);
    let points = currents.filter_map(|amps| Some((amps, time_s(amps)?)));
    let points = points.filter(|point| point.1 < 330.0).collect();
    Series { name: name.into(), points, colour }
}

fn row(name: &str, time_s: impl Fn(f64) -> Option<f64>) -> Vec<String> {
    let ever_a = largest(|amps| time_s(amps).is_none());
    let times = [30.0, 40.0, 60.0, 80.0].map(|amps| match time_s(amps) {
        Some(seconds) => cell(Some(seconds)),
        None => "for ever".into(),
    });
    [vec![name.to_owned(), cell(Some(ever_a))], times.to_vec()].concat()
}

/// The largest current up to 200 A that is `good`, halved in.
fn largest(good: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, 200.0);
    for _ in 0..24 {
        let middle = (low + high) / 2.0;
        *(if good(middle) { &mut low } else { &mut high }) = middle;
    }
    low
}

fn published(rigs: &[Rig], motor: &Motor) -> Result<String, Failure> {
    let mut held: Vec<Held> = rigs
        .iter()
        .zip(CLASSES)
        .map(|(rig, (name, published))| Held {
            what: format!("class {name} stands, \u{b0}C"),
            published,
            ours: rig.motor.winding_limit_c,
            within: 0.0,
            source: "IEC 60085, second hand",
        })
        .collect();
    let ratio = motor.resistance_at(100.0) / motor.resistance_at(20.0);
    let ratios = [
        ("1.3144", 1e-4, "0.00393 per kelvin, IEC 60028, second hand"),
        ("1.3137", 1e-3, "(235 + 100) / (235 + 20), IEC 60034-1, from memory"),
    ];
    held.extend(ratios.map(|(published, within, source)| Held {
        what: "resistance of copper at 100 \u{b0}C, of that at 20".into(),
        published,
        ours: ratio,
        within,
        source,
    }));
    alongside(&held)
}
