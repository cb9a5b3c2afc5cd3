//! Old results intact or new results whole, whatever fails, and whenever the program is killed.
//!
//! Linux: a shim loaded before the C library makes calls fail, and small disks are mounted in a namespace.
//! What a machine cannot do is skipped, and said.

mod bad_machine;
mod two_results;

use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Instant;

use easeoff_tests::skipped;
use tempfile::TempDir;

use crate::runner::{command, could_not_write, easeoff, good, program};
use bad_machine::{Disk, Stopped, counts, faulty, shim};
use two_results::{DRIVE_NEW, LEFT, TwoResults, files};

const SIGKILL: i32 = 9;
/// Linux's numbers (errno.h), from memory.
const ENOSPC: &str = "28";
const EIO: &str = "5";

#[test]
fn whichever_call_fails_old_results_are_intact_or_new_ones_whole() {
    let place = TwoResults::new();
    let Some(shim) = shim(place.path()) else { return };
    place.put_old();
    let counts = counts(&shim, place.path(), DRIVE_NEW);
    // Each file, the folder they are staged in, and the results' folder before and after they move.
    assert!(counts["sync"] >= place.new.len() + 3, "{counts:?}");
    let (mut tried, mut failed) = (0, 0);
    for (kind, count) in counts {
        assert!(count > 0, "no {kind} at all: the shim does not see the program's calls");
        // The one after the last does not exist: that run is good.
        for (nth, errno) in (1..=count + 1).flat_map(|nth| [(nth, ENOSPC), (nth, EIO)]) {
            let fault = format!("{kind} {nth} {errno}");
            place.put_old();
            let output = faulty(&shim, place.path(), DRIVE_NEW, &fault).output().unwrap();
            tried += 1;
            if output.status.success() {
                // What cannot be removed does no harm; nothing else may fail unnoticed.
                assert!(kind == "remove" || nth > count, "{fault} went unnoticed");
                assert!(place.is_new(), "{fault}");
            } else {
                failed += 1;
                let said = could_not_write(&output);
                let word = if errno == ENOSPC { "No space left" } else { "Input/output error" };
                assert!(said.contains(word), "{fault}: {said}");
                if said.contains("new results are complete") {
                    assert!(place.settle(&fault).is_new(), "{fault}: {said}");
                } else {
                    // Nothing to settle: not a byte of the old results has moved.
                    assert!(place.is_old(), "{fault}: {said}");
                }
            }
            place.settle(&fault);
            // The next run is none the worse for it.
            good(place.path(), DRIVE_NEW);
            assert!(place.is_new() && place.nothing_left(), "{fault}");
        }
    }
    println!("{tried} faults, {failed} runs failed");
    assert!(failed >= 50, "{failed} of {tried}");
}

#[test]
fn whichever_call_fails_a_new_folder_is_whole_or_not_there() {
    let folder = TempDir::new().unwrap();
    let Some(shim) = shim(folder.path()) else { return };
    let mine = folder.path().join("mine");
    let new = ["new", "mine"];
    let counts = counts(&shim, folder.path(), &new);
    let whole = files(&mine);
    for (kind, count) in counts {
        for nth in 1..=count {
            let fault = format!("{kind} {nth} {ENOSPC}");
            fs::remove_dir_all(&mine).unwrap();
            let output = faulty(&shim, folder.path(), &new, &fault).output().unwrap();
            if !output.status.success() {
                let said = could_not_write(&output);
                if !said.contains("new results are complete") {
                    // A folder that cannot be removed either may be left, with nothing of use in it.
                    assert!(!mine.exists() || kind == "remove", "{fault}: {said}");
                }
            }
            // It may have come so far that the next run only has to finish it, and then says "not empty".
            let again = easeoff(folder.path(), &new);
            assert!(matches!(again.status.code(), Some(0 | 2)), "{fault}: {again:?}");
            assert_eq!(files(&mine), whole, "{fault}");
        }
    }
}

