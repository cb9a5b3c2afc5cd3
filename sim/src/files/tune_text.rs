//! Settings written as a tune file: the demo's, with its comments, holding these values.

use easeoff_core::{
    Calibration, CurveSettings, DragLaw, DragSettings, GiveWaySettings, HoldSettings,
    LimitSettings, ModeSettings, MotorSettings, PulseSettings, RestSettings, Settings,
    SlewSettings, StallSettings,
};
use toml_edit::Array;

use crate::files::folder::Folder;
use crate::files::mistake::Refusal;
use crate::files::tune_edit::{TuneFile, number_text};

/// The text of a tune file that reads as `settings` with a rig that [fits](crate::files::tune::misfits).
///
/// Motor, gears and cells are the rig's to tell and are not written. What is switched off stands there
/// with the demo's numbers and `on = false`, to be tried.
///
/// # Errors
/// None in a program that passed its tests: the demo's file is part of it.
pub fn text(settings: &Settings) -> Result<String, Refusal> {
    let demo = Folder::Embedded(crate::files::demo::DEMOS[0].files).read("tune.toml")?;
    let mut file = TuneFile::parse(&demo)?;
    file.keep_columns();
    put(&mut file, settings);
    Ok(file.text())
}

/// Sets every value of `settings` in a tune file; motor, gears and cells are not in it.
pub fn put(file: &mut TuneFile, settings: &Settings) {
    // Destructured whole, here and below, so that a new setting cannot be forgotten.
    let Settings {
        pulse,
        calibration: throttle,
        curve: along,
        slew,
        mode,
        safe_state,
        drag: brake,
        rest: at_rest,
        hold: held,
        limits: caps,
        motor,
    } = *settings;
    file.set(&[], "safe_state", named(&easeoff_core::SafeState::NAMED, safe_state));
    let PulseSettings { plausible_low_us, plausible_high_us, jump_us, bridge, loss_after_ms } =
        pulse;
    numbers(
        file,
        &["pulse"],
        &[
            ("plausible_low_us", plausible_low_us),
            ("plausible_high_us", plausible_high_us),
            ("jump_us", jump_us),
            ("bridge", bridge.into()),
            ("loss_after_ms", loss_after_ms),
        ],
    );
    calibration(file, &throttle);
    curve(file, along);
    let SlewSettings { rise_per_s, ease_per_s } = slew;
    numbers(file, &["slew"], &[("rise_per_s", rise_per_s), ("ease_per_s", ease_per_s)]);
    let ModeSettings { arm_ms, reverse, rest_rad_s, pause_ms } = mode;
    file.set(&["mode"], "reverse", named(&easeoff_core::ReversePolicy::NAMED, reverse));
    numbers(
        file,
        &["mode"],
        &[("arm_ms", arm_ms), ("rest_rad_s", rest_rad_s), ("pause_ms", pause_ms)],
    );
    drag(file, brake);
    rest(file, at_rest);
    hold(file, held);
    limits(file, caps);
    let MotorSettings { kv_rpm_per_v: _, gear_ratio: _, resistance_ohm: _, estimate_from_a } =
        motor;
    optional(file, &["motor"], "estimate_from_a", estimate_from_a);
}

/// Sets the throttle's end points.
pub fn calibration(file: &mut TuneFile, calibration: &Calibration) {
    let Calibration { low_us, neutral_us, high_us, dead_band_us, reversed } = *calibration;
    numbers(
        file,
        &["calibration"],
        &[
            ("low_us", low_us),
            ("neutral_us", neutral_us),
            ("high_us", high_us),
            ("dead_band_us", dead_band_us),
        ],
    );
    file.set(&["calibration"], "reversed", reversed);
}

fn curve(file: &mut TuneFile, curve: CurveSettings) {
    match curve {
        CurveSettings::Cubic { blend } => {
            file.remove(&["curve"], "knots");
            file.number(&["curve"], "blend", blend);
        }
        CurveSettings::Knots(knots) => {
            file.remove(&["curve"], "blend");
            let pair = |point: &[f32; 2]| -> Array {
                point
                    .iter()
                    .filter_map(|x| number_text(*x).parse::<toml_edit::Value>().ok())
                    .collect()
            };
            file.set(&["curve"], "knots", knots.points().iter().map(pair).collect::<Array>());
        }
    }
}

