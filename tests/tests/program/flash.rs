//! A tune on its way to a board and back.

use std::fs;
use std::process::Command;

use easeoff_core::{Settings, TickRate, blob};
use easeoff_plant::rig::Rig;
use easeoff_sim::files::export::{bytes, header, source};
use easeoff_sim::files::mistake::Source;
use easeoff_sim::files::{demo, tune, tune_text};
use easeoff_tests::fuzz::sequence;
use easeoff_tests::skipped;
use proptest::prelude::*;
use tempfile::TempDir;

use crate::runner::{easeoff, good, refused, rig_folder};

/// A tune exported as Rust, compiled into this test: [`the_compiled_example_is_the_tune_to_the_bit`].
#[expect(unreachable_pub, reason = "what is written can be a crate's face")]
mod example {
    include!("../../data/easeoff_tune.rs");
}

/// The latest blob of the core's tests, with everything in it.
const LATEST: &[u8] = include_bytes!("../../../core/tests/data/tune-v3.blob");

/// The demo's rig with the drive that a tune was made for.
fn fitting(tune: &Settings) -> Rig {
    let mut rig = demo::rig().unwrap();
    rig.motor.kv_rpm_per_v = tune.motor.kv_rpm_per_v.into();
    (rig.gears.pinion_teeth, rig.gears.spur_teeth) = (20, 20);
    rig.gears.internal_ratio = tune.motor.gear_ratio.into();
    (rig.motor.resistance_ohm, rig.bridge.resistance_ohm) = (tune.motor.resistance_ohm.into(), 0.0);
    rig.pack.cells = tune.limits.cells.into();
    rig.pack.label_v = Some(3.7 * f64::from(rig.pack.cells));
    rig
}

fn there_and_back(tune: &Settings) -> Settings {
    let text = tune_text::text(tune, Some(&fitting(tune))).unwrap();
    let read = tune::read(&Source::new("tune.toml", &text), &fitting(tune));
    read.unwrap_or_else(|refusal| panic!("{}\n{text}", refusal.render()))
}

/// Bytes enough for every number of a tune.
fn many_bytes() -> impl Strategy<Value = Vec<u8>> {
    proptest::collection::vec(any::<u8>(), 120)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, max_global_rejects: 100_000, ..ProptestConfig::with_cases(1_000) })]

    /// Bytes and words, because -0 equals 0.
    #[test]
    fn a_tune_file_gives_the_same_tune_to_the_bit(data in many_bytes()) {
        let (tune, _, _) = sequence(&data);
        prop_assume!(tune.prepare(TickRate::new(1_000).unwrap()).is_ok());
        let again = there_and_back(&tune);
        prop_assert_eq!(bytes(&again).unwrap(), bytes(&tune).unwrap());
        prop_assert_eq!(format!("{again:?}"), format!("{tune:?}"));
        prop_assert!(tune::misfits(&tune, &fitting(&tune)).is_empty());
    }
}

#[test]
fn a_tune_with_everything_in_it_comes_back() {
    let mut whole = blob::read(LATEST).unwrap();
    // The blob says never, which its hold at rest contradicts.
    whole.mode.reverse = easeoff_core::ReversePolicy::AfterStop;
    assert_eq!(bytes(&there_and_back(&whole)).unwrap(), bytes(&whole).unwrap());
    let open = Settings { rest: None, hold: None, ..Settings::default() };
    assert_eq!(bytes(&there_and_back(&open)).unwrap(), bytes(&open).unwrap());
}

/// The example holds what differs from the defaults in every stage. After a change of the core's settings
/// `cargo xtask settings` writes it.
#[test]
fn the_compiled_example_is_the_tune_to_the_bit() {
    let tune = blob::read(LATEST).unwrap();
    assert_eq!(include_str!("../../data/easeoff_tune.rs"), source(&tune, None));
    assert_eq!(bytes(&example::tune()).unwrap(), LATEST);
}

#[test]
fn rust_source_of_other_choices_says_them() {
    let said = source(&Settings::default(), None);
    for words in
        ["CurveSettings::Cubic { blend: 0.0 }", "DragLaw::Duty", "hold: None", "rest: None"]
    {
        assert!(said.contains(words), "{words} is missing in {said}");
    }
}

#[test]
fn a_c_compiler_reads_the_bytes_from_the_header() {
    let folder = TempDir::new().unwrap();
    let tune = blob::read(LATEST).unwrap();
    fs::write(folder.path().join("easeoff_tune.h"), header(&tune, None, LATEST)).unwrap();
    let program = "#include <stdio.h>\n#include \"easeoff_tune.h\"\n#include \"easeoff_tune.h\"\n\
                   int main(void) { return fwrite(easeoff_tune, 1, sizeof easeoff_tune, stdout) \
                   != sizeof easeoff_tune; }\n";
    fs::write(folder.path().join("main.c"), program).unwrap();
    let strict = ["-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic", "main.c", "-o", "main"];
    let compiled = match Command::new("cc").current_dir(&folder).args(strict).output() {
        Ok(compiled) => compiled,
        Err(error) => {
            return skipped(&format!(
                "the header is not compiled: cc: {error}. Remedy: install a C compiler"
            ));
        }
    };
    assert!(compiled.status.success(), "{}", String::from_utf8_lossy(&compiled.stderr));
    let said = Command::new(folder.path().join("main")).output().unwrap();
    assert!(said.status.success());
    assert_eq!(said.stdout, LATEST);
}

