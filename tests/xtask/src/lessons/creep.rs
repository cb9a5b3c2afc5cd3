//! Why a shorted motor creeps.

use easeoff::draw::chart::{Panel, Series, colour};
use easeoff_plant::GRAVITY;
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::parts::motor_kind::Machine;
use easeoff_plant::rig::{MotorData, Rig};
use easeoff_sim::digits::digits;
use easeoff_sim::files::demo;
use easeoff_sim::run::Method;
use easeoff_sim::run::controller::Own;
use easeoff_sim::run::creep::creep;

use super::{Made, cell, slide, table};
use crate::stages::Failure;

const ROLLING: f64 = 0.02;

/// Force of the shorted motor per speed \[N s/m\], and the dry friction of motor and gears \[N\].
fn brake(rig: &Rig, winding_c: f64) -> [f64; 2] {
    let motor = Motor::new(&rig.motor);
    let (ratio, radius_m) = (rig.gears.ratio(), rig.wheels.radius_m);
    let resistance_ohm = motor.resistance_at(winding_c) + rig.bridge.resistance_ohm;
    let geared = motor.constant * ratio;
    let back = rig.gears.efficiency_driven_back;
    [
        geared * geared / (resistance_ohm * radius_m * radius_m * back),
        motor.friction_n_m * ratio / (back * radius_m),
    ]
}

/// What pulls it down a slope, less what rolling takes \[N\].
fn pull_n(rig: &Rig, slope_deg: f64) -> f64 {
    let slope = slope_deg.to_radians();
    rig.vehicle.mass_kg * GRAVITY * (libm::sin(slope) - ROLLING * libm::cos(slope))
}

/// The brake's force over speed against the pull of three slopes.
pub(crate) fn creeping() -> Result<Made, Failure> {
    let scenario = demo::scenario("let-off").ok_or("the demo let-off is broken")?;
    let rig = &scenario.rig;
    let [per_speed, friction_n] = brake(rig, 20.0);
    let force = |mm_s: f64| friction_n + per_speed * mm_s / 1_000.0;
    let line = |name: &str, colour, value: &dyn Fn(f64) -> f64| {
        let points = (0..=300).map(f64::from).map(|i| (i * 0.1, value(i * 0.1))).collect();
        Series { name: name.into(), points, colour }
    };
    let pulls = [(8.0, colour::GREEN), (12.0, colour::ORANGE), (20.0, colour::VERMILION)];
    let mut lines = vec![line("brake, all of it", colour::BLUE, &force)];
    lines.extend(pulls.map(|(slope, colour)| {
        line(&format!("pull, {slope} degrees"), colour, &|_| pull_n(rig, slope))
    }));
    let mut panel = Panel::new("force along the slope, N", lines, 1.0);
    for (slope, _) in &pulls[1..] {
        let mm_s = (pull_n(rig, *slope) - friction_n) / per_speed * 1_000.0;
        panel.marks.push((mm_s, format!("creeps at {} mm/s", digits(mm_s))));
    }
    let picture = slide(
        "A shorted motor brakes only what already moves",
        "demo rig, drag brake fully on; where the lines cross, the rig creeps; 8 degrees its friction holds",
        vec![panel],
        0.0..30.0,
        "speed, mm/s",
    );
    let rows = [8.0, 12.0, 16.0, 20.0].map(|slope_deg| {
        let sum = ((pull_n(rig, slope_deg) - friction_n) / per_speed).max(0.0) * 1_000.0;
        let hot = brake(rig, 100.0);
        let hot = ((pull_n(rig, slope_deg) - hot[1]) / hot[0]).max(0.0) * 1_000.0;
        let run = creep(&scenario, Method::on_slope(slope_deg), &Own::make)
            .map(|found| found.speed_m_s * 1_000.0);
        vec![format!("{slope_deg} degrees"), cell(Some(sum)), cell(run.ok()), cell(Some(hot))]
    });
    let heads =
        ["slope", "by the sum, mm/s", "in the run, mm/s", "by the sum, winding at 100 \u{b0}C"];
    Ok(Made {
        name: "why-it-creeps",
        picture,
        tables: vec![
            ("", table(&heads, &rows)),
            ("-published", published(rig)),
            ("-solution", lower(rig)),
        ],
    })
}

/// The permanent-magnet machine of the Modelica Standard Library (DC_PermanentMagnet and its data record):
/// 100 V, 100 A, 0.05 ohm, 1425 rpm; shorted at that speed, 1209.58 N m and 1900 A, by T = K^2 w / R.
fn published(rig: &Rig) -> String {
    let back_v = 100.0 - 0.05 * 100.0;
    let kv_rpm_per_v = 1_425.0 / back_v;
    let motor = Motor::new(&MotorData { kv_rpm_per_v, resistance_ohm: 0.05, ..rig.motor.clone() });
    let rad_s = 1_425.0 * std::f64::consts::TAU / 60.0;
    let amps = motor.constant * rad_s / motor.resistance_ohm;
    let rows = [
        vec!["1209.58 N m".into(), format!("{:.2} N m", motor.constant * amps)],
        vec!["1900 A".into(), format!("{amps:.0} A")],
    ];
    table(&["published", "ours"], &rows)
}

/// Creep on 20 degrees over the pinion's teeth.
fn lower(rig: &Rig) -> String {
    let rows = [9_u32, 13, 17, 22].map(|pinion_teeth| {
        let mut geared = rig.clone();
        geared.gears.pinion_teeth = pinion_teeth;
        let [per_speed, friction_n] = brake(&geared, 20.0);
        let mm_s = ((pull_n(rig, 20.0) - friction_n) / per_speed).max(0.0) * 1_000.0;
        vec![pinion_teeth.to_string(), digits(geared.gears.ratio()), cell(Some(mm_s))]
    });
    table(&["pinion", "ratio", "creep on 20 degrees, mm/s"], &rows)
}
