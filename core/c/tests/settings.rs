//! The settings as C has them: nothing is lost on the way there and back, and what cannot be is told.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    missing_docs,
    unreachable_pub,
    unsafe_code,
    reason = "tests compute, panic, and call what C calls"
)]

#[path = "../../tests/integration/wire/drawn.rs"]
#[allow(dead_code, reason = "the core's tests use the rest")]
mod drawn;

use std::ffi::{CStr, c_char};

use drawn::{Any, drawn};
use easeoff_c::{
    EASEOFF_CONTROLLER_WORDS, EASEOFF_TEXT_BYTES, easeoff_controller, easeoff_mistake,
    easeoff_prepare, easeoff_settings, easeoff_status,
};
use easeoff_core::{Kind, SETTINGS, Settings, SettingsError, SettingsErrorKind, Shape, TickRate};
use proptest::prelude::*;

const HZ: u32 = 1_000;

/// What C reads as the mistake of a number, into a buffer of `room` bytes.
fn mistake(settings: &easeoff_settings, number: usize, room: usize) -> (easeoff_status, String) {
    let mut text = [0x7f as c_char; 2 * EASEOFF_TEXT_BYTES];
    // SAFETY: both point to what they say, and `room` is not more than there is.
    let status = unsafe { easeoff_mistake(settings, HZ, number, text.as_mut_ptr(), room) };
    assert!(text[room..].iter().all(|byte| *byte == 0x7f), "beyond {room} bytes");
    // SAFETY: it ends with a zero, which the call sees to.
    let text = unsafe { CStr::from_ptr(text.as_ptr()) };
    (status, text.to_str().unwrap().to_owned())
}

fn mistakes(settings: &easeoff_settings) -> Vec<String> {
    let mut all = Vec::new();
    loop {
        let (status, text) = mistake(settings, all.len(), EASEOFF_TEXT_BYTES);
        match status {
            easeoff_status::Ok => all.push(text),
            easeoff_status::NoMistake => return all,
            other => panic!("{other:?} after {all:#?}"),
        }
    }
}

/// Number by number: with a float's own words these may differ, its value may not.
fn same(reported: &str, due: &SettingsError) -> bool {
    let numbers = match due.kind {
        SettingsErrorKind::OutOfRange { value, min, max } => vec![value, min, max],
        SettingsErrorKind::Contradicts { value, .. } => vec![value],
    };
    let words: Vec<f32> = reported
        .split([' ', ';'])
        .filter_map(|word| word.parse().ok())
        .take(numbers.len())
        .collect();
    let equal = |(a, b): (&f32, &f32)| a == b || a.is_nan() && b.is_nan();
    reported.starts_with(due.parameter)
        && words.len() == numbers.len()
        && words.iter().zip(&numbers).all(equal)
}

proptest! {
    /// Any bit pattern in any number, every option and every choice; NaN is not equal to itself, hence
    /// the bytes of the blob and the words.
    #[test]
    fn every_setting_comes_back(seed: u64) {
        let settings: Settings = drawn(&mut Any(seed));
        let (again, wrong) = easeoff_settings::from(settings).read();
        prop_assert!(wrong.is_empty(), "{:?}", wrong);
        prop_assert_eq!(format!("{again:?}"), format!("{settings:?}"));
        let blob = |settings| {
            let mut buffer = [0; easeoff_core::blob::MOST_BYTES];
            easeoff_core::blob::write(settings, &mut buffer).map(|_| buffer.to_vec())
        };
        prop_assert_eq!(blob(&again), blob(&settings));
    }

    /// What the core says of settings is what C is told, mistake by mistake.
    #[test]
    fn every_mistake_is_told(seed: u64) {
        let settings: Settings = drawn(&mut Any(seed));
        let errors = settings.prepare(TickRate::new(HZ as u16).unwrap()).err();
        let due: Vec<SettingsError> = errors.iter().flat_map(|all| all.iter()).copied().collect();
        let reported = mistakes(&settings.into());
        prop_assert_eq!(reported.len(), due.len());
        for (reported, due) in reported.iter().zip(&due) {
            prop_assert!(same(reported, due), "told {}\ndue {}", reported, due);
        }
    }
}

/// A setting of the list is a field of its table's struct, an optional one has its `has_`.
#[test]
fn the_header_has_every_setting_of_the_list() {
    let header =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/easeoff.h")).unwrap();
    let fields = |table: &str| {
        let last = table.rsplit('.').next().unwrap();
        let name = match last {
            "" => "easeoff_settings".into(),
            "mode" => "easeoff_mode_settings".into(),
            last => format!("easeoff_{last}"),
        };
        let from = header.find(&format!("typedef struct {name} {{")).unwrap();
        header[from..].split('}').next().unwrap().to_owned()
    };
    for setting in SETTINGS {
        let (table, key) = setting.table_and_key();
        let has = |table: &str, kind: &str, name: &str| {
            let field = format!("{kind} {name};");
            let found = fields(table).contains(&field);
            assert!(found, "{}: no {field} of {table:?}", setting.path);
        };
        match setting.kind {
            Kind::Number { .. } => has(table, "float", key),
            Kind::Optional { .. } => {
                has(table, "float", key);
                has(table, "uint8_t", &format!("has_{key}"));
            }
            Kind::Whole { .. } | Kind::Flag { .. } | Kind::Choice { .. } => {
                has(table, "uint8_t", key);
            }
            Kind::Part { .. } => {
                let (above, part) = table.rsplit_once('.').unwrap_or(("", table));
                has(above, &format!("struct easeoff_{part}"), part);
                has(above, "uint8_t", &format!("has_{part}"));
            }
            Kind::Knots { .. } => has(table, "uint8_t", "knot_count"),
        }
    }
}

