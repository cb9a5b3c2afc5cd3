//! Controllers that are programs of their own, run by the real interpreters and the real compiler.
//!
//! Python is the one named by `EASEOFF_PYTHON`, or `python3`; MicroPython the one named by
//! `EASEOFF_MICROPYTHON`, or `micropython`; the C compiler the one named by `CC`, or `cc`. Where one is
//! not named and not there, its test says so and compares nothing.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use easeoff_core::TickRate;
use easeoff_sim::files::demo;
use easeoff_sim::run::columns::run_to_csv;
use easeoff_sim::run::controller::{Control, Input, brake, drive};
use easeoff_sim::run::foreign::Foreign;
use easeoff_sim::run::{DEFAULT_STEP_S, controller, simulate_by};
use easeoff_tests::skipped;
use tempfile::TempDir;

use crate::runner::{easeoff, good, refused};

/// Where the examples are.
fn example(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("foreign").join(name);
    path.to_str().unwrap().to_owned()
}

/// A program that the environment names, or the usual one if it answers; says loudly when there is none.
fn tool(variable: &str, usual: &str, remedy: &str) -> Option<String> {
    let chosen = std::env::var(variable).ok();
    let name = chosen.clone().unwrap_or_else(|| usual.into());
    let answers =
        |flag: &str| Command::new(&name).arg(flag).output().is_ok_and(|o| o.status.success());
    if answers("--version") || answers("-h") {
        return Some(name);
    }
    assert!(chosen.is_none(), "{variable} names {name}, which does not run");
    skipped(&format!("there is no {name}. Remedy: {remedy}"));
    None
}

fn python() -> Option<String> {
    tool("EASEOFF_PYTHON", "python3", "install Python 3, or name it in EASEOFF_PYTHON")
}

/// The controller in C, built.
fn in_c(folder: &Path) -> Option<String> {
    let compiler = tool("CC", "cc", "install a C compiler, or name it in CC")?;
    let program = folder.join("hold").to_str().unwrap().to_owned();
    let built = Command::new(compiler)
        .args(["-std=c99", "-O2", "-Wall", "-Wextra", "-Werror", "-pedantic"])
        // A product and a sum rounded once would differ from the other languages.
        .args(["-ffp-contract=off", "-o", &program, &example("hold.c")])
        .status();
    assert!(built.unwrap().success());
    Some(program)
}

/// The controller of `tests/foreign/hold.*` once more, in this program.
#[derive(Default)]
struct Hold {
    hz: f64,
    pulse_us: Option<f64>,
    silent: f64,
    integral: f64,
    brake: f64,
}

impl Control for Hold {
    fn name(&self) -> String {
        "hold in Rust".into()
    }

    fn step(&mut self, input: &Input) -> controller::Command {
        self.silent += 1.0;
        if let Some(pulse) = input.pulse {
            (self.pulse_us, self.silent) = (Some(pulse.to_f32().into()), 0.0);
        }
        let Some(pulse_us) = self.pulse_us.filter(|_| self.silent <= 0.1 * self.hz) else {
            (self.integral, self.brake) = (0.0, 0.0);
            return controller::Command::Coast;
        };
        let throttle = (pulse_us - 1500.0) / 500.0;
        if throttle < 0.04 {
            self.integral = 0.0;
            self.brake = (self.brake + 1.0 / (0.3 * self.hz)).min(1.0);
            return brake(self.brake);
        }
        self.brake = 0.0;
        let error = throttle - input.speed.map_or(0.0, |speed| speed.to_f32().into()) / 57.0;
        self.integral = (self.integral + 6.0 * error / self.hz).clamp(-0.1, 0.1);
        let added = (1.0 * error + self.integral).clamp(-0.1, 0.1);
        drive((throttle + added).clamp(0.0, 1.0))
    }

    fn columns(&self) -> Vec<String> {
        vec!["integral".into()]
    }

    fn values(&self) -> Vec<f64> {
        vec![self.integral]
    }
}

