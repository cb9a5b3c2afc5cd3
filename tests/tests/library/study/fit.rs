//! `easeoff fit` on logs whose truth is known.

use easeoff_sim::files::demo;
use easeoff_sim::files::mistake::Source;
use easeoff_sim::run::columns::to_csv;
use easeoff_sim::run::{DEFAULT_STEP_S, simulate};
use easeoff_sim::study::fit::log::{DriveBy, Log, Wanted};
use easeoff_sim::study::fit::replay::Replay;
use easeoff_sim::study::fit::unknown::named;
use easeoff_sim::study::fit::{Fitted, fit};
use easeoff_tests::made_log::{MadeLog, Noise, csv, level};

const SILENT: [f64; 3] = [0.0; 3];
/// Half the step that the fit takes, so that the truth is not made by the same errors.
const FINE_S: f64 = 0.125e-3;

/// Speeds up in steps, coasts, pulls again, brakes: something of everything.
fn varied() -> Vec<(f64, f64)> {
    vec![(0.25, 0.25), (0.6, 0.6), (1.0, 1.3), (0.0, 1.9), (0.4, 2.3), (-0.5, 2.6)]
}

fn made(drive: Vec<(f64, f64)>) -> MadeLog {
    MadeLog { rig: demo::rig().unwrap(), rolling: 0.02, start_rad_s: 0.0, drive, every_s: 0.01 }
}

/// The demo's rig file with some of its numbers replaced.
fn rig_file(changes: &[(&str, &str)]) -> Source {
    let folder = demo::folder("garden").unwrap();
    let mut source = folder.read("rig.toml").unwrap();
    for (from, to) in changes {
        assert!(source.text.contains(from), "{from}");
        source.text = source.text.replacen(from, to, 1);
    }
    source
}

fn fitted(log: &str, file: Source, rolling: f64, free: &[&str]) -> Fitted {
    fitted_by(None, log, file, rolling, free)
}

fn fitted_by(
    drive_by: Option<DriveBy>,
    log: &str,
    file: Source,
    rolling: f64,
    free: &[&str],
) -> Fitted {
    let (rig, asked) = easeoff_sim::files::rig::read_asked(&file).unwrap();
    let tick_hz = f64::from(rig.board.tick_hz);
    let wanted = Wanted { drive_by, tick_hz, ..Wanted::default() };
    let log = Log::read(&Source::new("log.csv", log), &wanted).map_err(|refusal| refusal.render());
    let log = log.unwrap();
    let replay = Replay::new(level(rig, rolling), file, &log);
    let free: Vec<String> = free.iter().map(|name| (*name).into()).collect();
    let unknowns = named(&free, &replay, &asked).unwrap();
    fit(&log, &replay, &unknowns).unwrap()
}

fn value(fitted: &Fitted, name: &str) -> f64 {
    fitted.estimates.iter().find(|one| one.name == name).unwrap().value
}

/// Drag, resistance, inertia, rolling resistance and friction, all at once and all wrong by 20 to 50 % at
/// the beginning.
#[test]
fn without_noise_the_truth_comes_back() {
    let rows = made(varied()).rows(FINE_S).unwrap();
    let log = csv(&rows, Noise { deviations: SILENT, alike: 0.0, seed: 1 });
    let file = rig_file(&[
        ("drag_area_m2 = 0.01 ", "drag_area_m2 = 0.015 "),
        ("resistance_ohm = 0.08 ", "resistance_ohm = 0.10 "),
        ("rotor_inertia_kg_m2 = 0.000006", "rotor_inertia_kg_m2 = 0.000008"),
        ("no_load_a = 1.1", "no_load_a = 0.8"),
    ]);
    let truth = [
        ("vehicle.drag_area_m2", 0.01),
        ("motor.resistance_ohm", 0.08),
        ("motor.rotor_inertia_kg_m2", 6.0e-6),
        ("surface.rolling", 0.02),
        ("motor.no_load_a", 1.1),
    ];
    let found = fitted(&log, file, 0.03, &truth.map(|(name, _)| name));
    for (name, due) in truth {
        let off = value(&found, name) / due - 1.0;
        println!("{name}: off by {:.4} %", 100.0 * off);
        assert!(off.abs() < 1.0e-3, "{name}: {}, truth {due}", value(&found, name));
    }
}