#[test]
fn killed_at_any_call_it_leaves_old_results_or_new_ones() {
    let place = TwoResults::new();
    let Some(shim) = shim(place.path()) else { return };
    place.put_old();
    let all: usize = counts(&shim, place.path(), DRIVE_NEW).values().sum();
    let (mut old, mut new, mut mixed) = (0, 0, 0);
    for nth in 1..=all {
        for what in ["kill", "half"] {
            let fault = format!("any {nth} {what}");
            place.put_old();
            let output = faulty(&shim, place.path(), DRIVE_NEW, &fault).output().unwrap();
            assert_eq!(output.status.signal(), Some(SIGKILL), "{fault}");
            // On disk there may be parts of both, but which of them counts is beyond doubt.
            mixed += usize::from(!place.is_old() && !place.is_new());
            let ready = place.out().join(LEFT[1]).exists();
            let settled = place.settle(&fault);
            assert!(!ready || settled.is_new(), "{fault}: what was ready is not what came of it");
            if settled.is_new() {
                new += 1
            } else {
                old += 1
            }
            good(place.path(), DRIVE_NEW);
            assert!(place.is_new() && place.nothing_left(), "{fault}");
        }
    }
    println!("{} kills: {old} left the old results, {new} the new, {mixed} were between", 2 * all);
    assert!(old >= 20 && new >= 20 && mixed >= 10, "{old} old, {new} new, {mixed} between");
}

#[test]
fn killed_at_random_moments_it_leaves_old_results_or_new_ones() {
    let place = TwoResults::new();
    place.put_old();
    let begun = Instant::now();
    good(place.path(), DRIVE_NEW);
    let whole = begun.elapsed();
    // Knuth's multiplicative hash of the count, from memory: the same moments each time.
    for kill in 0..60_u32 {
        let share = f64::from(kill.wrapping_mul(2_654_435_761)) / f64::from(u32::MAX);
        place.put_old();
        let mut quiet = command(place.path(), DRIVE_NEW);
        let mut running = quiet.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        sleep(whole.mul_f64(share * 1.1));
        running.kill().unwrap();
        let ended = running.wait().unwrap();
        let settled = place.settle(&format!("killed after {share} of the time"));
        assert!(!ended.success() || settled.is_new());
    }
    good(place.path(), DRIVE_NEW);
    assert!(place.is_new() && place.nothing_left());
}

#[test]
fn a_second_run_into_the_same_folder_is_refused_and_a_killed_one_does_not_block() {
    let place = TwoResults::new();
    let Some(shim) = shim(place.path()) else { return };
    place.put_old();
    let renames = counts(&shim, place.path(), DRIVE_NEW)["rename"];
    for nth in 1..=renames {
        let fault = format!("rename {nth} stop");
        place.put_old();
        let first = Stopped::new(faulty(&shim, place.path(), DRIVE_NEW, &fault));
        for second in [DRIVE_NEW, &["check", "out"]] {
            let said = could_not_write(&easeoff(place.path(), second));
            assert!(said.contains("another run is writing there; wait"), "{said}");
        }
        drop(first);
        good(place.path(), DRIVE_NEW);
        assert!(place.is_new() && place.nothing_left(), "{fault}");
    }
}

#[test]
fn runs_at_the_same_time_write_one_after_the_other_or_not_at_all() {
    let place = TwoResults::new();
    place.put_old();
    for _ in 0..8 {
        let start = |_| command(place.path(), DRIVE_NEW).stderr(Stdio::piped()).spawn().unwrap();
        let runs: Vec<Child> = (0..4).map(start).collect();
        let mut good = 0;
        for run in runs {
            let output = run.wait_with_output().unwrap();
            if output.status.success() {
                good += 1;
            } else {
                assert!(could_not_write(&output).contains("another run is writing"));
            }
        }
        assert!(good >= 1 && place.is_new() && place.nothing_left());
    }
}

