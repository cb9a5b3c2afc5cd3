//! The tune: the controller's settings, read from a file into [`easeoff_core::Settings`].
//!
//! Ranges are not repeated here: the core checks its own settings, and its complaints are shown at
//! their lines.

use easeoff_core::{
    CurveSettings, DragLaw, GiveWaySettings, HoldSettings, Knots, MOST_KNOTS, MotorSettings,
    PackRecovery, RestSettings, ReversePolicy, SafeState, Settings, SettingsError,
    SettingsErrorKind, Shape, StallSettings, TickRate,
};

use crate::files::document::Document;
use crate::files::mistake::{Refusal, Source, range_remedy};
use crate::files::reader::Table;
use easeoff_plant::rig::Rig;

#[derive(Clone, Copy)]
enum LawName {
    Share,
    Current,
}

/// Reads a tune file. What the controller must know of motor, gears and pack comes from the rig.
///
/// # Errors
/// Every mistake in the file.
pub fn read(source: &Source, rig: &Rig) -> Result<Settings, Refusal> {
    let document = Document::parse(source)?;
    let settings = settings(&document.top(), rig);
    if let Some(rate) = TickRate::new(rig.board.tick_hz)
        && let Err(errors) = settings.prepare(rate)
    {
        for error in errors.iter() {
            document.report(error.parameter, error.to_string(), remedy(error));
        }
    }
    document.finish(settings)
}

/// What to do about a setting that the core refuses.
pub fn remedy(error: &SettingsError) -> String {
    match error.kind {
        SettingsErrorKind::OutOfRange { value, min, max } => range_remedy(value.into(), min, max),
        SettingsErrorKind::Contradicts { rule, .. } => rule.into(),
    }
}

/// What a tune says of the drive and a rig says otherwise, a sentence each: none where the tune was
/// made for this rig.
pub fn misfits(settings: &Settings, rig: &Rig) -> Vec<String> {
    let (tune, ours) = (settings.motor, motor_settings(rig));
    [
        ("kV", tune.kv_rpm_per_v, ours.kv_rpm_per_v, "rpm/V"),
        ("gearing", tune.gear_ratio, ours.gear_ratio, "motor turns per wheel turn"),
        ("resistance", tune.resistance_ohm, ours.resistance_ohm, "ohm of windings and bridge"),
        ("pack", settings.limits.cells.into(), rig.pack.cells as f32, "cells"),
    ]
    .into_iter()
    .filter(|(_, tune, ours, _)| tune != ours)
    .map(|(what, tune, ours, unit)| format!("{what}: the tune has {tune}, the rig {ours} {unit}"))
    .collect()
}

/// What the core needs to know of this rig's drive.
pub fn motor_settings(rig: &Rig) -> MotorSettings {
    MotorSettings {
        kv_rpm_per_v: rig.motor.kv_rpm_per_v as f32,
        gear_ratio: rig.gears.ratio() as f32,
        resistance_ohm: (rig.motor.resistance_ohm + rig.bridge.resistance_ohm) as f32,
        estimate_from_a: None,
    }
}

