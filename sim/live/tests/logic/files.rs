//! The tune's file: saved with its comments, changed by somebody else, gone.

use std::fs;

use easeoff_live::logic::knob::{KNOBS, Value};
use easeoff_live::logic::load::Loaded;
use easeoff_live::logic::save::{Saved, save, with_values};
use easeoff_live::logic::session::Session;
use easeoff_sim::files::mistake::Source;
use easeoff_sim::files::tune;

use crate::common::folder;

#[test]
fn saving_changes_the_values_and_nothing_else() {
    let (_place, loaded) = folder();
    let path = loaded.tune_path.clone().unwrap();
    let mut known = loaded.tune.clone();
    let rig = &loaded.scenario.rig;
    // Nothing turned, nothing changed.
    assert_eq!(save(&path, &mut known, &loaded.scenario.tune, rig), Ok(Saved::Changed));
    assert_eq!(fs::read_to_string(&path).unwrap(), loaded.tune);
    let mut tune = loaded.scenario.tune;
    tune.drag.onset_ms = 905.5;
    tune.hold = None;
    assert_eq!(save(&path, &mut known, &tune, rig), Ok(Saved::Changed));
    let text = fs::read_to_string(&path).unwrap();
    assert_eq!(known, text);
    let differ: Vec<(&str, &str)> =
        loaded.tune.lines().zip(text.lines()).filter(|(before, after)| before != after).collect();
    assert_eq!(differ.len(), 2, "{differ:?}");
    for (before, after) in differ {
        let comment = |line: &str| line.split_once('#').map(|(_, comment)| comment.to_owned());
        assert_eq!(comment(before), comment(after));
    }
    let again = tune::read(&Source::new("tune.toml", text), &loaded.scenario.rig).unwrap();
    assert_eq!(again, tune);
}

#[test]
fn a_file_that_somebody_changed_is_left_alone_and_one_that_is_gone_is_written_anew() {
    let (place, loaded) = folder();
    let path = loaded.tune_path.clone().unwrap();
    let mut known = loaded.tune.clone();
    let rig = &loaded.scenario.rig;
    let mut tune = loaded.scenario.tune;
    tune.drag.strength = 0.25;
    let other = loaded.tune.replace("onset_ms = 330", "onset_ms = 301");
    fs::write(&path, &other).unwrap();
    let why = save(&path, &mut known, &tune, rig).unwrap_err();
    assert!(why.contains("somebody else") && why.contains("nothing was written"), "{why}");
    assert_eq!(fs::read_to_string(&path).unwrap(), other);
    fs::remove_file(&path).unwrap();
    assert_eq!(save(&path, &mut known, &tune, rig), Ok(Saved::Anew));
    assert!(fs::read_to_string(&path).unwrap().contains("strength = 0.25"));
    // The whole folder gone.
    drop(place);
    assert_eq!(save(&path, &mut known, &tune, rig), Ok(Saved::Anew));
    fs::remove_dir_all(path.parent().unwrap()).unwrap();
    // A folder in its place.
    fs::create_dir_all(&path).unwrap();
    assert!(save(&path, &mut known, &tune, rig).is_err());
    fs::remove_dir_all(path.parent().unwrap()).unwrap();
}

#[test]
fn the_copied_text_reads_as_the_tune() {
    let loaded = Loaded::demo("garden").unwrap();
    let mut tune = loaded.scenario.tune;
    tune.limits.drive_a = None;
    tune.curve = easeoff_core::CurveSettings::Cubic { blend: 0.7 };
    let text = with_values(&loaded.tune, &tune, &loaded.scenario.rig).unwrap();
    assert_eq!(tune::read(&Source::new("t", text), &loaded.scenario.rig).unwrap(), tune);
}

/// What the file says of parts that are off is on the bench and stays in the file.
#[test]
fn switching_on_and_saving_keeps_the_numbers_of_what_was_off() {
    let (place, _) = folder();
    let path = place.path().join("tune.toml");
    let own = "[hold]\non = false\ngain = 3.25\nauthority = 0.375\n\n[hold.give_way]\non = true\n\
               after_ms = 777\n\n[drag]\nlaw = \"duty\"\nfull_a = 7.5\n";
    fs::write(&path, own).unwrap();
    let loaded = Loaded::folder(place.path()).unwrap();
    let rig = &loaded.scenario.rig;
    let session = Session::new(loaded.clone()).unwrap();
    let mut sheet = *session.tunes.now();
    let mut known = loaded.tune.clone();
    // Off it is saved without a word about giving way.
    save(&path, &mut known, &sheet.settings(), rig).unwrap();
    assert!(known.contains("[hold.give_way]\non = true"), "{known}");
    sheet.switch("hold.on", true);
    let law = KNOBS.iter().find(|knob| knob.setting.path == "drag.law").unwrap();
    law.set(&mut sheet, Value::Choice(1));
    save(&path, &mut known, &sheet.settings(), rig).unwrap();
    let tune = tune::read(&Source::new("t", known.as_str()), rig).unwrap();
    let hold = tune.hold.unwrap();
    assert_eq!([hold.gain, hold.authority, hold.give_way.unwrap().after_ms], [3.25, 0.375, 777.0]);
    assert_eq!(tune.drag.law, easeoff_core::DragLaw::Current { full_a: 7.5 });
    // From points to the blend and back, no key of the other stays beside it.
    sheet.switch("curve.knots", true);
    save(&path, &mut known, &sheet.settings(), rig).unwrap();
    sheet.switch("curve.knots", false);
    save(&path, &mut known, &sheet.settings(), rig).unwrap();
    assert!(!known.contains("knots"), "{known}");
}
