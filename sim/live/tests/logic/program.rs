//! The program: its command line, and what it says where there is no display.

use std::fs;
use std::process::Command;

use crate::common::folder;

fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_easeoff-live"));
    for name in ["DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"] {
        command.env_remove(name);
    }
    command
}

#[cfg(target_os = "linux")]
#[test]
fn without_a_display_it_names_the_command_line_and_goes() {
    for display in [None, Some(""), Some(":4097")] {
        let mut command = program();
        if let Some(display) = display {
            command.env("DISPLAY", display);
        }
        let output = command.output().unwrap();
        let words = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(5), "{words}");
        assert!(words.contains("easeoff drive --demo garden"), "{words}");
        assert!(!words.contains("panicked"), "{words}");
    }
}

#[test]
fn a_refused_file_is_named_with_its_remedy_and_the_exit_code_is_2() {
    let (place, loaded) = folder();
    let wrong = loaded.tune.replace("onset_ms = 330", "onset_ms = -300");
    fs::write(place.path().join("tune.toml"), wrong).unwrap();
    let output = program().arg(place.path()).output().unwrap();
    let words = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{words}");
    assert!(words.contains("drag.onset_ms is -300; allowed is 0 to 10000"), "{words}");
    let output = program().args(["--demo", "gardn"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let output = program().arg(place.path().join("nowhere")).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn the_step_can_be_chosen_and_is_judged() {
    let (place, _) = folder();
    let rig = fs::read_to_string(place.path().join("rig.toml")).unwrap();
    let quick = rig.replace("inductance_uh = ", "inductance_uh = 2 # ");
    assert_ne!(rig, quick);
    fs::write(place.path().join("rig.toml"), quick).unwrap();
    let of = |step: &[&str]| program().arg(place.path()).args(step).output().unwrap();
    let coarse = of(&[]);
    let words = String::from_utf8(coarse.stderr).unwrap();
    assert_eq!(coarse.status.code(), Some(2), "{words}");
    assert!(words.contains("smaller --step-us"), "{words}");
    // As it says; then only a display is missing.
    assert_eq!(of(&["--step-us", "10"]).status.code(), Some(5));
    for wrong in ["0", "9", "1001", "-5", "nan"] {
        assert_eq!(of(&["--step-us", wrong]).status.code(), Some(2), "{wrong}");
    }
}
