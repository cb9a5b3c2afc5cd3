//! What a tune file says of the parts that it switches off.
//!
//! The reader drops those numbers, since the controller has no use for them. Here the file is read once more
//! with each part switched on, so that switching it on in the window finds the file's own numbers.

use easeoff_core::{DragLaw, Settings};
use easeoff_plant::rig::Rig;
use easeoff_sim::files::full_speed::usual_hold;
use easeoff_sim::files::mistake::Source;
use easeoff_sim::files::tune;
use easeoff_sim::files::tune_edit::TuneFile;

use super::sheet::Sheet;

/// `tune` on the bench, as `text` says it, with the numbers that `text` has for what it switches off.
///
/// Numbers that the reader refuses once they are heard are left out: the usual ones stand there then.
pub fn laid_out(tune: Settings, text: &str, rig: &Rig) -> Sheet {
    let mut sheet = Sheet::from(tune);
    let with = |edit: &dyn Fn(&mut TuneFile)| with(text, rig, edit);
    if !sheet.hold.on {
        sheet.hold.is = usual_hold(rig);
    }
    if !sheet.rest.on
        && let Some(rest) = with(&|file| switch_on(file, &["rest"])).and_then(|tune| tune.rest)
    {
        sheet.rest.is = rest;
    }
    if !sheet.hold.on
        && let Some(hold) = with(&|file| switch_on(file, &["hold"])).and_then(|tune| tune.hold)
    {
        sheet.hold.is = hold;
        sheet.give_way.on = hold.give_way.is_some();
        sheet.give_way.is = hold.give_way.unwrap_or(sheet.give_way.is);
    }
    if !sheet.give_way.on {
        let both = with(&|file| {
            switch_on(file, &["hold"]);
            switch_on(file, &["hold", "give_way"]);
        });
        let give_way = both.and_then(|tune| tune.hold).and_then(|hold| hold.give_way);
        sheet.give_way.is = give_way.unwrap_or(sheet.give_way.is);
    }
    if !sheet.stall.on {
        let stall = with(&|file| switch_on(file, &["limits", "stall"]));
        sheet.stall.is = stall.and_then(|tune| tune.limits.stall).unwrap_or(sheet.stall.is);
    }
    if !sheet.full_a.on
        && let Some(DragLaw::Current { full_a }) =
            with(&|file| file.set(&["drag"], "law", "current")).map(|tune| tune.drag.law)
    {
        sheet.full_a.is = full_a;
    }
    sheet
}

fn switch_on(file: &mut TuneFile, part: &[&str]) {
    file.set(part, "on", true);
}

/// The tune of the text with a change.
fn with(text: &str, rig: &Rig, edit: &dyn Fn(&mut TuneFile)) -> Option<Settings> {
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
            let Sheet { rest, hold, give_way, stall, full_a, .. } = *sheet;
            [rest.is.authority, hold.is.gain, give_way.is.after_ms, stall.is.duty, full_a.is]
        };
        assert_eq!(numbers(&off), [0.125, 3.0, 777.0, 0.625, 7.5]);
        off.hold.on = true;
        assert_eq!(off.settings().hold.unwrap().gain, 3.0);
        // Giving way is on although the hold that it belongs to is off.
        let on = sheet(&TEXT.replace("on = false\nafter_ms", "on = true\nafter_ms"));
        assert!(on.give_way.on && !on.hold.on && on.give_way.is.after_ms == 777.0);
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
