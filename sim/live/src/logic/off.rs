//! What a tune file says of the parts that it switches off.
//!
//! The reader drops those numbers, since the controller has no use for them. Here the file is read once more
//! with each part switched on, so that switching it on in the window finds the file's own numbers.

use easeoff_core::{Kind, SETTINGS, Setting, Settings};
use easeoff_plant::rig::Rig;
use easeoff_sim::files::full_speed::usual_hold;
use easeoff_sim::files::mistake::Source;
use easeoff_sim::files::tune;
use easeoff_sim::files::tune_edit::TuneFile;

use super::sheet::Sheet;

/// `tune` on the bench, as `text` says it, with the numbers that `text` has for what it switches off.
///
/// Numbers that the reader refuses once they are heard are left out: the usual ones are there then.
pub fn laid_out(tune: Settings, text: &str, rig: &Rig) -> Sheet {
    let mut sheet = Sheet::from(tune);
    if !sheet.is_on("hold.on") {
        let usual = Settings { hold: Some(usual_hold(rig)), ..tune };
        for setting in
            SETTINGS.iter().filter(|row| row.path.starts_with("hold.") && row.path != "hold.on")
        {
            sheet.take(setting, &usual);
        }
    }
    for setting in SETTINGS {
        // What a part needs to be on: itself, and those that it is a part of.
        let needs = |row: &Setting| {
            matches!(row.kind, Kind::Part { .. })
                && format!("{}.", setting.table_and_key().0)
                    .starts_with(row.path.trim_end_matches("on"))
        };
        let needed = SETTINGS.iter().filter(|row| needs(row)).map(Setting::table_and_key);
        let others = match setting.kind {
            Kind::Part { .. } if !sheet.is_on(setting.path) => &[""],
            Kind::Choice { of, .. } => of.names,
            _ => continue,
        };
        for way in others {
            let Some(other) = with(text, rig, |file| match setting.table_and_key() {
                (table, key) if key != "on" => file.set(table, key, *way),
                _ => needed.clone().for_each(|(table, key)| file.set(table, key, true)),
            }) else {
                continue;
            };
            let news = |row: &&Setting| !says(&tune, row) && says(&other, row) && !needs(row);
            SETTINGS.iter().filter(news).for_each(|row| sheet.take(row, &other));
        }
    }
    sheet
}

/// Whether there is something to say of a setting: what it belongs to is on.
fn says(tune: &Settings, row: &Setting) -> bool {
    row.number(tune).is_some() || row.flag(tune).is_some() || row.is_on(tune).is_some()
}

/// The tune of the text with a change.
fn with(text: &str, rig: &Rig, edit: impl Fn(&mut TuneFile)) -> Option<Settings> {
    let mut file = TuneFile::parse(&Source::new("tune.toml", text)).ok()?;
    edit(&mut file);
    tune::read(&Source::new("tune.toml", file.text()), rig).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_sim::files::demo;

    const TEXT: &str = "[rest]\non = false\nauthority = 0.125\n\n[hold]\non = false\ngain = 3\n\n\
                        [hold.give_way]\non = false\nafter_ms = 777\n\n[limits.stall]\non = false\n\
                        duty = 0.625\n\n[drag]\nlaw = \"duty\"\nfull_a = 7.5\n";

    fn sheet(text: &str) -> Sheet {
        let rig = demo::scenario("garden").unwrap().rig;
        let tune = tune::read(&Source::new("t", text), &rig).unwrap();
        let sheet = laid_out(tune, text, &rig);
        assert_eq!(sheet.settings(), tune, "nothing is switched by laying it out");
        sheet
    }

    #[test]
    fn the_files_numbers_of_what_is_off_are_on_the_bench() {
        let mut off = sheet(TEXT);
        let numbers = |sheet: &Sheet| {
            [
                "rest.authority",
                "hold.gain",
                "hold.give_way.after_ms",
                "limits.stall.duty",
                "drag.full_a",
            ]
            .map(|path| sheet.number(path))
        };
        assert_eq!(numbers(&off), [0.125, 3.0, 777.0, 0.625, 7.5]);
        off.switch("hold.on", true);
        assert_eq!(off.settings().hold.unwrap().gain, 3.0);
        // Giving way is on although the hold that it belongs to is off.
        let on = sheet(&TEXT.replace("on = false\nafter_ms", "on = true\nafter_ms"));
        assert!(on.is_on("hold.give_way.on") && !on.is_on("hold.on") && numbers(&on)[2] == 777.0);
        // One number that cannot be used spoils its own part only.
        let bad = sheet(&TEXT.replace("gain = 3", "gain = 3e3"));
        let usual = easeoff_core::HoldSettings::default().gain;
        assert_eq!(numbers(&bad)[..2], [0.125, usual]);
        assert_eq!(numbers(&bad)[3..], [0.625, 7.5]);
        // A file that says nothing of them.
        let none = sheet("");
        assert_eq!(numbers(&none), numbers(&Sheet::from(Settings::default())));
    }
}
