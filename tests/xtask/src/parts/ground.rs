//! What a wheel feels of the ground.

use std::f64::consts::{FRAC_PI_2, TAU};

use easeoff::draw::chart::{Series, Sheet, colour};
use easeoff_plant::ground::Ground;
use easeoff_plant::interpolate::height;
use easeoff_plant::rig::Rig;
use easeoff_plant::rough::{Class, Rough};
use easeoff_sim::files::demo;

use super::{graph, with};
use crate::stages::Failure;
use crate::stages::bench::{panel, sheet};

pub(crate) fn wheel(rig: &Rig) -> Result<Sheet, Failure> {
    let mut course = demo::scenario("snag").ok_or("the demo snag is broken")?.course;
    // A step, a stone, a crack narrower than the wheel.
    course.profile_m = vec![
        [-0.3, 0.0],
        [0.2, 0.0],
        [0.2, 0.02],
        [0.5, 0.02],
        [0.51, 0.035],
        [0.52, 0.02],
        [0.75, 0.02],
        [0.75, -0.02],
        [0.78, -0.02],
        [0.78, 0.02],
        [1.2, 0.02],
    ];
    course.snags.clear();
    // A wheel of its own: both axles at one place.
    let rig = with(rig, |rig| {
        rig.vehicle.wheelbase_m = 0.002;
        rig.vehicle.cg_ahead_of_rear_m = 0.001;
    });
    let ground = Ground::new(&course, &rig);
    let profile = course.profile_m.clone();
    let path = (0..=1_500).map(|i| ground.at(-0.2 + 1.0e-3 * f64::from(i)));
    let mut level_m = -0.2;
    let points: Vec<(f64, f64, f64)> = path
        .map(|footing| {
            let point = (level_m, 1.0e3 * footing.height_m, footing.sine);
            level_m += 1.0e-3 * (1.0 - footing.sine * footing.sine).sqrt();
            point
        })
        .collect();
    let wheel = Series {
        name: "wheel's foot".into(),
        points: points.iter().map(|(x, height_mm, _)| (*x, *height_mm)).collect(),
        colour: colour::BLUE,
    };
    let slope = Series {
        name: String::new(),
        points: points.iter().map(|(x, _, sine)| (*x, libm::asin(*sine).to_degrees())).collect(),
        colour: colour::BLUE,
    };
    let under = graph("ground", colour::VERMILION, -0.1..=1.0, |x| 1.0e3 * height(&profile, x));
    Ok(sheet(
        "A round wheel climbs a step on an arc and hardly feels a crack",
        "demo rig's wheel of 58 mm radius; heights are drawn larger than ways",
        vec![
            panel("height, mm", vec![under, wheel], 1.2, -28.0..60.0),
            panel("slope of its way, degrees", vec![slope], 1.0, -60.0..60.0),
        ],
        -0.1..1.0,
        "level distance, m",
        600,
    ))
}

pub(crate) fn rough() -> Sheet {
    let laid = |class| {
        let rough = Rough { class, seed: 1, scale: 1.0 };
        rough.lay(&[[0.0, 0.0], [400.0, 0.0]])
    };
    let density = |class: Class, name: &str, colour| {
        let profile = laid(class);
        let count = 16_000_u32;
        let even: Vec<[f64; 2]> = (0..count)
            .map(|i| 400.0 * f64::from(i) / f64::from(count))
            .map(|x| [x, height(&profile, x)])
            .collect();
        // Means over thirds of an octave, so that chance does not hide the line.
        let points = (0..22).filter_map(|band| {
            let from = 0.02 * libm::exp2(f64::from(band) / 3.0);
            let to = from * libm::exp2(1.0 / 3.0);
            let bins = libm::ceil(from * 400.0) as u32..libm::ceil(to * 400.0) as u32;
            let width = f64::from(bins.end.saturating_sub(bins.start)) / 400.0;
            let power = |bin: u32| {
                let turn = TAU * f64::from(bin) / 400.0;
                let part = |phase: f64| {
                    let sum: f64 = even.iter().map(|[x, h]| h * libm::sin(turn * x + phase)).sum();
                    2.0 * sum / f64::from(count)
                };
                (part(0.0) * part(0.0) + part(FRAC_PI_2) * part(FRAC_PI_2)) / 2.0
            };
            let middle = (from * to).sqrt();
            let found: f64 = bins.map(power).sum();
            (width > 0.0).then(|| (libm::log10(middle), libm::log10(found / width)))
        });
        Series { name: name.into(), points: points.collect(), colour }
    };
    let stated = |class: Class| {
        graph("", colour::GREY, -1.7..=0.45, move |log_n| {
            libm::log10(class.density_m3()) - 2.0 * (log_n + 1.0)
        })
    };
    let lines = vec![
        stated(Class::A),
        stated(Class::C),
        stated(Class::E),
        density(Class::A, "class A", colour::GREEN),
        density(Class::C, "class C", colour::BLUE),
        density(Class::E, "class E", colour::VERMILION),
    ];
    let mut shown = panel("log10 of density, m\u{b3}", lines, 1.0, -8.5..-0.2);
    shown.marks = vec![(-1.0, "n = 0.1 per m".into())];
    sheet(
        "Ground that was made has the roughness of its class",
        "400 m of each class; grey: the standard's straight lines (ISO 8608, second hand)",
        vec![shown],
        -1.7..0.55,
        "log10 of waves per metre",
        520,
    )
}
