//! The tune as a blob: what was written is read, and nothing else is.

use super::drawn::{Any, drawn, most};
use super::tunes::{latest_tune, v1_tune, v2_tune};
use crc::{CRC_32_ISO_HDLC, Crc};
use easeoff_core::blob::{BlobError, MOST_BYTES, VERSION, read, write};
use easeoff_core::{
    CurveSettings, DragLaw, DragSettings, HoldSettings, Knots, ModeSettings, ReversePolicy,
    SafeState, Setting, Settings, Shape, TickRate,
};
use proptest::prelude::*;

/// A blob of version 1, written before the layout first changed.
const V1: &[u8] = include_bytes!("../../data/tune-v1.blob");

/// All that version 1 has.
const V1_SETTINGS: [&str; 41] = [
    "pulse.plausible_low_us",
    "pulse.plausible_high_us",
    "pulse.loss_after_ms",
    "calibration.low_us",
    "calibration.neutral_us",
    "calibration.high_us",
    "calibration.dead_band_us",
    "calibration.reversed",
    "curve.blend",
    "slew.rise_per_s",
    "slew.ease_per_s",
    "mode.arm_ms",
    "mode.reverse",
    "mode.rest_rad_s",
    "mode.pause_ms",
    "safe_state",
    "drag.strength",
    "drag.delay_ms",
    "drag.onset_ms",
    "drag.shape",
    "drag.release_ms",
    "drag.law",
    "drag.full_a",
    "hold.full_speed_rad_s",
    "hold.feed_forward",
    "hold.gain",
    "hold.gain_per_s",
    "hold.droop",
    "hold.authority",
    "hold.fade_ms",
    "limits.drive_a",
    "limits.brake_a",
    "limits.cells",
    "limits.derate_from_v",
    "limits.derate_to_v",
    "limits.derate_from_c",
    "limits.derate_to_c",
    "limits.reverse",
    "motor.kv_rpm_per_v",
    "motor.gear_ratio",
    "motor.resistance_ohm",
];

/// A blob of version 2, with everything in it.
const V2: &[u8] = include_bytes!("../../data/tune-v2.blob");

/// The latest blob, with everything in it.
const LATEST: &[u8] = include_bytes!("../../data/tune-v3.blob");

fn blob(tune: &Settings) -> Vec<u8> {
    let mut buffer = [0; MOST_BYTES];
    let used = write(tune, &mut buffer).unwrap();
    buffer[..used].to_vec()
}

/// Anything as a body with header and checksum around it.
fn wrapped(version: u16, body: &[u8]) -> Vec<u8> {
    let mut bytes = V1[..4].to_vec();
    bytes.extend(version.to_le_bytes());
    bytes.extend((body.len() as u16).to_le_bytes());
    bytes.extend(body);
    bytes.extend(Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(&bytes).to_le_bytes());
    bytes
}

/// The body of a blob.
fn body(bytes: &[u8]) -> &[u8] {
    &bytes[8..bytes.len() - 4]
}

proptest! {
    /// Any bit pattern in any number; NaN is not equal to itself, hence the bytes and the words.
    #[test]
    fn what_was_written_is_read(seed: u64) {
        let tune: Settings = drawn(&mut Any(seed));
        let bytes = blob(&tune);
        let again = read(&bytes).unwrap();
        prop_assert_eq!(&blob(&again), &bytes);
        prop_assert_eq!(format!("{again:?}"), format!("{tune:?}"));
        let mut page = bytes.clone();
        page.resize(1_024, 0xff);
        prop_assert_eq!(blob(&read(&page).unwrap()), bytes);
    }

    /// Whatever stands in a body with the right checksum: a tune or an error, no panic; and what is
    /// a tune says the same when written again.
    #[test]
    fn a_strange_body_is_read_or_refused(
        version in 0..=VERSION,
        strange in proptest::collection::vec(any::<u8>(), 0..200),
        place: usize,
    ) {
        let _ = read(&wrapped(version, &strange));
        let mut near = body(&blob(&v1_tune())).to_vec();
        for (offset, byte) in strange.iter().take(3).enumerate() {
            let place = (place / 2 + offset) % near.len();
            near[place] = *byte;
        }
        match read(&wrapped(VERSION, &near)) {
            Ok(tune) => {
                let again = blob(&tune);
                prop_assert_eq!(body(&again), &near);
            }
            Err(error) => prop_assert_eq!(error, BlobError::Malformed),
        }
    }
}

