//! The tune: the controller's settings, read from a file into [`easeoff_core::Settings`].
//!
//! Ranges are not repeated here: the core checks its own settings, and its complaints are shown at
//! their lines.

use easeoff_core::{
    DragLaw, HoldSettings, MotorSettings, ReversePolicy, SafeState, Settings, SettingsErrorKind,
    Shape, TickRate,
};

use crate::document::Document;
use crate::mistake::{Refusal, Source, range_remedy};
use crate::reader::Table;
use crate::rig::Rig;

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
        for error in errors {
            let remedy = match error.kind {
                SettingsErrorKind::OutOfRange { value, min, max } => {
                    range_remedy(value.into(), min, max)
                }
                SettingsErrorKind::Contradicts { rule, .. } => rule.into(),
            };
            document.report(error.parameter, error.to_string(), remedy);
        }
    }
    document.finish(settings)
}

/// What the core needs to know of this rig's drive.
pub fn motor_settings(rig: &Rig) -> MotorSettings {
    MotorSettings {
        kv_rpm_per_v: rig.motor.kv_rpm_per_v as f32,
        gear_ratio: rig.gears.ratio() as f32,
        resistance_ohm: (rig.motor.resistance_ohm + rig.bridge.resistance_ohm) as f32,
    }
}

fn settings(top: &Table<'_>, rig: &Rig) -> Settings {
    let mut settings = Settings { motor: motor_settings(rig), ..Settings::default() };

    let pulse = top.optional_table("pulse");
    set(&pulse, "plausible_low_us", &mut settings.pulse.plausible_low_us);
    set(&pulse, "plausible_high_us", &mut settings.pulse.plausible_high_us);
    set(&pulse, "loss_after_ms", &mut settings.pulse.loss_after_ms);

    let calibration = top.optional_table("calibration");
    set(&calibration, "low_us", &mut settings.calibration.low_us);
    set(&calibration, "neutral_us", &mut settings.calibration.neutral_us);
    set(&calibration, "high_us", &mut settings.calibration.high_us);
    set(&calibration, "dead_band_us", &mut settings.calibration.dead_band_us);
    settings.calibration.reversed = calibration.flag_or("reversed", false);

    set(&top.optional_table("curve"), "blend", &mut settings.curve.blend);

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
    set(&drag, "release_ms", &mut settings.drag.release_ms);
    settings.drag.shape = drag.choice_or("shape", &Shape::NAMED, settings.drag.shape);
    let laws = [("share", LawName::Share), ("current", LawName::Current)];
    let mut full_a = 10.0;
    set(&drag, "full_a", &mut full_a);
    settings.drag.law = match drag.choice_or("law", &laws, LawName::Share) {
        LawName::Share => DragLaw::Share,
        LawName::Current => DragLaw::Current { full_a },
    };

    settings.hold = top.has("hold").then(|| hold(&top.optional_table("hold"))).flatten();

    let limits = top.optional_table("limits");
    settings.limits.cells = rig.pack.cells as u8;
    settings.limits.drive_a = limits.bare_number("drive_a").map(|amps| amps as f32);
    settings.limits.brake_a = limits.bare_number("brake_a").map(|amps| amps as f32);
    set(&limits, "fade_from_v", &mut settings.limits.fade_from_v);
    set(&limits, "fade_to_v", &mut settings.limits.fade_to_v);
    set(&limits, "hot_from_c", &mut settings.limits.hot_from_c);
    set(&limits, "hot_to_c", &mut settings.limits.hot_to_c);
    set(&limits, "reverse", &mut settings.limits.reverse);
    settings
}

fn hold(table: &Table<'_>) -> Option<HoldSettings> {
    let mut hold = HoldSettings::default();
    set(table, "full_speed_rad_s", &mut hold.full_speed_rad_s);
    set(table, "feed_forward", &mut hold.feed_forward);
    set(table, "gain", &mut hold.gain);
    set(table, "gain_per_s", &mut hold.gain_per_s);
    set(table, "droop", &mut hold.droop);
    set(table, "authority", &mut hold.authority);
    set(table, "fade_ms", &mut hold.fade_ms);
    table.flag_or("on", true).then_some(hold)
}

fn set(table: &Table<'_>, key: &'static str, value: &mut f32) {
    if let Some(number) = table.bare_number(key) {
        *value = number as f32;
    }
}