/// Two forces that both hold back a rig at one steady speed; two resistances that one current flows through.
#[test]
fn what_a_log_cannot_tell_apart_is_named_and_what_would() {
    let settled = made(vec![(0.5, 6.0)]).rows(FINE_S).unwrap();
    let start_rad_s = settled.last().unwrap().exact[0];
    let steady = MadeLog { start_rad_s, ..made(vec![(0.5, 1.5)]) };
    let noise = Noise { deviations: [0.02, 0.02, f64::NAN], alike: 0.0, seed: 5 };
    let log = csv(&steady.rows(FINE_S).unwrap(), noise);
    for (pair, drive) in [
        (["vehicle.drag_area_m2", "surface.rolling"], "coast-down"),
        (["motor.resistance_ohm", "bridge.resistance_ohm"], "ohmmeter"),
    ] {
        let found = fitted(&log, rig_file(&[]), 0.02, &pair);
        let said = found.doubts.join("\n");
        let words = format!("cannot tell {} from {}", pair[0], pair[1]);
        assert!(said.contains(&words) && said.contains(drive), "{said}");
    }
    // A drive with more in it tells winding from rolling resistance, and nothing is said against it.
    let log = csv(&made(varied()).rows(FINE_S).unwrap(), noise);
    let found = fitted(&log, rig_file(&[]), 0.02, &["motor.resistance_ohm", "surface.rolling"]);
    assert_eq!(found.doubts, Vec::<String>::new());
}

/// A rig that rolls without resistance: the search goes down to what counts as nothing, and says so.
#[test]
fn an_unknown_that_runs_to_the_end_of_its_range_is_told() {
    let free = MadeLog { rolling: 0.0, ..made(varied()) };
    let noise = Noise { deviations: [0.05, 0.05, f64::NAN], alike: 0.0, seed: 4 };
    let log = csv(&free.rows(FINE_S).unwrap(), noise);
    let found = fitted(&log, rig_file(&[]), 0.02, &["surface.rolling"]);
    let one = &found.estimates[0];
    assert!(one.value < 1.0e-5 && one.end == Some("lowest"), "{one:?}");
    assert!(
        found.doubts.join("\n").contains("ran to its lowest allowed value"),
        "{:?}",
        found.doubts
    );
}

/// A log whose measured columns come late, and one whose columns slide along the drive.
#[test]
fn late_columns_and_clocks_that_run_apart_are_noticed() {
    let rows = made(varied()).rows(FINE_S).unwrap();
    let noise = Noise { deviations: [0.05, 0.05, f64::NAN], alike: 0.0, seed: 8 };
    let shifted = |shift: &dyn Fn(f64) -> f64| {
        let mut late = rows.clone();
        for row in &mut late {
            let at = (row.time_s - shift(row.time_s)).max(0.0) / 0.01;
            let (before, t) = (at.floor() as usize, at.fract());
            let next = (before + 1).min(rows.len() - 1);
            for (index, value) in row.exact.iter_mut().enumerate() {
                *value = rows[before].exact[index] * (1.0 - t) + rows[next].exact[index] * t;
            }
        }
        let found = fitted(&csv(&late, noise), rig_file(&[]), 0.02, &["motor.resistance_ohm"]);
        found.doubts.join("\n")
    };
    let late = shifted(&|_| 0.02);
    assert!(late.contains("ms late against the drive"), "{late}");
    let slides = shifted(&|time_s| 0.005 * time_s);
    assert!(slides.contains("two clocks"), "{slides}");
    let exact = shifted(&|_| 0.0);
    assert!(!exact.contains("late") && !exact.contains("clocks"), "{exact}");
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config { failure_persistence: None, ..Default::default() })]

    /// Any text, and any damage to a good log, is read or refused, without a panic.
    #[test]
    fn no_log_makes_the_reader_panic(
        text in "(time_s|tick|duty|pulse_us|motor_a|command|[0-9.,\\n\"#e-]|\\PC){0,80}",
        at in 0_usize..400,
        with in "\\PC{0,3}",
    ) {
        let wanted = Wanted { tick_hz: 1_000.0, ..Wanted::default() };
        let read = |text: String| match Log::read(&Source::new("any.csv", text), &wanted) {
            Ok(log) => assert!(log.sample_count() >= 3 && log.duration_s() > 0.0),
            Err(refusal) => assert!(!refusal.mistakes.is_empty() && !refusal.render().is_empty()),
        };
        read(text);
        let good: String = (0..30).map(|row| format!("0.{row:02},0.5,{row}\n")).collect();
        let good = format!("time_s,duty,motor_a\n{good}");
        let at = at.min(good.len());
        read(format!("{}{with}{}", &good[..at], &good[at..]));
        read(good[..at].to_owned());
        read(good);
    }
}

