//! Pack, bridge, motor.

use easeoff::draw::chart::{Series, Sheet, colour};
use easeoff_core::{Command, Controller, Output, Settings, Speed, Strength, TickRate, Volt};
use easeoff_plant::Plant;
use easeoff_plant::course::Course;
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::parts::cogging::Cogging;
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::parts::motor_kind::Machine;
use easeoff_plant::parts::pack::Pack;
use easeoff_plant::rig::{MotorData, Rig};
use easeoff_sim::files::demo;
use easeoff_sim::files::tune::motor_settings;

use super::{graph, with};
use crate::stages::Failure;
use crate::stages::bench::{panel, sheet};

pub(crate) fn pack(rig: &Rig) -> Sheet {
    let pack = Pack::new(&rig.pack);
    let load = |time_s: f64| if (5.0..35.0).contains(&time_s) { 25.0 } else { 0.0 };
    let (mut delayed_v, mut charge) = (0.0, rig.pack.charge);
    let step_s = 0.1;
    let volts = graph("", colour::BLUE, 0.0..=60.0, |time_s| {
        let (delayed, charge_rate) = pack.rates(load(time_s), delayed_v);
        delayed_v += step_s * delayed;
        charge += step_s * charge_rate;
        pack.open_v(charge, delayed_v) - pack.resistance_ohm * load(time_s)
    });
    let mut shown = panel("voltage at the bridge, V", vec![volts], 1.6, 10.6..12.6);
    shown.marks =
        vec![(5.0, "sags at once, then slowly".into()), (35.0, "comes back likewise".into())];
    let amps = graph("", colour::VERMILION, 0.0..=60.0, load);
    let current = panel("current, A", vec![amps], 0.7, 0.0..32.0);
    sheet(
        "A pack sags in two steps",
        "demo rig: three cells, 2.2 A h, 25 A for half a minute; what does not come back is charge that is gone",
        vec![shown, current],
        0.0..60.0,
        "time, s",
        520,
    )
}

pub(crate) fn charge(rig: &Rig) -> Sheet {
    let pack = Pack::new(&rig.pack);
    let at = |amps: f64| move |percent: f64| (percent / 100.0, amps);
    let volts = |(charge, amps): (f64, f64)| {
        (pack.open_v(charge, 0.0) - amps * pack.resistance_ohm) / f64::from(rig.pack.cells)
    };
    let lines = vec![
        graph("at rest", colour::BLUE, 0.0..=100.0, |x| volts(at(0.0)(x))),
        graph("10 A", colour::GREEN, 0.0..=100.0, |x| volts(at(10.0)(x))),
        graph("25 A", colour::VERMILION, 0.0..=100.0, |x| volts(at(25.0)(x))),
    ];
    let mut cell = panel("volts per cell", lines, 1.0, 2.6..4.4);
    cell.levels = vec![(3.4, "the demo tune fades from here".into()), (3.1, "to here".into())];
    sheet(
        "The voltage says little about the charge until it is nearly gone",
        "a published pouch cell (Ai et al. 2020) with the demo rig's resistances, before the slow sag",
        vec![cell],
        0.0..100.0,
        "state of charge, %",
        480,
    )
}

pub(crate) fn motor(rig: &Rig) -> Sheet {
    let motor = Motor::new(&rig.motor);
    // At what is printed on the pack.
    let volts = rig.pack.label_v.unwrap_or_else(|| 3.7 * f64::from(rig.pack.cells));
    // Current and torque at a speed, settled, with the motor's own friction.
    let at = move |winding_c: f64, magnet_c: f64, rad_s: f64| {
        let constant = motor.constant_at(magnet_c);
        let amps = (volts - constant * rad_s) / motor.resistance_at(winding_c);
        (amps, constant * amps - motor.friction_n_m - motor.viscous_n_m_s * rad_s)
    };
    let x = 0.0..=20.0;
    let rad_s = |krpm: f64| krpm * 1_000.0 * std::f64::consts::TAU / 60.0;
    let torque = |winding_c, magnet_c| move |krpm: f64| at(winding_c, magnet_c, rad_s(krpm)).1;
    let share = |winding_c, magnet_c| {
        move |krpm: f64| {
            let (amps, n_m) = at(winding_c, magnet_c, rad_s(krpm));
            if n_m < 0.0 { n_m } else { 100.0 * n_m * rad_s(krpm) / (volts * amps) }
        }
    };
    // Up to the free speed; beyond it the motor would have to be turned.
    let driving = |mut line: Series| {
        line.points.retain(|point| point.1 >= 0.0);
        line
    };
    let torques = vec![
        driving(graph("20 degrees", colour::BLUE, x.clone(), torque(20.0, 20.0))),
        driving(graph("hot", colour::VERMILION, x.clone(), torque(120.0, 80.0))),
    ];
    let shares = vec![
        driving(graph("", colour::BLUE, x.clone(), share(20.0, 20.0))),
        driving(graph("", colour::VERMILION, x, share(120.0, 80.0))),
    ];
    sheet(
        "Hot, a motor pulls less and runs a little faster",
        &format!(
            "demo motor at {volts} V; hot: winding 120, magnets 80 degrees C: copper resists more, magnets are weaker"
        ),
        vec![
            panel("torque, N m", torques, 1.2, 0.0..0.95),
            panel("share of the power that becomes work, %", shares, 1.0, 0.0..100.0),
        ],
        0.0..20.0,
        "speed, thousand turns per minute",
        600,
    )
}

