//! Tyres, and the loads on the axles.

use easeoff::draw::chart::{Series, Sheet, colour};
use easeoff_plant::course::Surface;
use easeoff_plant::ground::Patch;
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::parts::tyre::Tyres;
use easeoff_plant::rig::Rig;
use easeoff_plant::{Plant, level_loads_n};
use easeoff_sim::files::demo;

use super::with;
use crate::stages::Failure;
use crate::stages::bench::{panel, sheet};

pub(crate) fn tyre(rig: &Rig) -> Sheet {
    let tyres = Tyres::new(&rig.wheels);
    let Surface { grip, grip_sliding, rolling, .. } = Surface::default();
    // More of a difference than firm earth has, to be seen.
    let on = Patch { grip, grip_sliding: grip_sliding - 0.15, rolling };
    let line = |slip_m_s: f64, name: &str, colour| {
        let (mut bristle, mut way_mm, step_s) = (0.0, 0.0, 5.0e-6 / slip_m_s);
        let points = (0..3_000).map(|_| {
            let (force, rate) = tyres.grip(bristle, slip_m_s, on);
            bristle += step_s * rate;
            way_mm += 1.0e3 * step_s * slip_m_s;
            (way_mm, force)
        });
        Series { name: name.into(), points: points.collect(), colour }
    };
    let lines = vec![
        line(0.01, "dragged at 0.01 m/s", colour::BLUE),
        line(0.2, "0.2 m/s", colour::GREEN),
        line(2.0, "2 m/s", colour::VERMILION),
    ];
    let mut force = panel("force / load", lines, 1.0, 0.0..0.85);
    force.levels = vec![(on.grip, "peak".into()), (on.grip_sliding, "sliding".into())];
    sheet(
        "A tyre gives before it slides, and grips less the faster it slides",
        "demo rig's tyres on firm earth, sliding friction taken lower than there to be seen",
        vec![force],
        0.0..15.0,
        "way that the wheel's surface was dragged, mm",
        460,
    )
}

pub(crate) fn loads(rig: &Rig) -> Result<Sheet, Failure> {
    let course = demo::scenario("snag").ok_or("the demo snag is broken")?.course;
    let at = |cg_height_m: f64, names: [&str; 2], colours: [_; 2]| {
        let rig = with(rig, |rig| rig.vehicle.cg_height_m = cg_height_m);
        let plant = Plant::new(&rig, &course);
        let level = level_loads_n(&rig.vehicle);
        // The bristles bent by hand: whatever force they make moves the loads.
        let flows = (-400..=400).map(|i| {
            let mut state = plant.at_rest(&rig, 0.0);
            let bent_m = 1.0e-5 * f64::from(i);
            (state.now.tyres.front_bristle_m, state.now.tyres.rear_bristle_m) = (bent_m, bent_m);
            plant.flows(&state, Action::Coast)
        });
        let flows: Vec<_> = flows.collect();
        let line = |axle: usize| {
            let points = flows.iter().map(|flow| {
                let load = [flow.front_n, flow.rear_n][axle];
                (flow.tyre_n / rig.vehicle.mass_kg, 100.0 * load / (level[0] + level[1]))
            });
            Series { name: names[axle].into(), points: points.collect(), colour: colours[axle] }
        };
        vec![line(0), line(1)]
    };
    let low = at(rig.vehicle.cg_height_m, ["front", "rear"], [colour::BLUE, colour::VERMILION]);
    let tall = at(0.25, ["", ""], [colour::BLUE, colour::VERMILION]);
    Ok(sheet(
        "Pulling away unloads the front, braking the rear",
        "demo rig, and the same with its centre of gravity at 0.25 m, which lifts its wheels",
        vec![
            panel("as it is, % of the weight", low, 1.0, 0.0..115.0),
            panel("tall, % of the weight", tall, 1.0, 0.0..115.0),
        ],
        -7.5..7.5,
        "acceleration, m/s\u{b2}",
        600,
    ))
}
