//! Every command, whichever there are: its help, its example, its JSON, its streams; the manual and the
//! completions.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use clap::Command as Definition;
use easeoff::cli::definition;
use easeoff_core::telemetry::{Frame, MOST_BYTES, encode};
use easeoff_tests::made_throttle::{Random, Truth, table};
use easeoff_tests::{made_log, skipped};
use tempfile::TempDir;

use crate::runner::{command, easeoff, good};

/// The command line after "Example:" in a command's long help.
fn example(of: &Definition) -> Vec<String> {
    let name = of.get_name();
    let help = of.get_long_about().unwrap_or_else(|| panic!("{name} has no long help")).to_string();
    let lines: Vec<&str> = help.lines().filter_map(|line| line.strip_prefix("Example: ")).collect();
    let [line] = lines[..] else {
        panic!(
            "the long help of {name} needs one line that begins with \"Example: easeoff\": {help}"
        )
    };
    line.split_whitespace().map(str::to_owned).collect()
}

/// A folder in which every example can be run.
fn fixtures() -> TempDir {
    let folder = TempDir::new().unwrap();
    good(folder.path(), &["new", "my-rig"]);
    good(folder.path(), &["drive"]);
    let frames = (0..9).map(|sequence| Frame { sequence, ..Frame::default() });
    let bytes = frames.flat_map(|frame| encode(&frame, &mut [0; MOST_BYTES]).unwrap().to_vec());
    let put = |name: &str, content: Vec<u8>| fs::write(folder.path().join(name), content).unwrap();
    put("board.bin", bytes.collect());
    let tune = fs::read_to_string(folder.path().join("my-rig/tune.toml")).unwrap();
    put("softer.toml", tune.replacen("onset_ms = 330", "onset_ms = 600", 1).into_bytes());
    good(folder.path(), &["new", "other-rig", "--demo", "snag"]);
    good(folder.path(), &["export", "my-rig", "--out", "tune.blob"]);
    put("log.csv", made_log::lively_csv().into_bytes());
    put("pulses.csv", table(&Truth::default().record(&mut Random(2)).samples).into_bytes());
    for part in ["1", "2", "3"] {
        let (shard, out) = (format!("{part}/3"), format!("part{part}"));
        let grid =
            ["--demo", "let-off", "--vary", "tune.drag.onset_ms=0..900:4", "--scores", "lurch"];
        let words = [&["sweep"][..], &grid, &["--shard", &shard, "--out", &out]].concat();
        good(folder.path(), &words);
    }
    folder
}

/// Each command with the arguments of its example, to be run anew at will.
fn examples() -> Vec<(String, Vec<String>)> {
    let of = |known: &Definition| {
        let mut words = example(known);
        words.remove(0);
        // Written before, by the fixtures or by another test.
        words.push("--force".into());
        (known.get_name().to_owned(), words)
    };
    definition().get_subcommands().map(of).collect()
}

fn run(folder: &Path, words: &[String], more: &[&str]) -> Output {
    let words: Vec<&str> = words.iter().map(String::as_str).chain(more.iter().copied()).collect();
    easeoff(folder, &words)
}

#[test]
fn every_command_has_an_example_that_parses() {
    for known in definition().get_subcommands() {
        let words = example(known);
        assert_eq!(words[0], "easeoff");
        assert_eq!(words[1], known.get_name(), "the example is of another command");
        definition()
            .try_get_matches_from(&words)
            .unwrap_or_else(|error| panic!("{words:?}: {error}"));
    }
}

#[test]
fn every_command_and_every_argument_has_help() {
    let arguments = |of: &Definition| {
        for argument in of.get_arguments() {
            let help = argument.get_help().map(ToString::to_string).unwrap_or_default();
            assert!(help.len() > 5, "{} of {} has no help", argument.get_id(), of.get_name());
        }
    };
    arguments(&definition());
    for known in definition().get_subcommands() {
        let about = known.get_about().map(ToString::to_string).unwrap_or_default();
        assert!(about.len() > 20, "{} does not say what it does", known.get_name());
        arguments(known);
        let said = good(Path::new("."), &[known.get_name(), "--help"]);
        assert!(said.contains("Example: easeoff ") && said.contains("--json"), "{said}");
    }
}

#[test]
fn every_command_tells_what_it_found_as_json() {
    let folder = fixtures();
    for (name, words) in examples() {
        let output = run(folder.path(), &words, &["--json"]);
        assert!(
            output.status.success(),
            "the example of {name} does not run; what it needs is made in fixtures(): {}",
            String::from_utf8_lossy(&output.stderr)
        );
        let record: serde_json::Value = serde_json::from_slice(&output.stdout)
            .unwrap_or_else(|error| panic!("{name} --json is no JSON: {error}"));
        assert!(record["easeoff"].is_string(), "{name}: {record}");
        assert_eq!(record["command"], name.as_str());
        assert!(record.as_object().unwrap().len() > 2, "{name} says nothing: {record}");
    }
}

