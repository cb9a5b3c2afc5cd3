//! Every kind of file that a rig, its tune and a ride are made of, and telemetry, cut at every byte, and with bytes changed at will: read or refused, never a panic, in
//! bounded time. What is refused has a remedy.

use std::path::Path;
use std::time::{Duration, Instant};

use easeoff_core::telemetry::{Frame, MOST_BYTES, encode};
use easeoff_core::{Settings, blob};
use easeoff_sim::files::demo::DEMOS;
use easeoff_sim::files::driver::Driver;
use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::mistake::{Refusal, Source};
use easeoff_sim::files::{demo, table, track, tune};
use easeoff_sim::run::telemetry::Recording;
use proptest::prelude::*;

/// One reading of these files takes well under a millisecond; this is for a busy machine.
const LONGEST: Duration = Duration::from_secs(2);

/// Reads bytes; whether they were taken.
type Reader = fn(&[u8]) -> bool;

/// A sample and what reads it.
struct Sample {
    name: String,
    bytes: Vec<u8>,
    reader: Reader,
    /// Whether every cut must be refused: the format knows its own end.
    knows_its_end: bool,
}

/// As [`Folder::read`] takes bytes from a disk: text or nothing. Every refusal is drawn, as for a user.
fn text(bytes: &[u8], read: impl Fn(&Source) -> Result<(), Vec<Refusal>>) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else { return false };
    let result = read(&Source::new("sample", text));
    for refusal in result.as_ref().err().into_iter().flatten() {
        assert!(!refusal.mistakes.is_empty() && !refusal.render().is_empty());
        assert!(refusal.mistakes.iter().all(|mistake| !mistake.remedy.is_empty()));
    }
    result.is_ok()
}

fn alongside() -> Folder {
    Folder::Disk(Path::new(env!("CARGO_MANIFEST_DIR")).join("data"))
}

fn rig(bytes: &[u8]) -> bool {
    text(bytes, |source| {
        easeoff_sim::files::rig::read(source).map(drop).map_err(|refusal| vec![refusal])
    })
}

fn tune(bytes: &[u8]) -> bool {
    let rig = demo::rig().unwrap();
    text(bytes, |source| tune::read(source, &rig).map(drop).map_err(|refusal| vec![refusal]))
}

fn course(bytes: &[u8]) -> bool {
    text(bytes, |source| easeoff_sim::files::course::read(source, &alongside()).map(drop))
}

fn driver(bytes: &[u8]) -> bool {
    text(bytes, |source| Driver::read(source, &alongside()).map(drop))
}

fn profile(bytes: &[u8]) -> bool {
    let ranges = [-1.0e6..=1.0e6, -1.0e4..=1.0e4];
    text(bytes, |source| {
        let read = table::read_pairs(source, ["distance_m", "height_m"], ranges.clone());
        read.map(drop).map_err(|refusal| vec![refusal])
    })
}

fn gpx(bytes: &[u8]) -> bool {
    text(bytes, |source| track::read(source).map(drop).map_err(|refusal| vec![refusal]))
}

fn telemetry(bytes: &[u8]) -> bool {
    let recording = Recording::read(bytes);
    // What is read can be shown.
    assert_eq!(recording.to_csv().lines().count(), recording.frames.len() + 1);
    assert!(recording.frames.is_empty() || recording.losses().iter().all(|loss| !loss.is_empty()));
    !recording.frames.is_empty()
}

fn stored_tune(bytes: &[u8]) -> bool {
    blob::read(bytes).is_ok()
}

fn samples() -> Vec<Sample> {
    let mut samples = Vec::new();
    let mut add = |name: &str, bytes: Vec<u8>, reader: Reader, knows_its_end| {
        samples.push(Sample { name: name.into(), bytes, reader, knows_its_end });
    };
    for demo in DEMOS {
        for (file, content) in demo.files {
            let reader: Reader = match *file {
                "rig.toml" => rig,
                "tune.toml" => tune,
                "course.toml" => course,
                "driver.toml" => driver,
                other => panic!("no reader for {other}"),
            };
            add(&format!("{} {file}", demo.name), content.as_bytes().to_vec(), reader, false);
        }
    }
    let rows: String = (0..60).map(|row| format!("{},{}\n", row, row % 7)).collect();
    add("profile.csv", format!("distance_m,height_m\n# assumed\n{rows}").into(), profile, false);
    let walk = include_bytes!("../../../data/walk.gpx").to_vec();
    add("walk.gpx", walk, gpx, true);
    let frames = (0..12).map(|sequence| Frame { sequence, ..Frame::default() });
    let bytes = frames.flat_map(|frame| encode(&frame, &mut [0; MOST_BYTES]).unwrap().to_vec());
    add("recording", bytes.collect(), telemetry, false);
    let mut page = [0; blob::MOST_BYTES];
    let length = blob::write(&Settings::default(), &mut page).unwrap();
    add("tune blob", page[..length].to_vec(), stored_tune, true);
    samples
}