pub(crate) fn cogging(rig: &Rig) -> Sheet {
    let data = MotorData { cogging_n_m: 0.004, cogging_per_turn: 12, ..rig.motor.clone() };
    let cogging = Cogging::new(&data);
    let at = |rad_s: f64| move |deg: f64| 1.0e3 * cogging.against(deg.to_radians(), rad_s);
    let lines = vec![
        graph("turned by hand", colour::BLUE, 0.0..=90.0, at(0.0)),
        graph("1500 rpm", colour::GREEN, 0.0..=90.0, at(157.0)),
        graph("3000 rpm", colour::VERMILION, 0.0..=90.0, at(314.0)),
    ];
    sheet(
        "Detents hold a rotor that stands and are hardly felt by one that runs",
        "4 mN m, twelve detents per turn; faded out where they pass faster than 2000 rad/s",
        vec![panel("torque against forward, mN m", lines, 1.0, -5.5..6.5)],
        0.0..90.0,
        "angle of the rotor, degrees",
        440,
    )
}

/// Mean braking current of the whole plant at a motor speed that hardly changes.
fn braking_a(rig: &Rig, course: &Course, share: f64, rad_s: f64) -> f64 {
    let plant = Plant::new(rig, course);
    let mut state = plant.at_rest(rig, course.start_m);
    state.now.motor.motor_rad_s = rad_s;
    let (settling, steps) = (200_u32, 400_u32);
    let mut sum = 0.0;
    for step in 0..settling + steps {
        plant.advance(&mut state, Action::Brake(share), 0.25e-3);
        sum += if step < settling { 0.0 } else { state.mean_a() };
    }
    -sum / f64::from(steps)
}

pub(crate) fn brake(rig: &Rig) -> Result<Sheet, Failure> {
    let course = demo::scenario("let-off").ok_or("the demo let-off is broken")?.course;
    let rad_s = 1_000.0;
    let held = with(rig, |rig| {
        (rig.motor.rotor_inertia_kg_m2, rig.motor.no_load_a) = (10.0, 0.0);
        (rig.motor.winding_j_per_k, rig.bridge.resistance_per_k) = (1.0e5, 0.0);
    });
    let line = |name: &str, colour, switched_hz| {
        let rig = with(&held, |rig| rig.bridge.switched_hz = switched_hz);
        let points = (0..=40).map(|i| f64::from(i) / 40.0);
        let points = points.map(|share| (share, braking_a(&rig, &course, share, rad_s)));
        Series { name: name.into(), points: points.collect(), colour }
    };
    let lines = vec![
        line("averaged", colour::GREY, None),
        line("PWM at 50 Hz", colour::GREEN, Some(50.0)),
        line("1 kHz", colour::ORANGE, Some(1_000.0)),
        line("16 kHz", colour::VERMILION, Some(16_000.0)),
        reported(&held, &course, rad_s)?,
    ];
    let emf_v = rig.motor.constant() * rad_s;
    let bus_v = Pack::new(&rig.pack).open_v(rig.pack.charge, 0.0);
    let mut current = panel("mean braking current, A", lines, 1.0, 0.0..80.0);
    current.marks = vec![(1.0 - emf_v / bus_v, "1 - K w / V".into())];
    Ok(sheet(
        "A fast PWM brakes late and then all at once, or by the law for it",
        "demo motor at 1000 rad/s, L/R 0.5 ms: the average b K w / R holds only for periods long beside that",
        vec![current],
        0.0..1.001,
        "braking share asked, b; without the law the windings are shorted for that share of each period",
        520,
    ))
}

/// The braking current at 16 kHz when the core's law for a fast bridge makes the share.
fn reported(held: &Rig, course: &Course, rad_s: f64) -> Result<Series, Failure> {
    let rig = with(held, |rig| rig.bridge.switched_hz = Some(16_000.0));
    let controller = tuned(&rig)?;
    let mut points = Vec::new();
    for i in 0..=40_u8 {
        let asked = f64::from(i) / 40.0;
        let strength = Strength::new(asked as f32).ok_or("a share from 0 to 1")?;
        let mut output = Output { command: Command::Brake { strength }, ..Output::default() };
        output.trace.speed = Speed::new((rad_s / rig.gears.ratio()) as f32);
        // What comes back through the pack's resistance raises the voltage a little; the board sees it.
        let mut volts = Pack::new(&rig.pack).open_v(rig.pack.charge, 0.0);
        let mut amps = 0.0;
        for _ in 0..3 {
            let share = controller.for_fast_bridge(&output, Volt::new(volts as f32)).braking();
            amps = braking_a(&rig, course, share.to_f32().into(), rad_s);
            let fed_a = amps * (1.0 - f64::from(share.to_f32()));
            let pack = Pack::new(&rig.pack);
            volts = pack.open_v(rig.pack.charge, 0.0) + pack.resistance_ohm * fed_a;
        }
        points.push((asked, amps));
    }
    Ok(Series { name: "16 kHz by the law".into(), points, colour: colour::BLUE })
}

/// A controller that knows this rig's motor.
fn tuned(rig: &Rig) -> Result<Controller, Failure> {
    let tune = Settings { motor: motor_settings(rig), ..Settings::default() };
    let rate = TickRate::new(1_000).ok_or("a tick rate")?;
    tune.prepare(rate).map_err(|_| "the demo rig is no motor for the core".into())
}