#[test]
fn a_reader_who_leaves_early_is_no_failure_and_a_full_output_is_one() {
    let folder = fixtures();
    for (name, words) in examples() {
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let mut left = command(folder.path(), &words);
        let mut running = left.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(running.stdout.take());
        let output = running.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{name}: {said}");
        assert!(!said.contains("panicked") && !said.contains("pipe"), "{name}: {said}");

        let Ok(full) = fs::OpenOptions::new().write(true).open("/dev/full") else {
            skipped("no output is full: there is no /dev/full. Remedy: run on Linux");
            continue;
        };
        let output = command(folder.path(), &words).stdout(full).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(4), "{name}: {said}");
        assert!(said.contains("standard output cannot be written: No space"), "{name}: {said}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn help_itself_knows_pipes_and_full_outputs() {
    for words in [&["--help"][..], &["--version"], &["drive", "--help"]] {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = command(Path::new("."), words).stdout(full).output().unwrap();
        assert_eq!(output.status.code(), Some(4), "{words:?}");
    }
    assert_eq!(easeoff(Path::new("."), &["drive", "--no-such"]).status.code(), Some(2));
    assert_eq!(easeoff(Path::new("."), &[]).status.code(), Some(2));
}

/// What a program says of a file, or `None`, and said, without that program.
fn judged(program: &str, arguments: &[&str]) -> Option<String> {
    match Command::new(program).args(arguments).output() {
        Ok(output) => {
            let said = [output.stdout, output.stderr].concat();
            let said = String::from_utf8_lossy(&said).into_owned();
            assert!(output.status.success(), "{program} {arguments:?}: {said}");
            Some(said)
        }
        Err(error) => {
            skipped(&format!(
                "{program} does not judge: {error}. Remedy: apt-get install {program}"
            ));
            None
        }
    }
}

fn saved(name: &str, arguments: &[&str]) -> (TempDir, String) {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join(name);
    fs::File::create(&path).unwrap().write_all(good(Path::new("."), arguments).as_bytes()).unwrap();
    let path = path.to_str().unwrap().to_owned();
    (folder, path)
}

#[test]
fn the_manual_has_every_command_and_renders() {
    let (_folder, page) = saved("easeoff.1", &["man"]);
    // Judged by mandoc, which knows nothing of us. Its warnings are of taste: a page without a date.
    judged("mandoc", &["-T", "lint", "-W", "error", &page]);
    let rendered = [
        judged("mandoc", &["-T", "utf8", "-O", "width=200", &page]),
        judged("man", &["-l", "-E", "utf8", &page]),
    ];
    for text in rendered.into_iter().flatten() {
        // Bold by overstriking.
        let mut plain = String::new();
        for letter in text.chars() {
            if letter == '\u{8}' {
                plain.pop();
            } else {
                plain.push(letter);
            }
        }
        // Lines are broken, and words hyphenated, as the typesetter likes.
        let joined =
            |text: &str| text.replace(['-', '\u{2010}'], "").split_whitespace().collect::<String>();
        let plain = joined(&plain);
        for known in definition().get_subcommands() {
            let of = example(known).join(" ");
            assert!(plain.contains(&joined(&format!("Example: {of}"))), "{of} is not in {plain}");
            for long in known.get_arguments().filter_map(|argument| argument.get_long()) {
                assert!(plain.contains(&joined(long)), "{long} is not in the manual");
            }
        }
        assert!(plain.contains("EXITSTATUS") && plain.contains("nothingwaswritten"));
    }
}

#[test]
fn shells_take_the_completions_and_complete() {
    let names: Vec<String> =
        definition().get_subcommands().map(|known| known.get_name().to_owned()).collect();
    let (_folder, script) = saved("easeoff.bash", &["completions", "bash"]);
    let asks = format!(
        "source <(cat '{script}') && complete -p easeoff && COMP_WORDS=(easeoff '') COMP_CWORD=1 && \
         _easeoff easeoff '' easeoff && echo \"${{COMPREPLY[@]}}\" && COMP_WORDS=(easeoff drive --cr) \
         COMP_CWORD=2 && _easeoff easeoff --cr drive && echo \"${{COMPREPLY[@]}}\""
    );
    if let Some(said) = judged("bash", &["--norc", "-c", &asks]) {
        let lines: Vec<&str> = said.lines().collect();
        assert!(lines[0].contains("-F _easeoff"), "{said}");
        let offered: Vec<&str> = lines[1].split(' ').collect();
        assert!(names.iter().all(|name| offered.contains(&name.as_str())), "{offered:?}");
        assert_eq!(lines[2], "--creep-slope-deg");
    }
    let (_folder, script) = saved("easeoff.fish", &["completions", "fish"]);
    let asks = format!("source '{script}'; complete -C 'easeoff '");
    if let Some(said) = judged("fish", &["--no-config", "-c", &asks]) {
        let offered: Vec<&str> = said.lines().filter_map(|line| line.split('\t').next()).collect();
        assert!(names.iter().all(|name| offered.contains(&name.as_str())), "{said}");
    }
    let (_folder, script) = saved("_easeoff", &["completions", "zsh"]);
    let asks = format!(
        "autoload -Uz compinit && compinit -D -u && source '{script}' && echo $_comps[easeoff]"
    );
    if let Some(said) = judged("zsh", &["-f", "-c", &asks]) {
        assert_eq!(said.trim(), "_easeoff");
    }
}
