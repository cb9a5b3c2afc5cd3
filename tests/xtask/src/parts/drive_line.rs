//! Gears and play, dry friction, snags.

use std::f64::consts::TAU;

use easeoff::draw::chart::{Series, Sheet, colour};
use easeoff_plant::course::{AfterBreak, Snag};
use easeoff_plant::ground::snag::Snagged;
use easeoff_plant::parts::driveline::DriveLine;
use easeoff_plant::parts::friction::{Bristle, DryFriction};
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::rig::Rig;

use super::graph;
use crate::stages::bench::{panel, sheet};

pub(crate) fn gears(rig: &Rig) -> Sheet {
    let line = DriveLine::new(&rig.gears);
    let torque = |twist_deg: f64| line.shaft_torque(twist_deg.to_radians(), 0.0);
    let x = -4.0..=4.0;
    let wheels = vec![graph("", colour::BLUE, x.clone(), torque)];
    let motor =
        |way: f64| move |deg: f64| 1.0e3 * line.motor_load(torque(deg), Bristle::sliding(way));
    let loads = vec![
        graph("turning forward", colour::VERMILION, x.clone(), motor(1.0)),
        graph("without loss", colour::GREY, x.clone(), |deg| 1.0e3 * torque(deg) / line.ratio),
        graph("turning backward", colour::BLUE, x, motor(-1.0)),
    ];
    let half = rig.gears.backlash_deg / 2.0;
    let mut shaft = panel("torque on the wheels, N m", wheels, 1.0, -3.5..3.5);
    shaft.shade = Some((-half..half, "play".into()));
    let mut load = panel("torque that the motor feels, mN m", loads, 1.2, -130.0..130.0);
    load.shade = Some((-half..half, String::new()));
    sheet(
        "In the play nothing is felt; the gears always take a share",
        "demo rig: 36 to 1, 2 degrees of play, 80 % forward and 75 % back",
        vec![shaft, load],
        -4.0..4.0,
        "twist of the drive line, degrees at the wheels",
        600,
    )
}

pub(crate) fn friction(rig: &Rig) -> Sheet {
    let motor = Motor::new(&rig.motor);
    let dry = DryFriction::new(motor.friction_n_m, motor.inertia_kg_m2);
    // There, half-way back, and there again, in turns of the rotor small enough to see the bristle give.
    let legs = [(900_u32, 1.0), (500, -1.0), (900, 1.0)];
    let (mut bristle, mut angle_mrad) = (Bristle::default(), 0.0);
    let colours = [colour::BLUE, colour::VERMILION, colour::GREEN];
    let names = ["1 forward", "2 back", "3 forward"];
    let step_mrad = 0.004;
    let lines = legs.iter().zip(colours.iter().zip(names)).map(|((steps, way), (colour, name))| {
        let points = (0..*steps).map(|_| {
            let point = (angle_mrad, 1.0e3 * motor.friction_n_m * bristle.share());
            dry.settle(&mut bristle, way * step_mrad * 1.0e-3);
            angle_mrad += way * step_mrad;
            point
        });
        Series { name: name.into(), points: points.collect(), colour: *colour }
    });
    let lines: Vec<Series> = lines.collect();
    let most = 1.0e3 * motor.friction_n_m;
    let mut torque = panel("torque against forward, mN m", lines, 1.0, -1.3 * most..1.5 * most);
    torque.levels = vec![(most, "sliding".into()), (-most, String::new())];
    sheet(
        "Dry friction gives a little before it slides, and holds when it stands",
        "the demo motor's own friction, its rotor turned to and fro by hand",
        vec![torque],
        -0.1..5.4,
        "angle of the rotor, thousandths of a radian",
        460,
    )
}

pub(crate) fn snag() -> Sheet {
    let line = |then: AfterBreak| {
        let snags = [Snag { at_m: 0.0, stiffness_n_m_per_rad: 0.12, break_n_m: 1.2, then }];
        let mut snagged = Snagged::default();
        // On to three turns, a turn back, and on again.
        let turn = |part: f64| match part {
            part if part < 3.0 => part,
            part if part < 4.0 => 6.0 - part,
            part => part - 2.0,
        };
        let points = (0..3_000).map(|i| {
            let turns = turn(f64::from(i) / 500.0);
            snagged.settle(&snags, 1.0, turns * TAU);
            (turns, snagged.torque(&snags, turns * TAU))
        });
        let torque = Series { name: String::new(), points: points.collect(), colour: colour::BLUE };
        let stands = graph("", colour::GREY, 0.0..=4.0, |_| 1.2);
        vec![stands, torque]
    };
    let one = |label: &str, then| panel(label, line(then), 1.0, 0.0..1.6);
    let tears = one("one that tears: torque against the wheels, N m", AfterBreak::LetsGo);
    let stays = one("one that drags on: torque against the wheels, N m", AfterBreak::Stays);
    sheet(
        "A snag winds up with the wheel until it tears, or drags on",
        "0.12 N m per radian up to 1.2 N m (grey); three turns forward, one back, and on again",
        vec![tears, stays],
        0.0..4.0,
        "turns of the wheel since it caught",
        560,
    )
}