#[test]
fn results_of_another_command_stay_without_force_and_leave_nothing_behind_with_it() {
    let place = TwoResults::new();
    place.put_old();
    fs::write(place.out().join("notes.txt"), "mine").unwrap();
    fs::write(place.out().join("run.png"), "painted over").unwrap();
    let before = files(&place.out());
    let inspect = ["inspect", "old", "--out", "out"];
    let said = could_not_write(&easeoff(place.path(), &inspect));
    assert!(said.contains("results of easeoff drive") && said.contains("--force"), "{said}");
    assert_eq!(files(&place.out()), before);
    good(place.path(), &[&inspect[..], &["--force"]].concat());
    let names: Vec<PathBuf> = files(&place.out()).into_keys().collect();
    // What nobody of ours wrote stays, also under a name of ours.
    assert_eq!(names, ["notes.txt", "report.html", "run.json", "run.png"].map(PathBuf::from));
    assert!(good(place.path(), &["check", "out"]).contains("easeoff inspect, 2 files"));
    // A folder that is none of ours, only by force, and nothing else in it is touched.
    fs::create_dir(place.path().join("photos")).unwrap();
    fs::write(place.path().join("photos/cat.txt"), "meow").unwrap();
    could_not_write(&easeoff(place.path(), &["drive", "old", "--out", "photos"]));
    good(place.path(), &["drive", "old", "--out", "photos", "--force"]);
    assert_eq!(fs::read(place.path().join("photos/cat.txt")).unwrap(), b"meow");
}

#[test]
fn a_record_that_names_files_outside_its_folder_removes_nothing_there() {
    let place = TwoResults::new();
    place.put_old();
    let victim = place.path().join("old/rig.toml");
    let content = fs::read(&victim).unwrap();
    let record = place.out().join("run.json");
    let mut text: serde_json::Value = serde_json::from_slice(&fs::read(&record).unwrap()).unwrap();
    let hash = easeoff_sim::files::hash::sha256(&content);
    text["files"]["../old/rig.toml"] = hash.into();
    fs::write(&record, text.to_string()).unwrap();
    good(place.path(), DRIVE_NEW);
    assert_eq!(fs::read(victim).unwrap(), content);
}