fn timed(sample: &Sample, bytes: &[u8], how: &str) -> bool {
    let begun = Instant::now();
    let taken = (sample.reader)(bytes);
    let took = begun.elapsed();
    assert!(took < LONGEST, "{} {how}: {took:?}", sample.name);
    taken
}

#[test]
fn every_file_cut_at_every_byte_is_read_or_refused() {
    let mut cuts = 0;
    for sample in samples() {
        assert!(timed(&sample, &sample.bytes, "whole"), "{} is refused", sample.name);
        let end = sample.bytes.trim_ascii_end().len();
        for cut in 0..sample.bytes.len() {
            let taken = timed(&sample, &sample.bytes[..cut], &format!("cut at {cut}"));
            let may = !sample.knows_its_end || cut >= end;
            assert!(may || !taken, "{} cut at {cut} is taken", sample.name);
            // Half a line might still be a good value: 16 of 160.
            let text = !matches!(sample.name.as_str(), "recording" | "tune blob");
            let in_line = text && cut > 0 && sample.bytes[cut - 1] != b'\n';
            assert!(!in_line || !taken || cut >= end, "{} cut at {cut} is taken", sample.name);
            cuts += 1;
        }
    }
    println!("{cuts} cuts");
    #[cfg(target_os = "linux")]
    {
        // The files have 32 kB at most; the rest is the test program's own.
        let status = std::fs::read_to_string("/proc/self/status").unwrap();
        let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap();
        let kib: u64 = peak.trim().trim_end_matches(" kB").parse().unwrap();
        println!("{kib} KiB at most");
        assert!(kib < 128 << 10, "{kib} KiB of memory");
    }
    assert!(cuts > 50_000, "{cuts} cuts: samples are missing");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    /// Bytes replaced, put in and taken out anywhere, of every sample.
    #[test]
    fn any_bytes_changed_are_read_or_refused(
        changes in prop::collection::vec((any::<prop::sample::Index>(), 0..3_u8, any::<u8>()), 1..12),
        plain: bool,
    ) {
        for sample in samples() {
            let mut bytes = sample.bytes.clone();
            for (place, what, byte) in &changes {
                // What is text mostly stays text, to get past the first check.
                let byte = if plain { b' ' + byte % 95 } else { *byte };
                let place = place.index(bytes.len().max(1));
                match what {
                    0 if !bytes.is_empty() => bytes[place] = byte,
                    1 => bytes.insert(place, byte),
                    _ => drop(bytes.splice(place..(place + usize::from(byte)).min(bytes.len()), [])),
                }
            }
            timed(&sample, &bytes, "changed");
        }
    }

    /// A number swapped for any other is in its range or refused, never a panic further on.
    #[test]
    fn any_number_in_any_place_is_read_or_refused(
        which: prop::sample::Index,
        number in prop_oneof![
            any::<f64>().prop_map(|number| number.to_string()),
            any::<i64>().prop_map(|number| number.to_string()),
            Just("[]".into()), Just("1e999".into()), Just("-0.0".into()), Just("''".into()),
            Just("[[0,0],[0,0]]".into()), Just("99999999999999999999".into()),
        ],
    ) {
        for sample in samples() {
            let Ok(text) = std::str::from_utf8(&sample.bytes) else { continue };
            let values: Vec<usize> = text.match_indices(" = ").map(|(at, _)| at + 3).collect();
            if values.is_empty() { continue }
            let start = values[which.index(values.len())];
            let end = start + text[start..].find(['\n', '#']).unwrap_or(text.len() - start);
            let changed = format!("{}{number} {}", &text[..start], &text[end..]);
            timed(&sample, changed.as_bytes(), &format!("with {number} at {start}"));
        }
    }
}
