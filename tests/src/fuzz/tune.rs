//! Tunes, inputs and commands from a fuzzer's bytes.

use easeoff_core::{
    Amp, Celsius, Command, CurveSettings, Duty, Input, Kind, Knots, Microseconds, RestSettings,
    ReversePolicy, SETTINGS, Setting, Settings, Speed, Strength, TickRate, Volt,
};

use super::bytes::Bytes;

pub(super) fn rate(bytes: &mut Bytes<'_>) -> TickRate {
    let hz = match bytes.word() {
        0 => 1_000,
        other => 100 + other % 1_901,
    };
    TickRate::new(hz).unwrap()
}

/// Ranges narrower than the list's: of what makes most tunes contradict themselves, and of times
/// that no input is long enough for.
const NARROWED: [(&str, [f32; 2]); 11] = [
    ("calibration.low_us", [800.0, 1_400.0]),
    ("calibration.neutral_us", [1_300.0, 1_700.0]),
    ("calibration.high_us", [1_600.0, 2_200.0]),
    ("limits.full_v", [4.2, 4.2]),
    ("mode.arm_ms", [100.0, 1_000.0]),
    ("drag.delay_ms", [0.0, 1_000.0]),
    ("drag.onset_ms", [0.0, 1_000.0]),
    ("drag.release_ms", [0.0, 500.0]),
    ("hold.give_way.after_ms", [50.0, 5_000.0]),
    ("limits.stall.after_ms", [100.0, 5_000.0]),
    ("pulse.jump_us", [300.0, 2_000.0]),
];

/// Every setting within its stated range; contradictions are left to `prepare`.
pub(super) fn ranged(bytes: &mut Bytes<'_>) -> Settings {
    let mut tune = Settings::default();
    let usual = Settings::in_full();
    for setting in SETTINGS {
        draw(bytes, setting, &usual, &mut tune);
    }
    // What does not go together is another target's concern.
    tune.mode.arm_ms = tune.mode.arm_ms.max(2.0 * tune.pulse.loss_after_ms);
    let never = tune.mode.reverse == ReversePolicy::Never;
    tune.rest = tune
        .rest
        .map(|rest| RestSettings { authority: rest.authority.min(tune.limits.reverse), ..rest })
        .filter(|rest| !never && rest.authority >= 0.01);
    tune
}

fn draw(bytes: &mut Bytes<'_>, setting: &Setting, usual: &Settings, tune: &mut Settings) {
    let narrowed = NARROWED.iter().find(|(path, _)| *path == setting.path);
    let mut number = |range: [f32; 2], bytes: &mut Bytes<'_>| {
        let [low, high] = narrowed.map_or(range, |(_, range)| *range);
        let usual = setting.number(usual).unwrap_or(low);
        setting.set_number(tune, bytes.within(usual, low, high));
    };
    match setting.kind {
        Kind::Number { range, .. } | Kind::Whole { range, .. } => number(range, bytes),
        Kind::Optional { range, .. } => {
            bytes.some(|bytes| number(range, bytes));
        }
        Kind::Flag { at } => {
            if let Some(flag) = at(tune) {
                *flag = bytes.byte() & 1 == 1;
            }
        }
        Kind::Choice { of, set, .. } => set(tune, usize::from(bytes.byte()) % of.names.len()),
        Kind::Part { set, .. } => {
            set(tune, bytes.byte() & 1 == 1);
        }
        Kind::Knots { at, .. } => {
            if let Some(knots) = bytes.some(knots) {
                *at(tune) = knots;
            }
        }
    }
}

fn knots(bytes: &mut Bytes<'_>) -> CurveSettings {
    let count = bytes.byte() % 10;
    let points: Vec<[f32; 2]> =
        (0..count).map(|_| [bytes.within(0.5, 0.0, 1.0), bytes.within(0.5, 0.0, 1.0)]).collect();
    CurveSettings::Knots(Knots::new(&points).unwrap())
}

/// Stretch after stretch, to the end of the bytes.
pub(super) fn inputs<'b>(bytes: &'b mut Bytes<'_>) -> impl Iterator<Item = Input> + 'b {
    std::iter::from_fn(|| (!bytes.is_empty()).then(|| leg(bytes))).flatten()
}

/// A stretch of time in which driver and sensors each do one thing.
pub(super) fn leg(bytes: &mut Bytes<'_>) -> impl Iterator<Item = Input> + use<> {
    let (length, every, given) = (bytes.byte(), 1 + usize::from(bytes.byte() % 32), bytes.byte());
    let is_given = |bit: u8| given & (1 << bit) != 0;
    let pulse = match bytes.word() {
        0 => Microseconds::new(1_500.0),
        raw if is_given(5) => Some(Microseconds::from_bits(i32::from(raw as i16) << 12)),
        us => Microseconds::new(800.0 + f32::from(us % 14_400) / 10.0),
    };
    let pulse = pulse.filter(|_| !is_given(0));
    let rest = Input {
        pulse: None,
        speed: is_given(1).then(|| Speed::from_bits(bytes.bits())),
        current: is_given(2).then(|| Amp::from_bits(bytes.bits())),
        voltage: is_given(3).then(|| Volt::from_bits(bytes.bits())),
        temperature: is_given(4).then(|| Celsius::from_bits(bytes.bits())),
    };
    let ticks = 1 + usize::from(length) * usize::from(length) / 64;
    (0..ticks).map(move |tick| Input { pulse: pulse.filter(|_| tick % every == 0), ..rest })
}

/// Any command.
pub(super) fn command(bytes: &mut Bytes<'_>) -> Command {
    match bytes.byte() % 3 {
        0 => Command::Drive { duty: Duty::from_bits(i32::from(bytes.word() as i16) << 2) },
        1 => Command::Brake { strength: Strength::from_bits(i32::from(bytes.word()) << 1) },
        _ => Command::Coast,
    }
}