#[test]
fn check_names_what_was_changed_and_what_is_gone() {
    let place = TwoResults::new();
    place.put_old();
    fs::write(place.out().join("run.csv"), "time_s\n").unwrap();
    fs::remove_file(place.out().join("run.svg")).unwrap();
    let output = easeoff(place.path(), &["check", "out"]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    for words in ["run.csv was changed", "run.svg is gone", "easeoff drive again"] {
        assert!(said.contains(words), "{said}");
    }
    let output = easeoff(place.path(), &["check", "old"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("holds no results"));
}

#[test]
fn a_full_disk_leaves_the_old_results() {
    let place = TwoResults::new();
    place.put_old();
    let kib: u64 =
        files(&place.out()).values().map(|content| content.len() as u64).sum::<u64>() / 1_024;
    let mut ends = [0, 0];
    for tenths in [11, 13, 15, 17, 19, 25, 40] {
        let size = kib * tenths / 10 + 40;
        let Some(disk) = Disk::new(&format!("mount -t tmpfs -o size={size}k none disk")) else {
            return;
        };
        let out = disk.mounted.join("out");
        let on_disk =
            |name: &str| easeoff(place.path(), &["drive", name, "--out", out.to_str().unwrap()]);
        assert!(on_disk("old").status.success(), "{size} KiB");
        let before = files(&out);
        let output = on_disk("new");
        if output.status.success() {
            ends[0] += 1;
            assert!(files(&out) == place.new);
        } else {
            ends[1] += 1;
            let said = could_not_write(&output);
            assert!(said.contains("No space left") && said.contains("free some space"), "{said}");
            assert!(said.contains("what was there before is untouched"), "{said}");
            assert!(files(&out) == before, "{size} KiB");
        }
    }
    assert!(ends[0] >= 1 && ends[1] >= 2, "{ends:?}: the sizes do not tell");
}

#[test]
fn a_place_that_may_not_be_written_is_told() {
    let place = TwoResults::new();
    let to = |out: &Path| easeoff(place.path(), &["drive", "old", "--out", out.to_str().unwrap()]);
    let said = could_not_write(&to(Path::new("/dev/full")));
    assert!(said.contains("/dev/full") && said.contains("not a folder"), "{said}");
    if let Some(disk) = Disk::new("mkdir -p d; mount --bind d disk; mount -o remount,bind,ro disk")
    {
        let said = could_not_write(&to(&disk.mounted.join("out")));
        assert!(
            said.contains("Read-only file system") && said.contains("can be written to"),
            "{said}"
        );
        let said = could_not_write(&to(&disk.mounted));
        assert!(said.contains("Read-only file system"), "{said}");
    }
    // Who is root may write anywhere, so as nobody, and with a copy of the program that nobody may run.
    let copy = place.path().join("easeoff");
    fs::copy(program(), &copy).unwrap();
    let closed = place.path().join("closed");
    fs::create_dir(&closed).unwrap();
    for open in [place.path(), &closed] {
        use std::os::unix::fs::PermissionsExt;
        fs::set_permissions(open, fs::Permissions::from_mode(0o555)).unwrap();
    }
    let nobody = ["--reuid=65534", "--regid=65534", "--clear-groups", "--"];
    let root = Command::new("id").arg("-u").output().unwrap().stdout == b"0\n";
    let mut closed_to = if root { Command::new("setpriv") } else { Command::new(&copy) };
    if root {
        closed_to.args(nobody).arg(&copy);
    }
    match closed_to.args(["drive", "--out"]).arg(&closed).output() {
        Ok(output) => {
            let said = could_not_write(&output);
            assert!(said.contains("closed") && said.contains("Permission denied"), "{said}");
            assert!(said.contains("change the permissions"), "{said}");
        }
        Err(error) => {
            skipped(&format!("nobody else: setpriv: {error}. Remedy: install util-linux"))
        }
    }
    assert_eq!(fs::read_dir(&closed).unwrap().count(), 0);
}

#[test]
fn one_table_is_whole_or_as_before() {
    use easeoff_core::telemetry::{Frame, MOST_BYTES, encode};
    let folder = TempDir::new().unwrap();
    let Some(shim) = shim(folder.path()) else { return };
    let record = |count| -> Vec<u8> {
        let frames = (0..count).map(|sequence| Frame { sequence, ..Frame::default() });
        frames.flat_map(|frame| encode(&frame, &mut [0; MOST_BYTES]).unwrap().to_vec()).collect()
    };
    let (recording, table) = (folder.path().join("board.bin"), folder.path().join("board.csv"));
    let arguments = ["telemetry", "board.bin"];
    let of = |count| {
        fs::write(&recording, record(count)).unwrap();
        good(folder.path(), &arguments);
        fs::read(&table).unwrap()
    };
    let (new, old) = (of(200), of(100));
    fs::write(&recording, record(200)).unwrap();
    let all = counts(&shim, folder.path(), &arguments);
    for nth in 1..=all.values().sum::<usize>() {
        for what in [ENOSPC, "kill", "half"] {
            fs::write(&table, &old).unwrap();
            let fault = format!("any {nth} {what}");
            let output = faulty(&shim, folder.path(), &arguments, &fault).output().unwrap();
            let found = fs::read(&table).unwrap();
            assert!(found == old || found == new, "{fault}");
            assert!(!output.status.success() || found == new, "{fault}");
            if what == ENOSPC && !output.status.success() {
                could_not_write(&output);
            }
            good(folder.path(), &arguments);
            assert!(fs::read(&table).unwrap() == new, "{fault}");
            let mut names: Vec<PathBuf> = files(folder.path()).into_keys().collect();
            names.sort();
            assert_eq!(
                names,
                ["board.bin", "board.csv", "faults.so"].map(PathBuf::from),
                "{fault}"
            );
        }
    }
}
