//! The tune as Rust source.

use easeoff_core::{
    Calibration, CurveSettings, DragLaw, DragSettings, GiveWaySettings, HoldSettings,
    LimitSettings, ModeSettings, MotorSettings, PackRecovery, PulseSettings, RestSettings,
    ReversePolicy, SafeState, Settings, Shape, SlewSettings, StallSettings,
};

use super::head;

/// How every source written here begins.
pub const BEGINNING: &str = "// easeoff tune, Rust source.";

/// A function `tune()` that makes these settings, to the bit, with the crate `easeoff_core`.
///
/// Settings are public structs, so that the compiler tells when a core has other ones than these.
pub fn source(tune: &Settings) -> String {
    let lines: String =
        head(tune).iter().map(|line| format!("// {line}").trim_end().to_owned() + "\n").collect();
    let body = tune.literal().replace('\n', "\n    ");
    format!(
        "{BEGINNING}\n{lines}\nuse easeoff_core::*;\n\n/// The exported tune.\npub fn tune() -> Settings {{\n    \
         {body}\n}}\n"
    )
}

/// A value as an expression of Rust.
trait Literal {
    fn literal(&self) -> String;
}

/// As Rust prints it: shortest that reads back to the same bits.
macro_rules! as_printed {
    ($($kind:ty),*) => { $(
        impl Literal for $kind {
            fn literal(&self) -> String {
                format!("{self:?}")
            }
        }
    )* };
}

/// A choice without numbers; printed by its variant.
macro_rules! choices {
    ($($kind:ident),*) => { $(
        impl Literal for $kind {
            fn literal(&self) -> String {
                format!("{}::{self:?}", stringify!($kind))
            }
        }
    )* };
}

/// A struct with all its fields: the pattern does not compile when one is missing here.
macro_rules! structs {
    ($($kind:ident { $($field:ident),* $(,)? })*) => { $(
        impl Literal for $kind {
            fn literal(&self) -> String {
                let $kind { $($field),* } = self;
                braced(stringify!($kind), &[$((stringify!($field), $field.literal())),*])
            }
        }
    )* };
}

as_printed!(f32, u8, bool);
choices!(SafeState, ReversePolicy, Shape, PackRecovery);
structs! {
    Settings {
        pulse, calibration, curve, slew, mode, safe_state, drag, rest, hold, limits, motor,
    }
    PulseSettings { plausible_low_us, plausible_high_us, jump_us, bridge, loss_after_ms }
    Calibration { low_us, neutral_us, high_us, dead_band_us, reversed }
    SlewSettings { rise_per_s, ease_per_s }
    ModeSettings { arm_ms, reverse, rest_rad_s, pause_ms }
    DragSettings { strength, delay_ms, onset_ms, shape, follow, release_ms, law }
    RestSettings { gain_per_rad, damping_s_per_rad, authority, below_rad_s }
    HoldSettings {
        full_speed_rad_s, feed_forward, gain, gain_per_s, droop, authority, fade_ms, give_way,
    }
    GiveWaySettings { share, after_ms, release_ms }
    LimitSettings {
        drive_a, brake_a, cells, full_v, fade_from_v, fade_to_v, recover_v, pack_recovery,
        hot_from_c, hot_to_c, cool_by_c, stall, reverse,
    }
    StallSettings { below_rad_s, duty, after_ms }
    MotorSettings { kv_rpm_per_v, gear_ratio, resistance_ohm, estimate_from_a }
}

impl Literal for CurveSettings {
    fn literal(&self) -> String {
        match self {
            Self::Cubic { blend } => format!("CurveSettings::Cubic {{ blend: {blend:?} }}"),
            // More than nine points cannot be in a tune; the default stands in without a panic path.
            Self::Knots(knots) => format!(
                "CurveSettings::Knots(Knots::new(&{:?}).unwrap_or_default())",
                knots.points()
            ),
        }
    }
}

impl Literal for DragLaw {
    fn literal(&self) -> String {
        match self {
            Self::Share => "DragLaw::Share".into(),
            Self::Current { full_a } => format!("DragLaw::Current {{ full_a: {full_a:?} }}"),
        }
    }
}

impl<T: Literal> Literal for Option<T> {
    fn literal(&self) -> String {
        self.as_ref().map_or("None".into(), |value| format!("Some({})", value.literal()))
    }
}

fn braced(kind: &str, fields: &[(&str, String)]) -> String {
    let lines: String = fields.iter().map(|(name, value)| format!("{name}: {value},\n")).collect();
    format!("{kind} {{\n    {}\n}}", lines.trim_end().replace('\n', "\n    "))
}