/// The garden's table by the same controller in this program.
fn by_rust() -> String {
    let scenario = demo::scenario("garden").unwrap();
    let mut hold = Hold { hz: 1_000.0, ..Hold::default() };
    let run = simulate_by(&scenario, DEFAULT_STEP_S, &mut hold).unwrap();
    assert!(run.driven.foreign && run.driven.fault.is_none());
    run_to_csv(&run)
}

/// The garden's table as the program writes it.
fn by_command(folder: &Path, command: &str) -> String {
    good(folder, &["drive", "--controller-cmd", command]);
    fs::read_to_string(folder.join("out/garden-own-controller/run.csv")).unwrap()
}

#[test]
fn c_and_python_give_the_table_of_rust_to_the_last_digit() {
    let folder = TempDir::new().unwrap();
    let rust = by_rust();
    assert!(rust.lines().next().unwrap().ends_with(",charge,integral"));
    if let Some(program) = in_c(folder.path()) {
        assert!(by_command(folder.path(), &program) == rust, "C differs");
    }
    if let Some(python) = python() {
        let command = format!("{python} {}", example("hold.py"));
        assert!(by_command(folder.path(), &command) == rust, "Python differs");
    }
}

/// MicroPython prints a float with up to 16 digits, so the last of its own column may differ; the commands
/// do not, nor anything that comes of them.
#[test]
fn micropython_drives_the_same() {
    let remedy =
        "pip install -r tests/foreign/requirements.txt, and name it in EASEOFF_MICROPYTHON";
    let Some(name) = tool("EASEOFF_MICROPYTHON", "micropython", remedy) else { return };
    let folder = TempDir::new().unwrap();
    let (rust, theirs) = (
        by_rust(),
        by_command(folder.path(), &format!("{name} {}", example("hold_micropython.py"))),
    );
    assert_eq!(rust.lines().count(), theirs.lines().count());
    for (ours, theirs) in rust.lines().zip(theirs.lines()).skip(1) {
        let (ours, theirs) = (ours.rsplit_once(',').unwrap(), theirs.rsplit_once(',').unwrap());
        assert_eq!(ours.0, theirs.0);
        let [ours, theirs] = [ours.1, theirs.1].map(|cell| cell.parse::<f64>().unwrap());
        assert!((ours - theirs).abs() < 1e-16, "{ours} {theirs}");
    }
}

/// Answers well until tick 3000, then does what it is told to; also in the trial on the slope.
const FAILS: &str = r#"
import sys, time
how = sys.argv[1]
sys.stdin.readline(); sys.stdin.readline()
print("ready,1,fails", flush=True)
for line in sys.stdin:
    tick = line.split(",")[0]
    if tick != "3000":
        print(f"{tick},drive,0.3", flush=True)
    elif how == "crash":
        1 / 0
    elif how == "leave":
        sys.exit(0)
    elif how == "cut":
        sys.stdout.write(f"{tick},coa")
        sys.exit(3)
    elif how == "silence":
        time.sleep(600)
    elif how == "deaf":
        print(f"{tick},coast", flush=True)
        time.sleep(600)
    elif how == "flood":
        for _ in range(2000):
            sys.stderr.write("x" * 1000)
        time.sleep(600)
    else:
        print(how.replace("TICK", tick), flush=True)
"#;