#[test]
fn the_largest_tune_fits_and_a_smaller_buffer_is_refused() {
    let most = most(|tune: &Settings| blob(tune).len());
    println!("the largest tune takes {most} bytes of {MOST_BYTES}");
    assert!(most > blob(&Settings::default()).len() && most <= MOST_BYTES);
    let tune = v1_tune();
    let bytes = blob(&tune);
    for room in 0..bytes.len() {
        assert_eq!(write(&tune, &mut vec![0; room]), Err(BlobError::NoRoom), "in {room} bytes");
    }
    assert_eq!(write(&tune, &mut vec![0; bytes.len()]), Ok(bytes.len()));
}

#[test]
fn every_flipped_bit_and_every_cut_is_refused() {
    let nearly_empty = blob(&Settings::default());
    for good in [&blob(&v1_tune()), &nearly_empty, &V1.to_vec()] {
        assert!(read(good).is_ok());
        for after in [&[][..], &[0xff; 600], &[0; 600]] {
            for bit in 0..good.len() * 8 {
                let mut bytes = good.clone();
                bytes.extend(after);
                bytes[bit / 8] ^= 1 << (bit % 8);
                let result = read(&bytes);
                let reported = match bit / 8 {
                    0..4 => matches!(result, Err(BlobError::NotATune)),
                    6..8 => matches!(result, Err(BlobError::Cut | BlobError::Damaged)),
                    _ => matches!(result, Err(BlobError::Damaged)),
                };
                assert!(reported, "bit {bit}: {result:?}");
            }
        }
        for length in 0..good.len() {
            assert_eq!(read(&good[..length]), Err(BlobError::Cut), "cut to {length}");
            let mut page = good[..length].to_vec();
            page.resize(1_024, 0xff);
            // Unless the page's filling happens to be what was cut off.
            if page[..good.len()] != good[..] {
                assert!(read(&page).is_err(), "cut to {length} in a page");
            }
        }
    }
}

#[test]
fn version_1_is_read() {
    let tune = v1_tune();
    assert_eq!(read(V1), Ok(tune));
    // Nothing of it is at its default, so that every field is seen to arrive.
    let defaults = Settings { hold: Some(HoldSettings::new(30.0)), ..Settings::default() };
    for path in V1_SETTINGS {
        let setting = Setting::of(path);
        let all = |tune| (setting.number(tune), setting.flag(tune), setting.name(tune));
        assert_ne!(all(&tune), all(&defaults), "{path}");
    }
    assert!(tune.prepare(TickRate::new(1_000).unwrap()).is_ok());
}

/// What `drawn` makes goes through the same reading as a blob, hence a curve from elsewhere.
#[test]
fn the_knots_of_a_curve_are_read() {
    let points = [[0.2, 0.05], [0.6, 0.3], [0.9, 0.9]];
    let curve = CurveSettings::Knots(Knots::new(&points).unwrap());
    let tune = Settings { curve, ..Settings::default() };
    assert_eq!(read(&blob(&tune)), Ok(tune));
}