#[test]
fn a_mistake_reads_as_in_the_program() {
    let mut settings = Settings::default();
    settings.drag.onset_ms = -1.0;
    settings.mode.arm_ms = 100.0;
    settings.pulse.loss_after_ms = 75.5;
    let errors = settings.prepare(TickRate::new(HZ as u16).unwrap()).unwrap_err();
    let due: Vec<String> = errors.iter().map(ToString::to_string).collect();
    assert_eq!(mistakes(&settings.into()), due);
    assert_eq!(due.len(), 2);
}

#[test]
fn a_choice_that_does_not_exist_is_told_and_refused() {
    type Change = fn(&mut easeoff_settings);
    let shapes = format!("drag.shape is 255; allowed is 0 to {}", Shape::NAMED.len() - 1);
    let changes: [(Change, &str); 15] = [
        (|s| s.safe_state = 2, "safe_state is 2; allowed is 0 to 1"),
        (|s| s.has_rest = 2, "has_rest is 2; allowed is 0 to 1"),
        (|s| s.has_hold = 255, "has_hold is 255; allowed is 0 to 1"),
        (|s| s.calibration.reversed = 7, "calibration.reversed is 7; allowed is 0 to 1"),
        (|s| s.curve.kind = 2, "curve.kind is 2; allowed is 0 to 1"),
        (
            |s| (s.curve.kind, s.curve.knot_count) = (1, 10),
            "curve.knot_count is 10; allowed is 0 to 9",
        ),
        (|s| s.mode.reverse = 3, "mode.reverse is 3; allowed is 0 to 2"),
        (|s| s.drag.law = 2, "drag.law is 2; allowed is 0 to 1"),
        (|s| s.drag.shape = 255, &shapes),
        (
            |s| {
                (s.has_hold, s.hold.full_speed_rad_s) = (1, 30.0);
                s.hold.has_give_way = 2;
            },
            "hold.has_give_way is 2; allowed is 0 to 1",
        ),
        (|s| s.limits.has_drive_a = 2, "limits.has_drive_a is 2; allowed is 0 to 1"),
        (|s| s.limits.has_brake_a = 2, "limits.has_brake_a is 2; allowed is 0 to 1"),
        (|s| s.limits.pack_recovery = 2, "limits.pack_recovery is 2; allowed is 0 to 1"),
        (|s| s.limits.has_stall = 2, "limits.has_stall is 2; allowed is 0 to 1"),
        (|s| s.motor.has_estimate_from_a = 2, "motor.has_estimate_from_a is 2; allowed is 0 to 1"),
    ];
    let mut all_wrong = easeoff_settings::from(Settings::default());
    for (change, due) in changes {
        let mut settings = easeoff_settings::from(Settings::default());
        change(&mut settings);
        assert_eq!(mistakes(&settings), [due]);
        let mut controller = easeoff_controller { opaque: [0; EASEOFF_CONTROLLER_WORDS] };
        // SAFETY: both point to what they say.
        let status = unsafe { easeoff_prepare(&mut controller, &settings, HZ) };
        assert_eq!(status, easeoff_status::BadSettings, "{due}");
        change(&mut all_wrong);
    }
    // There is room for all at once: but two, which a later change put right to get further in.
    assert_eq!(mistakes(&all_wrong).len(), changes.len() - 2);
}

/// Any bytes may stand in what C hands over.
#[test]
fn settings_of_noise_are_refused() {
    let mut noise = Any(1);
    for _ in 0..1_000 {
        let mut settings = std::mem::MaybeUninit::<easeoff_settings>::uninit();
        let words = settings.as_mut_ptr().cast::<u32>();
        for word in 0..size_of::<easeoff_settings>() / 4 {
            // SAFETY: it lies within the settings.
            unsafe { words.add(word).write(noise.next()) };
        }
        // SAFETY: all bytes are written, and any make settings.
        let settings = unsafe { settings.assume_init() };
        assert!(!mistakes(&settings).is_empty());
    }
}

#[test]
fn a_text_that_does_not_fit_is_cut_at_the_end_of_the_buffer() {
    let mut settings = Settings::default();
    settings.drag.onset_ms = -1.0;
    let settings = easeoff_settings::from(settings);
    let whole = "drag.onset_ms is -1; allowed is 0 to 10000";
    for room in 1..=whole.len() {
        let (status, text) = mistake(&settings, 0, room);
        assert_eq!((status, &*text), (easeoff_status::NoRoom, &whole[..room - 1]));
    }
    assert_eq!(mistake(&settings, 0, whole.len() + 1), (easeoff_status::Ok, whole.into()));
    let mut nothing = 0x7f as c_char;
    // SAFETY: no byte is there, and none may be written.
    let status = unsafe { easeoff_mistake(&settings, HZ, 0, &mut nothing, 0) };
    assert_eq!((status, nothing), (easeoff_status::NoRoom, 0x7f as c_char));
}