#[test]
fn a_failure_is_told_with_tick_and_text_and_the_rig_coasts_from_there() {
    let Some(python) = python() else { return };
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("fails.py"), FAILS).unwrap();
    let long = "x".repeat(10_000);
    // Built before the clock runs.
    good(folder.path(), &["--version"]);
    for (how, tick, says) in [
        (
            "crash",
            3000,
            "ended (exit status: 1) after saying \"ZeroDivisionError: division by zero\"",
        ),
        ("leave", 3000, "ended (exit status: 0)"),
        ("cut", 3000, "ended (exit status: 3)"),
        ("silence", 3000, "does not answer within 400 ms"),
        ("what?", 3000, "it answers \"what?\""),
        ("TICK,drive,nan", 3000, "a duty is a number from -1 to 1"),
        ("TICK,drive,1.5", 3000, "a duty is a number from -1 to 1"),
        ("TICK,brake,-1", 3000, "a brake's share is a number from 0 to 1"),
        // Two at one time: told when they come.
        ("TICK,coast\nTICK,coast", 3000, "sends \"3000,coast\" before it is asked"),
        (long.as_str(), 3000, "a line of more than 4096 bytes"),
        // It reads no more; the next question has no answer.
        ("deaf", 3001, "does not answer within 400 ms"),
        // On standard error, without an end of the line; then silence.
        ("flood", 3000, "does not answer within 400 ms"),
    ] {
        let command = format!("{python} fails.py '{how}'");
        let arguments = ["drive", "--demo", "snag", "--controller-limit-ms", "400"];
        let arguments = [&arguments[..], &["--controller-cmd", &command]].concat();
        let begun = Instant::now();
        let output = easeoff(folder.path(), &arguments);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(7), "{how}: {said}");
        assert!(said.contains(&format!("fails failed at tick {tick}: ")), "{how}: {said}");
        assert!(said.contains(says) && said.contains("trial on the slope"), "{how}: {said}");
        assert!(begun.elapsed() < Duration::from_secs(20), "{how}");

        let out = folder.path().join("out/snag-own-controller");
        let read = |name: &str| fs::read_to_string(out.join(name)).unwrap();
        let table = read("run.csv");
        let heads: Vec<&str> = table.lines().next().unwrap().split(',').collect();
        let [duty, brake] = ["duty", "brake_share"]
            .map(|name| heads.iter().position(|head| *head == name).unwrap());
        assert_eq!(table.lines().count(), 10_001, "the run did not go on");
        for (row, line) in table.lines().skip(1).enumerate() {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap_or(0.0)).collect();
            let driven = row < tick && row != 3000;
            let due = if driven { 0.3 } else { 0.0 };
            assert!((cells[duty] - due).abs() < 1e-4 && cells[brake] == 0.0, "{how}, row {row}");
        }
        assert!(read("run.svg").contains("fails fails: coasts since"), "{how}: not on the plot");
        let shown = read("report.html");
        assert!(
            shown.contains(&format!("fails failed at tick {tick}"))
                && shown.contains("coasts since")
        );
        let record: serde_json::Value = serde_json::from_str(&read("run.json")).unwrap();
        assert_eq!(record["runs"][0]["controller"]["fault"]["tick"], tick);
    }
}

#[test]
fn what_is_no_controller_is_refused_before_anything_is_driven() {
    let folder = TempDir::new().unwrap();
    for (command, says) in [
        ("no-such-program", "cannot be started"),
        ("", "is empty; name a program"),
        ("cat 'x", "a quote without its end"),
    ] {
        let said = refused(folder.path(), &["drive", "--controller-cmd", command]);
        assert!(said.contains(says), "{said}");
    }
    let said =
        refused(folder.path(), &["drive", "--controller-cmd", "x", "--controller-limit-ms", "0"]);
    assert!(said.contains("allowed is a number from 1 to 60000"), "{said}");
    let Some(python) = python() else { return };
    for (program, says) in [
        ("print('hello')", "greets with \"hello\"; expected is ready,1, its name"),
        ("print('ready,2,new')", "speaks version \"2\""),
        ("pass", "ended (exit status: 0)"),
        ("print('ready,1,mine,duty')", "run.csv has already; rename it"),
    ] {
        let command = format!("{python} -c \"{program}\"");
        let said = refused(folder.path(), &["drive", "--controller-cmd", &command]);
        assert!(said.contains(says), "{said}");
    }
}

/// A wrapper that does not stop at the end of its input must not stay, nor what it started.
#[cfg(target_os = "linux")]
#[test]
fn a_controller_that_does_not_end_is_ended_with_what_it_started() {
    let folder = TempDir::new().unwrap();
    let note = folder.path().join("note");
    let script = format!(
        "read a; read b; echo ready,1,stays; sleep 600 & echo $! > {}; wait; sleep 600",
        note.display()
    );
    let words = ["sh", "-c", &script].map(str::to_owned);
    let rate = TickRate::new(1_000).unwrap();
    let mut foreign = Foreign::start(&words, rate, Duration::from_millis(300)).unwrap();
    let begun = Instant::now();
    assert_eq!(foreign.step(&Input::default()), controller::Command::Coast);
    assert!(foreign.fault().unwrap().what.contains("300 ms"));
    assert!(begun.elapsed() < Duration::from_secs(5));
    until_gone(&note);
}

