//! An exported drive, read from disk and driven again as `easeoff drive` does, is the same to the bit.

use std::fs;

use easeoff_live::logic::export::Export;
use easeoff_live::logic::lever::Hands;
use easeoff_live::logic::load::Loaded;
use easeoff_live::logic::session::{Session, take};
use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::scenario::{Files, Scenario};
use easeoff_sim::run::columns::to_csv;
use easeoff_sim::run::{DEFAULT_STEP_S, simulate};
use sha2::{Digest, Sha256};

use crate::common::{Dice, drive, held, session};

/// A hand on everything: lever, settings, swap, transmitter, pause, slow motion, single steps.
fn wild(session: &mut Session, dice: &mut Dice, seconds: f64) {
    let mut now_s = drive(session, 0.0, 0.8, &Hands::default());
    let end_s = now_s + seconds;
    let mut hands = Hands::default();
    while now_s < end_s && session.over().is_none() {
        now_s += 0.005 + 0.03 * dice.even();
        match dice.pick(40) {
            0 => hands = held(0.9 * dice.even()),
            1 => hands = Hands { forward: true, ..Hands::default() },
            2 => hands = Hands::default(),
            3 => hands = Hands { notches: 4.0 * dice.even() - 1.0, ..Hands::default() },
            4 => session.transmit(!session.transmits()),
            5 => session.pace.slow = !session.pace.slow,
            6 => {
                session.run(!session.running());
                session.tick();
            }
            7 => session.tunes.swap(),
            8 => {
                let mut sheet = *session.tunes.now();
                sheet.switch("hold.on", !sheet.is_on("hold.on"));
                session.tunes.change(sheet, "hold.on", now_s);
            }
            9 => {
                let mut sheet = *session.tunes.now();
                sheet.full.drag.onset_ms = (2_000.0 * dice.even()) as f32;
                sheet.set_number("hold.authority", dice.even() as f32);
                session.tunes.change(sheet, "drag.onset_ms", now_s);
            }
            _ => {}
        }
        session.frame(now_s, &hands);
    }
    session.run(true);
}

fn replayed(session: &Session, folder: &std::path::Path) -> usize {
    let files = Files::in_folder(&Folder::Disk(folder.to_owned()));
    let scenario = Scenario::load(&files).unwrap();
    let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    let mut digest = Sha256::new();
    run.rows.iter().for_each(|row| take(&mut digest, row));
    let digest: [u8; 32] = digest.finalize().into();
    assert_eq!(run.rows.len() as u64, session.ticks());
    assert_eq!(hex::encode(digest), hex::encode(session.digest()));
    let last_s = run.rows.last().unwrap().time_s;
    let first = run.rows.iter().position(|row| row.time_s >= last_s - 60.0).unwrap();
    let table = fs::read_to_string(folder.join("last-minute.csv")).unwrap();
    assert!(table == to_csv(&run.rows[first..]), "the last minute is another");
    scenario.driver.retunes.len()
}

#[test]
fn what_was_driven_by_hand_is_driven_again_to_the_bit() {
    let mut retunes = 0;
    for (scene, seed) in [(0, 3), (1, 4), (4, 5)] {
        let mut session = session("garden");
        session.enter(scene).unwrap();
        wild(&mut session, &mut Dice(seed), 40.0);
        assert!(session.ticks() > 3_000, "{}", session.ticks());
        let place = tempfile::tempdir().unwrap();
        let folder = place.path().join("drive");
        Export::of(&session).unwrap().write(&folder).unwrap();
        retunes += replayed(&session, &folder);
        // Again into the same folder, which is ours.
        Export::of(&session).unwrap().write(&folder).unwrap();
    }
    assert!(retunes > 10, "{retunes}");
}