fn drag(file: &mut TuneFile, drag: DragSettings) {
    let DragSettings { strength, delay_ms, onset_ms, shape, follow, release_ms, law } = drag;
    numbers(
        file,
        &["drag"],
        &[
            ("strength", strength),
            ("delay_ms", delay_ms),
            ("onset_ms", onset_ms),
            ("follow", follow),
            ("release_ms", release_ms),
        ],
    );
    file.set(&["drag"], "shape", named(&easeoff_core::Shape::NAMED, shape));
    let law = match law {
        DragLaw::Share => "share",
        DragLaw::Current { full_a } => {
            file.number(&["drag"], "full_a", full_a);
            "current"
        }
    };
    file.set(&["drag"], "law", law);
}

fn rest(file: &mut TuneFile, rest: Option<RestSettings>) {
    file.set(&["rest"], "on", rest.is_some());
    if let Some(rest) = rest {
        let RestSettings { gain_per_rad, damping_s_per_rad, authority, below_rad_s } = rest;
        numbers(
            file,
            &["rest"],
            &[
                ("gain_per_rad", gain_per_rad),
                ("damping_s_per_rad", damping_s_per_rad),
                ("authority", authority),
                ("below_rad_s", below_rad_s),
            ],
        );
    }
}

fn hold(file: &mut TuneFile, hold: Option<HoldSettings>) {
    file.set(&["hold"], "on", hold.is_some());
    // Without speed hold nothing is said of giving way: it stays as it was.
    let Some(hold) = hold else { return };
    file.set(&["hold", "give_way"], "on", hold.give_way.is_some());
    let HoldSettings {
        full_speed_rad_s,
        feed_forward,
        gain,
        gain_per_s,
        droop,
        authority,
        fade_ms,
        give_way,
    } = hold;
    numbers(
        file,
        &["hold"],
        &[
            ("full_speed_rad_s", full_speed_rad_s),
            ("feed_forward", feed_forward),
            ("gain", gain),
            ("gain_per_s", gain_per_s),
            ("droop", droop),
            ("authority", authority),
            ("fade_ms", fade_ms),
        ],
    );
    if let Some(GiveWaySettings { share, after_ms, release_ms }) = give_way {
        numbers(
            file,
            &["hold", "give_way"],
            &[("share", share), ("after_ms", after_ms), ("release_ms", release_ms)],
        );
    }
}

fn limits(file: &mut TuneFile, limits: LimitSettings) {
    let LimitSettings {
        drive_a,
        brake_a,
        cells: _,
        full_v,
        fade_from_v,
        fade_to_v,
        recover_v,
        pack_recovery,
        hot_from_c,
        hot_to_c,
        cool_by_c,
        stall,
        reverse,
    } = limits;
    optional(file, &["limits"], "drive_a", drive_a);
    optional(file, &["limits"], "brake_a", brake_a);
    numbers(
        file,
        &["limits"],
        &[
            ("full_v", full_v),
            ("fade_from_v", fade_from_v),
            ("fade_to_v", fade_to_v),
            ("recover_v", recover_v),
            ("hot_from_c", hot_from_c),
            ("hot_to_c", hot_to_c),
            ("cool_by_c", cool_by_c),
            ("reverse", reverse),
        ],
    );
    let recovery = named(&easeoff_core::PackRecovery::NAMED, pack_recovery);
    file.set(&["limits"], "pack_recovery", recovery);
    file.set(&["limits", "stall"], "on", stall.is_some());
    if let Some(StallSettings { below_rad_s, duty, after_ms }) = stall {
        numbers(
            file,
            &["limits", "stall"],
            &[("below_rad_s", below_rad_s), ("duty", duty), ("after_ms", after_ms)],
        );
    }
}

fn numbers(file: &mut TuneFile, table: &[&str], values: &[(&str, f32)]) {
    for (key, value) in values {
        file.number(table, key, *value);
    }
}

/// Without a value there is no such key.
fn optional(file: &mut TuneFile, table: &[&str], key: &str, value: Option<f32>) {
    match value {
        Some(value) => file.number(table, key, value),
        None => file.remove(table, key),
    }
}

/// The name in files of one of several things.
fn named<T: Copy + PartialEq>(all: &[(&'static str, T)], one: T) -> &'static str {
    all.iter().find(|(_, known)| *known == one).map_or("", |(name, _)| name)
}