/// Right answers, but two at a time: not taken for lock-step.
#[test]
fn answers_before_their_questions_are_refused() {
    let Some(python) = python() else { return };
    let script = "import sys; input(); input(); print('ready,1,ahead', flush=True); input()\n\
                  print('0,coast\\n1,coast', flush=True); sys.stdin.read()";
    let words = [python.as_str(), "-u", "-c", script].map(str::to_owned);
    let rate = TickRate::new(1_000).unwrap();
    let mut foreign = Foreign::start(&words, rate, Duration::from_secs(10)).unwrap();
    assert_eq!(foreign.step(&full_input()), controller::Command::Coast);
    let what = foreign.fault().unwrap().what;
    assert!(what.contains("\"1,coast\" before it is asked; answer each line with one"), "{what}");
}

/// Something in every field.
fn full_input() -> Input {
    Input {
        pulse: easeoff_core::Microseconds::new(1_700.3),
        speed: easeoff_core::Speed::new(12.345),
        current: easeoff_core::Amp::new(3.21),
        voltage: easeoff_core::Volt::new(11.1),
        temperature: easeoff_core::Celsius::new(20.5),
    }
}

/// A wrapper that ends by itself and leaves something behind.
#[cfg(target_os = "linux")]
#[test]
fn what_a_controller_leaves_behind_is_ended_too() {
    let folder = TempDir::new().unwrap();
    let note = folder.path().join("note");
    let script = format!(
        "sleep 600 >/dev/null 2>&1 & echo $! > {}; read a; read b; echo ready,1,leaves; read c; echo 0,coast",
        note.display()
    );
    let words = ["sh", "-c", &script].map(str::to_owned);
    let rate = TickRate::new(1_000).unwrap();
    let mut foreign = Foreign::start(&words, rate, Duration::from_secs(5)).unwrap();
    assert_eq!(foreign.step(&Input::default()), controller::Command::Coast);
    assert_eq!(foreign.fault(), None);
    assert!(!gone(&note), "the test tries nothing");
    drop(foreign);
    until_gone(&note);
}

/// Waits until it is; that takes a moment.
#[cfg(target_os = "linux")]
fn until_gone(note: &Path) {
    let until = Instant::now() + Duration::from_secs(3);
    while !gone(note) {
        assert!(Instant::now() < until, "what it started is still there");
        std::thread::sleep(Duration::from_millis(10));
    }
}

/// Whether the process whose number a script has noted is gone, or dead and not yet collected by whoever inherits it.
#[cfg(target_os = "linux")]
fn gone(note: &Path) -> bool {
    let sleeper = fs::read_to_string(note).unwrap();
    let stat = fs::read_to_string(format!("/proc/{}/stat", sleeper.trim()));
    stat.map_or(true, |stat| stat.contains(") Z "))
}

/// At least 20,000 ticks a second for C, the plant left out; prints what it is here.
#[test]
fn a_controller_in_c_keeps_up() {
    let folder = TempDir::new().unwrap();
    let Some(program) = in_c(folder.path()) else { return };
    let words = [program];
    let input = full_input();
    let rate = TickRate::new(1_000).unwrap();
    let ticks = 20_000_u32;
    // Other tests run beside it: the best of five is what the line can do.
    let best = (0..5)
        .map(|_| {
            let limit = Duration::from_secs(1);
            let mut foreign = Foreign::start(&words, rate, limit).unwrap();
            let begun = Instant::now();
            for _ in 0..ticks {
                foreign.step(&input);
            }
            assert_eq!(foreign.fault(), None);
            f64::from(ticks) / begun.elapsed().as_secs_f64()
        })
        .fold(0.0, f64::max);
    println!("{best:.0} ticks per second");
    assert!(best >= 20_000.0, "only {best:.0} ticks per second");
}