/// The pulses of a run with speed hold and drag brake go through the controller once more.
#[test]
fn by_pulses_through_the_controller_the_truth_comes_back() {
    let mut scenario = level(demo::rig().unwrap(), 0.02);
    scenario.driver.duration_s = 6.0;
    let log = to_csv(&simulate(&scenario, DEFAULT_STEP_S).unwrap().rows);
    let file =
        rig_file(&[("mass_kg = 2.4 ", "mass_kg = 2.1 "), ("no_load_a = 1.1", "no_load_a = 0.9")]);
    let truth = [("vehicle.mass_kg", 2.4), ("motor.no_load_a", 1.1)];
    let found = fitted_by(Some(DriveBy::Pulse), &log, file, 0.02, &truth.map(|(name, _)| name));
    for (name, due) in truth {
        let off = value(&found, name) / due - 1.0;
        println!("{name}: off by {:.4} %", 100.0 * off);
        assert!(off.abs() < 1.0e-3, "{name}: {}, truth {due}", value(&found, name));
    }
}

/// How many of 200 intervals hold the truth. By chance alone (binomial) the share lies within 90 and
/// 98 % in 97 of 100 such tests; the seeds are fixed.
#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    for (name, share) in coverage(200, 0.0) {
        println!("{name}: {:.1} %", 100.0 * share);
        assert!((0.90..=0.98).contains(&share), "{name}: {share}");
    }
}

/// With deviations that keep 0.6 of the one before, intervals for white noise would be too narrow by
/// `sqrt((1 + 0.6) / (1 - 0.6)) = 2` (algebra) and hold the truth in 67 % (normal distribution).
#[test]
fn intervals_hold_the_truth_when_deviations_are_alike() {
    for (name, share) in coverage(100, 0.6) {
        println!("{name}: {:.1} %", 100.0 * share);
        assert!((0.88..=0.99).contains(&share), "{name}: {share}");
    }
}

const COVERED: [(&str, f64); 2] = [("motor.resistance_ohm", 0.08), ("vehicle.mass_kg", 2.4)];

fn coverage(trials: u64, alike: f64) -> Vec<(&'static str, f64)> {
    let drive = vec![(0.3, 0.15), (0.7, 0.4), (0.0, 0.5), (-0.5, 0.6)];
    let rows = made(drive).rows(FINE_S).unwrap();
    let file = rig_file(&[
        ("resistance_ohm = 0.08 ", "resistance_ohm = 0.09 "),
        ("mass_kg = 2.4 ", "mass_kg = 2.2 "),
    ]);
    let trial = |seed: u64| {
        let log = csv(&rows, Noise { deviations: [0.4, 0.5, f64::NAN], alike, seed });
        let found = fitted(&log, file.clone(), 0.02, &COVERED.map(|(name, _)| name));
        COVERED.map(|(name, truth)| {
            let one = found.estimates.iter().find(|one| one.name == name).unwrap();
            u64::from((one.interval[0]..=one.interval[1]).contains(&truth))
        })
    };
    let hits: Vec<[u64; 2]> = std::thread::scope(|scope| {
        let halves = [0, 1].map(|odd| {
            let trial = &trial;
            scope.spawn(move || (0..trials / 2).map(|n| trial(2 * n + odd)).collect::<Vec<_>>())
        });
        halves.into_iter().flat_map(|half| half.join().unwrap()).collect()
    });
    let share =
        |index: usize| hits.iter().map(|hit| hit[index]).sum::<u64>() as f64 / trials as f64;
    COVERED.iter().enumerate().map(|(index, (name, _))| (*name, share(index))).collect()
}