/// The bytes in which version 1 keeps its choices, counted from the body's begin.
#[test]
fn every_choice_of_version_1_is_read() {
    let with = |place: usize, choice: usize| {
        let mut body = body(V1).to_vec();
        body[place] = choice as u8;
        read(&wrapped(1, &body))
    };
    for (choice, (_, reverse)) in ReversePolicy::NAMED.into_iter().enumerate() {
        let mode = ModeSettings { reverse, ..v1_tune().mode };
        assert_eq!(with(45, choice), Ok(Settings { mode, ..v1_tune() }));
    }
    for (choice, (_, safe_state)) in SafeState::NAMED.into_iter().enumerate() {
        assert_eq!(with(54, choice), Ok(Settings { safe_state, ..v1_tune() }));
    }
    for (choice, (_, shape)) in Shape::NAMED.into_iter().take(3).enumerate() {
        let drag = DragSettings { shape, ..v1_tune().drag };
        assert_eq!(with(67, choice), Ok(Settings { drag, ..v1_tune() }));
    }
    // The duty law has no current behind it.
    let body = [&body(V1)[..72], &[0], &body(V1)[77..]].concat();
    let drag = DragSettings { law: DragLaw::Duty, ..v1_tune().drag };
    assert_eq!(read(&wrapped(1, &body)), Ok(Settings { drag, ..v1_tune() }));
}

#[test]
fn version_2_is_read_and_what_came_later_is_off() {
    assert_eq!(read(V2), Ok(v2_tune()));
    assert_eq!(v2_tune().drag.soft_below_rad_s, 0.0);
    // Its parts may be absent, and its curve a blend.
    let absent = Settings {
        curve: CurveSettings::Cubic { blend: 0.25 },
        rest: None,
        hold: None,
        ..Settings::default()
    };
    let mut body = body(&blob(&absent)).to_vec();
    // Where the latest version has what came later.
    body.drain(SOFT_BELOW..SOFT_BELOW + 4);
    assert_eq!(read(&wrapped(2, &body)), Ok(absent));
}

/// Place of `drag.soft_below_rad_s` in the body of a tune whose curve is a blend.
const SOFT_BELOW: usize = 78;

/// The latest layout, with everything in it. If this fails, [`Settings`] has changed. After a release raise
/// the version, keep the old layout beside `v1` and `v2`, and keep this file as its example.
#[test]
fn the_latest_version_is_laid_out_as_it_was() {
    let tune = latest_tune();
    assert_eq!(blob(&tune), LATEST, "before a release: run `cargo xtask settings`");
    assert_eq!(read(LATEST), Ok(tune));
}

#[test]
fn a_newer_version_is_refused_by_name() {
    let bytes = wrapped(VERSION + 1, body(&blob(&v1_tune())));
    let error = read(&bytes).unwrap_err();
    assert_eq!(error, BlobError::Newer { version: VERSION + 1 });
    assert_eq!(
        error.to_string(),
        format!(
            "the tune has version {}; this build reads versions 1 to {VERSION}: update the build, \
             or store the tune again with this one",
            VERSION + 1
        )
    );
    // Whatever a newer body looks like.
    assert_eq!(read(&wrapped(40_000, &[])), Err(BlobError::Newer { version: 40_000 }));
}

#[test]
fn a_whole_blob_of_something_else_is_refused() {
    let good = blob(&v1_tune());
    let body = body(&good);
    assert_eq!(read(&wrapped(VERSION, body)), Ok(v1_tune()));
    let longer = [body, &[0]].concat();
    for (version, body) in [(0, body), (VERSION, &longer), (1, &[]), (VERSION, &body[1..])] {
        assert_eq!(read(&wrapped(version, body)), Err(BlobError::Malformed));
    }
    for page in [[0xff; 64], [0; 64]] {
        assert_eq!(read(&page), Err(BlobError::NotATune));
    }
}

#[test]
fn a_blob_is_not_trusted() {
    let mut tune = Settings::default();
    tune.drag.onset_ms = -1.0;
    tune.curve = CurveSettings::Cubic { blend: f32::NAN };
    let read = read(&blob(&tune)).unwrap();
    let errors = read.prepare(TickRate::new(1_000).unwrap()).unwrap_err();
    let names: Vec<&str> = errors.iter().map(|error| error.parameter).collect();
    assert_eq!(names, ["curve.blend", "drag.onset_ms"]);
}