fn settings(top: &Table<'_>, rig: &Rig) -> Settings {
    let mut settings = Settings { motor: motor_settings(rig), ..Settings::default() };

    let pulse = top.optional_table("pulse");
    set(&pulse, "plausible_low_us", &mut settings.pulse.plausible_low_us);
    set(&pulse, "plausible_high_us", &mut settings.pulse.plausible_high_us);
    set(&pulse, "jump_us", &mut settings.pulse.jump_us);
    let bridge = u32::from(settings.pulse.bridge);
    settings.pulse.bridge = pulse.whole_or("bridge", 0..=100, bridge) as u8;
    set(&pulse, "loss_after_ms", &mut settings.pulse.loss_after_ms);

    let calibration = top.optional_table("calibration");
    set(&calibration, "low_us", &mut settings.calibration.low_us);
    set(&calibration, "neutral_us", &mut settings.calibration.neutral_us);
    set(&calibration, "high_us", &mut settings.calibration.high_us);
    set(&calibration, "dead_band_us", &mut settings.calibration.dead_band_us);
    settings.calibration.reversed = calibration.flag_or("reversed", false);

    settings.curve = curve(&top.optional_table("curve"));

    let slew = top.optional_table("slew");
    set(&slew, "rise_per_s", &mut settings.slew.rise_per_s);
    set(&slew, "ease_per_s", &mut settings.slew.ease_per_s);

    let mode = top.optional_table("mode");
    set(&mode, "arm_ms", &mut settings.mode.arm_ms);
    set(&mode, "rest_rad_s", &mut settings.mode.rest_rad_s);
    set(&mode, "pause_ms", &mut settings.mode.pause_ms);
    settings.mode.reverse = mode.choice_or("reverse", &ReversePolicy::NAMED, settings.mode.reverse);
    settings.safe_state = top.choice_or("safe_state", &SafeState::NAMED, settings.safe_state);

    let drag = top.optional_table("drag");
    set(&drag, "strength", &mut settings.drag.strength);
    set(&drag, "delay_ms", &mut settings.drag.delay_ms);
    set(&drag, "onset_ms", &mut settings.drag.onset_ms);
    set(&drag, "follow", &mut settings.drag.follow);
    set(&drag, "release_ms", &mut settings.drag.release_ms);
    settings.drag.shape = drag.choice_or("shape", &Shape::NAMED, settings.drag.shape);
    let laws = [("share", LawName::Share), ("current", LawName::Current)];
    let mut full_a = 10.0;
    set(&drag, "full_a", &mut full_a);
    settings.drag.law = match drag.choice_or("law", &laws, LawName::Share) {
        LawName::Share => DragLaw::Share,
        LawName::Current => DragLaw::Current { full_a },
    };

    settings.rest = switched(top, "rest", RestSettings::default(), |table, rest| {
        set(table, "gain_per_rad", &mut rest.gain_per_rad);
        set(table, "damping_s_per_rad", &mut rest.damping_s_per_rad);
        set(table, "authority", &mut rest.authority);
        set(table, "below_rad_s", &mut rest.below_rad_s);
    });
    settings.hold = switched(top, "hold", HoldSettings::default(), hold);

    let limits = top.optional_table("limits");
    settings.limits.cells = rig.pack.cells as u8;
    settings.limits.drive_a = limits.bare_number("drive_a").map(|amps| amps as f32);
    settings.limits.brake_a = limits.bare_number("brake_a").map(|amps| amps as f32);
    set(&limits, "fade_from_v", &mut settings.limits.fade_from_v);
    set(&limits, "fade_to_v", &mut settings.limits.fade_to_v);
    set(&limits, "full_v", &mut settings.limits.full_v);
    set(&limits, "recover_v", &mut settings.limits.recover_v);
    let recovery = settings.limits.pack_recovery;
    settings.limits.pack_recovery =
        limits.choice_or("pack_recovery", &PackRecovery::NAMED, recovery);
    set(&limits, "hot_from_c", &mut settings.limits.hot_from_c);
    set(&limits, "hot_to_c", &mut settings.limits.hot_to_c);
    set(&limits, "cool_by_c", &mut settings.limits.cool_by_c);
    set(&limits, "reverse", &mut settings.limits.reverse);
    settings.limits.stall = switched(&limits, "stall", StallSettings::default(), |table, stall| {
        set(table, "below_rad_s", &mut stall.below_rad_s);
        set(table, "duty", &mut stall.duty);
        set(table, "after_ms", &mut stall.after_ms);
    });
    let estimate = top.optional_table("motor").bare_number("estimate_from_a");
    settings.motor.estimate_from_a = estimate.map(|amps| amps as f32);
    settings
}

/// A part that is there when its table is, unless the table says `on = false`.
fn switched<T>(
    above: &Table<'_>,
    name: &'static str,
    mut part: T,
    read: impl FnOnce(&Table<'_>, &mut T),
) -> Option<T> {
    if !above.has(name) {
        return None;
    }
    let table = above.optional_table(name);
    read(&table, &mut part);
    table.flag_or("on", true).then_some(part)
}

fn curve(table: &Table<'_>) -> CurveSettings {
    let mut blend = 0.0;
    set(table, "blend", &mut blend);
    // Their places are checked by the core.
    let Some(pairs) = table.pairs("knots", 0, [-1.0e9..=1.0e9, -1.0e9..=1.0e9]) else {
        return CurveSettings::Cubic { blend };
    };
    if table.has("blend") {
        let what = "curve.knots stands beside curve.blend".into();
        table.contradiction("knots", what, "keep one of them");
    }
    let points: Vec<[f32; 2]> = pairs.iter().map(|pair| pair.map(|number| number as f32)).collect();
    Knots::new(&points).map_or_else(
        || {
            let what =
                format!("curve.knots has {} pairs; allowed is 0 to {MOST_KNOTS}", pairs.len());
            table.contradiction("knots", what, "leave some out");
            CurveSettings::default()
        },
        CurveSettings::Knots,
    )
}

fn hold(table: &Table<'_>, hold: &mut HoldSettings) {
    set(table, "full_speed_rad_s", &mut hold.full_speed_rad_s);
    set(table, "feed_forward", &mut hold.feed_forward);
    set(table, "gain", &mut hold.gain);
    set(table, "gain_per_s", &mut hold.gain_per_s);
    set(table, "droop", &mut hold.droop);
    set(table, "authority", &mut hold.authority);
    set(table, "fade_ms", &mut hold.fade_ms);
    hold.give_way = switched(table, "give_way", GiveWaySettings::default(), |table, give_way| {
        set(table, "share", &mut give_way.share);
        set(table, "after_ms", &mut give_way.after_ms);
        set(table, "release_ms", &mut give_way.release_ms);
    });
}

fn set(table: &Table<'_>, key: &'static str, value: &mut f32) {
    if let Some(number) = table.bare_number(key) {
        *value = number as f32;
    }
}