#[test]
fn the_program_exports_and_imports() {
    let folder = rig_folder("tune.toml", "onset_ms = 330", "onset_ms = 457.1");
    let at = |name: &str| folder.path().join(name);
    let said = good(folder.path(), &["export", "mine"]);
    for words in ["onset 457.1 ms", "neutral 1500", "Wrote tune.blob", "wheels off"] {
        assert!(said.contains(words), "{words} is missing in {said}");
    }
    let rig = ["--rig", "mine/rig.toml"];
    good(folder.path(), &["import", "tune.blob", rig[0], rig[1], "--out", "mine/back.toml"]);
    good(folder.path(), &["export", "mine", "--tune", "mine/back.toml", "--out", "again.blob"]);
    assert_eq!(fs::read(at("tune.blob")).unwrap(), fs::read(at("again.blob")).unwrap());
    // A page in which something follows.
    let mut page = fs::read(at("tune.blob")).unwrap();
    page.resize(2_048, 0xff);
    fs::write(at("page.bin"), page).unwrap();
    good(folder.path(), &["import", "page.bin", "--out", "page.toml"]);
    let text = fs::read_to_string(at("page.toml")).unwrap();
    assert!(text.contains("onset_ms = 457.1 "), "{text}");
    assert!(text.contains("# from the first bite to the final level"), "{text}");

    good(folder.path(), &["export", "mine", "--as", "rust"]);
    good(folder.path(), &["export", "mine", "--as", "c"]);
    assert!(fs::read_to_string(at("easeoff_tune.rs")).unwrap().contains("onset_ms: 457.1,"));
    assert!(fs::read_to_string(at("easeoff_tune.h")).unwrap().contains("onset 457.1 ms"));
    let record = good(folder.path(), &["export", "mine", "--json"]);
    let record: serde_json::Value = serde_json::from_str(&record).unwrap();
    assert_eq!(record["blob_bytes"], fs::read(at("tune.blob")).unwrap().len());
}

#[test]
fn nothing_foreign_is_written_over() {
    let folder = rig_folder("tune.toml", "onset_ms", "onset_ms");
    for (name, form) in [("a", "blob"), ("b", "rust"), ("c", "c")] {
        fs::write(folder.path().join(name), "somebody's").unwrap();
        let output = easeoff(folder.path(), &["export", "mine", "--as", form, "--out", name]);
        assert_eq!(output.status.code(), Some(4));
        assert_eq!(fs::read_to_string(folder.path().join(name)).unwrap(), "somebody's");
    }
    good(folder.path(), &["export", "mine"]);
    // A tune file may have been edited since: it is never written over, not even an imported one.
    good(folder.path(), &["import", "tune.blob"]);
    let output = easeoff(folder.path(), &["import", "tune.blob"]);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(4), "{said}");
    assert!(said.contains("it is there already; name a new file with --out"), "{said}");
}

#[test]
fn a_rig_that_does_not_fit_is_told_with_both_values() {
    let folder = rig_folder("rig.toml", "internal_ratio = 9.0", "internal_ratio = 18.0");
    let (ours, theirs) = (demo::rig().unwrap().gears.ratio() as f32, 2.0);
    good(folder.path(), &["export", "--out", "tune.blob"]);
    let import = ["import", "tune.blob", "--out", "no.toml", "--rig", "mine/rig.toml"];
    let said = refused(folder.path(), &import);
    let words = format!(
        "gearing: the tune has {ours}, the rig {} motor turns per wheel turn",
        theirs * ours
    );
    assert!(said.contains(&words), "{words} is missing in {said}");
    assert!(said.contains("1 mistake; nothing was written"), "{said}");
    assert!(!folder.path().join("no.toml").exists());
    good(folder.path(), &["import", "tune.blob", "--out", "yes.toml"]);
}

#[test]
fn every_bad_blob_is_refused_with_a_remedy() {
    let folder = TempDir::new().unwrap();
    let import = |bytes: &[u8]| {
        fs::write(folder.path().join("t.blob"), bytes).unwrap();
        let said = refused(folder.path(), &["import", "t.blob"]);
        assert!(!folder.path().join("tune.toml").exists());
        said
    };
    let tune = demo::scenario("garden").unwrap().tune;
    let whole = bytes(&tune).unwrap();
    let with = |place: usize, value: u8| {
        let mut other = whole.clone();
        other[place] = value;
        other
    };
    let wild = Settings {
        drag: easeoff_core::DragSettings { onset_ms: -1.0, strength: f32::NAN, ..tune.drag },
        ..tune
    };
    for (bad, words, remedy) in [
        (Vec::new(), "the end of the tune is missing", "help: store it again (read 0 bytes)"),
        (whole[..40].to_vec(), "the end of the tune is missing", "store it again (read 40 bytes)"),
        (with(30, whole[30] ^ 4), "the tune is damaged", "help: store it again"),
        (vec![0xff; 600], "there is no tune here", "help: store one first"),
        (
            easeoff_tests::fuzz::blob_around(9, &[1, 2, 3]),
            "the tune has version 9",
            "update the build",
        ),
        (
            easeoff_tests::fuzz::blob_around(blob::VERSION, &[1, 2, 3]),
            "not laid out as its version says",
            "a released build",
        ),
        (bytes(&wild).unwrap(), "drag.onset_ms is -1; allowed is 0 to 10000", "2 mistakes"),
    ] {
        let said = import(&bad);
        assert!(said.contains(words) && said.contains(remedy), "{words}, {remedy}: {said}");
        assert!(said.contains("t.blob"), "{said}");
    }
    assert!(refused(folder.path(), &["import", "no.blob"]).contains("no such file"));
    assert!(refused(folder.path(), &["import", "."]).contains("a folder, not a file"));
}
