//! Files written before a key, a value or the file itself was renamed: each is refused with the new name.

use std::fs;

use easeoff_sim::files::mistake::{Refusal, Source};
use easeoff_sim::files::scenario::{Files, Scenario};
use easeoff_sim::files::{demo, driver, folder::Folder, tune};

fn told(refusal: &Refusal) -> String {
    let each =
        refusal.mistakes.iter().map(|mistake| format!("{}; {}\n", mistake.what, mistake.remedy));
    each.collect()
}

#[test]
fn old_keys_and_values_of_a_tune_are_answered_with_the_new_ones() {
    for (text, what, now) in [
        (
            "[pulse]\nbridge = 3\n",
            "pulse.bridge is not a key of this file",
            "it is now called tolerate",
        ),
        (
            "[limits]\nhot_from_c = 90\n",
            "limits.hot_from_c is not",
            "it is now called derate_from_c",
        ),
        ("[limits]\nhot_to_c = 120\n", "limits.hot_to_c is not", "it is now called derate_to_c"),
        (
            "[limits]\nfade_from_v = 3.5\n",
            "limits.fade_from_v is not",
            "it is now called derate_from_v",
        ),
        ("[limits]\nfade_to_v = 3.1\n", "limits.fade_to_v is not", "it is now called derate_to_v"),
        ("[drag]\nlaw = \"share\"\n", "drag.law is \"share\"", "it is now called \"duty\""),
    ] {
        let refusal =
            tune::read(&Source::new("tune.toml", text), &demo::rig().unwrap()).unwrap_err();
        let told = told(&refusal);
        assert!(told.contains(what) && told.contains(now), "{told}");
        assert_eq!(refusal.mistakes.len(), 1, "{told}");
        assert!(refusal.mistakes[0].span.is_some(), "{told}");
    }
}

#[test]
fn the_driver_files_of_old_are_answered_with_the_new_names() {
    let text = "duration_s = 3\n[driver]\npace = [[0, 1]]\nfull_speed_m_s = 2\n";
    let folder = tempfile::tempdir().unwrap();
    let here = Folder::Disk(folder.path().to_owned());
    let refusals = driver::Driver::read(&Source::new("driver.toml", text), &here).unwrap_err();
    let told_once: String = refusals.iter().map(told).collect();
    assert!(
        told_once.contains("driver is not a key of this file; it is now called human"),
        "{told_once}"
    );

    // A folder with hand.toml, where driver.toml is looked for.
    for (name, text) in demo::find("garden").unwrap().files {
        let name = if *name == "driver.toml" { "hand.toml" } else { name };
        fs::write(folder.path().join(name), text).unwrap();
    }
    let refusals = Scenario::load(&Files::in_folder(&here)).unwrap_err();
    let told: String = refusals.iter().map(told).collect();
    assert!(told.contains("there is no such file; hand.toml in this folder"), "{told}");
    assert!(told.contains("rename it"), "{told}");
    assert_eq!(refusals.len(), 1, "{told}");
}