/// A drive of more than a minute: the table has the last one only, the folder all of it.
#[test]
fn the_last_minute_is_a_minute_and_the_noise_comes_again() {
    let place = tempfile::tempdir().unwrap();
    let own = place.path().join("own");
    fs::create_dir(&own).unwrap();
    let demo = easeoff_sim::files::demo::DEMOS[0];
    for (name, text) in demo.files {
        let text = text
            .replace("noise_a = 0", "noise_a = 0.4")
            .replace("adc_bits = 0", "adc_bits = 10")
            .replace("frame_ms = 20 ", "jitter_us = 2.0\nmissing_share = 0.05\nframe_ms = 14 ");
        fs::write(own.join(name), text).unwrap();
    }
    fs::write(own.join("heights.csv"), "distance_m,height_m\n-1,0\n3,0\n4,0.1\n40,0.1\n").unwrap();
    // Named as another file of an exported drive is, in single quotes.
    fs::rename(own.join("heights.csv"), own.join("pulses.csv")).unwrap();
    fs::write(own.join("course.toml"), "profile_csv = 'pulses.csv' # mine\n").unwrap();
    let mut session = Session::new(Loaded::folder(&own).unwrap()).unwrap();
    let mut now_s = drive(&mut session, 0.0, 1.0, &Hands::default());
    for turn in 0..35 {
        let position = if turn % 2 == 0 { 0.3 } else { -0.2 };
        now_s = drive(&mut session, now_s, 1.0, &held(position));
        now_s = drive(&mut session, now_s, 1.0, &Hands::default());
    }
    assert!(session.over().is_none(), "{:?}", session.over());
    assert!(session.ticks() > 65_000);
    // What the window has loaded is what it exports, whatever becomes of the file.
    fs::remove_file(own.join("pulses.csv")).unwrap();
    let folder = place.path().join("drive");
    Export::of(&session).unwrap().write(&folder).unwrap();
    replayed(&session, &folder);
    let table = fs::read_to_string(folder.join("last-minute.csv")).unwrap();
    assert!(table.lines().count().abs_diff(60_002) <= 1, "{}", table.lines().count());
    // One pulse other by a microsecond is another drive: the comparison can fail.
    let pulses = fs::read_to_string(folder.join("pulses.csv")).unwrap();
    let line = pulses.lines().nth(400).unwrap();
    let other = line.rsplit_once(',').map(|(time, _)| format!("{time},1700")).unwrap();
    fs::write(folder.join("pulses.csv"), pulses.replacen(line, &other, 1)).unwrap();
    let scenario = Scenario::load(&Files::in_folder(&Folder::Disk(folder))).unwrap();
    let mut digest = Sha256::new();
    simulate(&scenario, DEFAULT_STEP_S).unwrap().rows.iter().for_each(|row| take(&mut digest, row));
    let digest: [u8; 32] = digest.finalize().into();
    assert_ne!(digest, session.digest());
}

#[test]
fn nothing_is_exported_of_nothing_and_nothing_foreign_is_overwritten() {
    let mut session = session("garden");
    let place = tempfile::tempdir().unwrap();
    let why = Export::of(&session).err().unwrap();
    assert!(why.contains("drive first"), "{why}");
    drive(&mut session, 0.0, 1.0, &Hands::default());
    fs::write(place.path().join("mine.txt"), "keep").unwrap();
    assert!(Export::of(&session).unwrap().write(place.path()).is_err());
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1);
}

/// In another step it is another drive, and the folder says which.
#[test]
fn another_step_is_exported_with_its_step() {
    let loaded = Loaded::demo("garden").unwrap();
    let mut session = Session::stepping(loaded, 1.0e-4).unwrap();
    let now_s = drive(&mut session, 0.0, 0.8, &Hands::default());
    drive(&mut session, now_s, 3.0, &held(0.5));
    let export = Export::of(&session).unwrap();
    assert_eq!(export.replay("X"), "easeoff drive X --step-us 100");
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("drive");
    export.write(&folder).unwrap();
    assert!(fs::read_to_string(folder.join("run.json")).unwrap().contains("--step-us 100"));
    let scenario = Scenario::load(&Files::in_folder(&Folder::Disk(folder))).unwrap();
    let digest_in = |step_s: f64| -> [u8; 32] {
        let mut digest = Sha256::new();
        simulate(&scenario, step_s).unwrap().rows.iter().for_each(|row| take(&mut digest, row));
        digest.finalize().into()
    };
    assert_eq!(digest_in(1.0e-4), session.digest());
    assert_ne!(digest_in(DEFAULT_STEP_S), session.digest());
}
