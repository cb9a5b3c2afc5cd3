//! A picture for each part of the plant, drawn from that part's own code.

mod drive_line;
mod electrical;
mod ground;
mod heat;
mod people;
mod steering;
mod tyres;

use std::ops::RangeInclusive;

use easeoff::draw::chart::{Series, Sheet};
use easeoff_plant::rig::Rig;
use easeoff_sim::files::demo;
use easeoff_sim::palette::Colour;

use crate::stages::Failure;

/// All pictures with the names of their files.
pub(crate) fn sheets() -> Result<Vec<(&'static str, Sheet)>, Failure> {
    let rig = demo::rig().map_err(|_| "the demo rig is broken")?;
    Ok(vec![
        ("part-gears", drive_line::gears(&rig)),
        ("part-friction", drive_line::friction(&rig)),
        ("part-snag", drive_line::snag()),
        ("part-pack", electrical::pack(&rig)),
        ("part-charge", electrical::charge(&rig)),
        ("part-motor", electrical::motor(&rig)),
        ("part-cogging", electrical::cogging(&rig)),
        ("part-brake", electrical::brake(&rig)?),
        ("part-heat", heat::heat(&rig)),
        ("part-tyre", tyres::tyre(&rig)),
        ("part-loads", tyres::loads(&rig)?),
        ("part-wheel", ground::wheel(&rig)?),
        ("part-rough", ground::rough()),
        ("part-servo", steering::servo()),
        ("part-driver", people::driver()),
        ("part-edges", people::edges()?),
    ])
}

/// A line through a function's values.
fn graph(name: &str, colour: Colour, x: RangeInclusive<f64>, y: impl FnMut(f64) -> f64) -> Series {
    let (from, to) = x.into_inner();
    let mut y = y;
    let points = (0..=600).map(|i| from + (to - from) * f64::from(i) / 600.0);
    Series { name: name.into(), points: points.map(|x| (x, y(x))).collect(), colour }
}

/// The demo rig, with something changed.
fn with(rig: &Rig, change: impl FnOnce(&mut Rig)) -> Rig {
    let mut rig = rig.clone();
    change(&mut rig);
    rig
}
