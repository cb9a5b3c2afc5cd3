//! A tune made ready for a board: its bytes, the same in Rust, the same in C.

mod c;
mod literal;
mod rust;

use easeoff_core::{CurveSettings, DragLaw, Settings, blob};
use easeoff_plant::rig::Rig;

use crate::files::full_speed::{derived_from, is_derived};
use crate::files::tune_edit::number_text;

pub use c::{BEGINNING as C_BEGINNING, header};
pub use rust::{BEGINNING as RUST_BEGINNING, source};

/// The bytes that [`blob::read`] takes, and nothing else.
///
/// # Errors
/// None: a buffer of this size holds every tune.
pub fn bytes(tune: &Settings) -> Result<Vec<u8>, blob::BlobError> {
    let mut buffer = [0; blob::MOST_BYTES];
    let used = blob::write(tune, &mut buffer)?;
    Ok(buffer[..used].to_vec())
}

/// What a tune mainly says, a line each, for who finds the file without its tune. With the rig it is for, it says too
/// what was derived from that.
pub fn main_values(tune: &Settings, rig: Option<&Rig>) -> Vec<String> {
    let n = number_text;
    let (throttle, drag, limits, motor) = (tune.calibration, tune.drag, tune.limits, tune.motor);
    let amps = |limit: Option<f32>| limit.map_or("not limited".into(), |a| format!("{} A", n(a)));
    let on = |part: bool| if part { "on" } else { "off" };
    let curve = match tune.curve {
        CurveSettings::Cubic { blend } => format!("cubic blend {}", n(blend)),
        CurveSettings::Knots(knots) => format!("{} knots", knots.points().len()),
    };
    let law = match drag.law {
        DragLaw::Duty => "share of time shorted".into(),
        DragLaw::Current { full_a } => format!("braking current, full {} A", n(full_a)),
    };
    let hold = tune.hold.map_or("off".into(), |hold| {
        let gives_way = on(hold.give_way.is_some());
        let from = match rig.filter(|rig| is_derived(tune, rig)) {
            Some(rig) => format!(", derived from the rig ({})", derived_from(rig)),
            None => String::new(),
        };
        let full = n(hold.full_speed_rad_s);
        format!(
            "authority {}, give way {gives_way}, full throttle is {full} rad/s{from}",
            n(hold.authority)
        )
    });
    vec![
        format!(
            "throttle: low {}, neutral {}, high {} us, dead band {} us{}",
            n(throttle.low_us),
            n(throttle.neutral_us),
            n(throttle.high_us),
            n(throttle.dead_band_us),
            if throttle.reversed { ", reversed" } else { "" }
        ),
        format!("curve: {curve}"),
        format!("slew: rise {}, ease {} per s", n(tune.slew.rise_per_s), n(tune.slew.ease_per_s)),
        format!(
            "drag brake: strength {}, delay {} ms, onset {} ms, law: {law}",
            n(drag.strength),
            n(drag.delay_ms),
            n(drag.onset_ms)
        ),
        format!("hold at rest: {}; speed hold: {hold}", on(tune.rest.is_some())),
        format!(
            "limits: driving {}, braking {}, {} cells, fade {} to {} V per cell",
            amps(limits.drive_a),
            amps(limits.brake_a),
            limits.cells,
            n(limits.derate_from_v),
            n(limits.derate_to_v)
        ),
        format!(
            "motor: {} rpm/V, geared {} to 1, {} ohm",
            n(motor.kv_rpm_per_v),
            n(motor.gear_ratio),
            n(motor.resistance_ohm)
        ),
    ]
}

/// What stands in a generated file before its content: line by line, without comment signs.
fn head(tune: &Settings, rig: Option<&Rig>) -> Vec<String> {
    let mut lines = vec![
        format!("Written by `easeoff export`, layout {} of the tune.", blob::VERSION),
        "Change the tune file and export again, not this.".into(),
        String::new(),
    ];
    lines.extend(main_values(tune, rig));
    lines
}
