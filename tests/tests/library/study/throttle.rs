//! Recordings of made-up throttles whose truth is known.

use easeoff::draw::canvas::svg;
use easeoff::draw::throttle as sheet;
use easeoff_core::telemetry::{Frame, MOST_BYTES, encode};
use easeoff_core::{
    CalibrationProgress, CalibratorSettings, Input, Microseconds, PulseSettings, Settings, State,
    TickRate,
};
use easeoff_sim::study::throttle::recording::{Origin, Pulses};
use easeoff_sim::study::throttle::{Measuring, Throttle, words};
use easeoff_tests::made_throttle::{Random, Truth, table};
use easeoff_tests::near;
use proptest::prelude::*;

fn measured(samples: Vec<[f64; 2]>) -> Throttle {
    measured_with(samples, CalibratorSettings::default())
}

fn measured_with(samples: Vec<[f64; 2]>, calibrator: CalibratorSettings) -> Throttle {
    let rate = TickRate::new(1_000).unwrap();
    let measuring = Measuring { calibrator, pulse: PulseSettings::default(), rate };
    measuring.measure(Pulses { samples, origin: Origin::Table }).unwrap()
}

fn stopped_by(throttle: &Throttle, words: &str) -> bool {
    assert!(throttle.verdict.calibration.is_none(), "{:?}", throttle.verdict);
    throttle
        .verdict
        .findings
        .iter()
        .any(|finding| finding.stops && finding.what.contains(words) && !finding.remedy.is_empty())
}

/// The whole recording's medians lie within half a deviation and half a step of the truth, the board's
/// means of one second each within what is stated below.
#[test]
fn two_hundred_throttles_are_measured_as_they_are() {
    let (mut worst, mut sure, mut levels) = (0.0_f64, 0, 0);
    for seed in 0..200 {
        let mut random = Random(seed);
        let truth = Truth::random(&mut random);
        let recorded = truth.record(&mut random);
        let found = measured(recorded.samples);
        let frames = found.frames.unwrap();
        assert_eq!((frames.missing, frames.gaps), (recorded.missing, recorded.gaps), "{truth:?}");
        near(frames.period_ms, 1_000.0 * truth.period_s, 2.0 * truth.period_s);
        assert_eq!((found.implausible, found.board.unseen), (0, 0));
        let calibration = found.verdict.calibration;
        let kept = calibration.unwrap_or_else(|| panic!("{truth:?}: {:?}", found.verdict));
        assert_eq!(kept.reversed, truth.reversed);
        let rest = found.levels.rest.unwrap();
        for (board, level, truth_us) in [
            (kept.low_us, found.levels.low.unwrap(), truth.low_us),
            (kept.neutral_us, rest.level, truth.neutral_us),
            (kept.high_us, found.levels.high.unwrap(), truth.high_us),
        ] {
            let off = (level.us - truth_us).abs();
            near(level.us, truth_us, 0.5 * truth.noise_us + truth.step_us / 2.0 + 1.0e-6);
            // Its second may begin with the last two pulses of the way there, each up to 12 us off.
            let way = 24.0 * truth.period_s;
            near(board.into(), truth_us, truth.noise_us + truth.step_us / 2.0 + way);
            worst = worst.max(off);
            levels += 1;
            sure += usize::from(off <= level.within_us + 1.0e-9);
        }
        let dead_band = f64::from(kept.dead_band_us);
        assert!(dead_band >= (5.0 * 0.7 * truth.noise_us).max(8.0) && dead_band < 30.0, "{kept:?}");
        assert_eq!(rest.dead_band(kept.neutral_us.into()).outside, 0);
    }
    println!("{sure} of {levels} levels within what was stated; farthest off {worst:.3} us");
    // Stated is 95 %; of 600 draws fewer than 540 come once in 10^7 if that is true.
    assert!(sure >= 540, "{sure} of {levels}");
}

#[test]
fn frames_are_counted_where_most_are_missing() {
    for seed in 0..50 {
        let truth = Truth { missing_share: 0.6, jitter_s: 0.001, ..Truth::default() };
        let recorded = truth.record(&mut Random(seed));
        let found = measured(recorded.samples);
        let frames = found.frames.unwrap();
        assert_eq!((frames.missing, frames.gaps), (recorded.missing, recorded.gaps));
        assert!(
            found.verdict.findings.iter().any(|f| f.what.contains("of the frames are missing"))
        );
        assert!(!found.board.lost_s.is_empty(), "five in a row are missing somewhere");
    }
}

/// The width stated for normal noise: 2 * 1.6449 standard deviations hold 90 % (tables of the normal
/// distribution), and 99 % lie within 2.5758.
#[test]
fn noise_and_dead_band_are_those_of_the_normal_distribution() {
    for seed in 0..20 {
        let script = vec![(0.0, 60.0), (1.0, 3.0), (-1.0, 3.0), (0.0, 60.0)];
        let truth = Truth { noise_us: 3.0, step_us: 0.0, script, ..Truth::default() };
        let wide = CalibratorSettings {
            spread_us: 30.0,
            least_travel_us: 200.0,
            ..CalibratorSettings::default()
        };
        let found = measured_with(truth.record(&mut Random(seed)).samples, wide);
        let rest = found.levels.rest.unwrap();
        near(rest.noise_us, 2.0 * 1.644_9 * 3.0, 0.4);
        let band = rest.dead_band(rest.level.us);
        near(band.reach_us, 2.575_8 * 3.0, 0.5);
        near(band.us, libm::ceil(2.0 * 2.575_8 * 3.0), 1.0);
        near(found.levels.change_us, 3.0, 0.15);
    }
}

#[test]
fn implausible_pulses_are_counted_and_move_nothing() {
    for seed in 0..50 {
        let truth = Truth { glitch_share: 0.002, ..Truth::default() };
        let recorded = truth.record(&mut Random(seed));
        let found = measured(recorded.samples);
        assert_eq!((found.implausible, found.board.refused), (recorded.wild, recorded.wild));
        near(found.levels.high.unwrap().us, truth.high_us, 0.5);
        near(found.levels.low.unwrap().us, truth.low_us, 0.5);
        let reported =
            |f: &&easeoff_sim::study::throttle::verdict::Finding| f.what.contains("outside 800");
        assert_eq!(found.verdict.findings.iter().any(|f| reported(&f)), recorded.wild > 0);
    }
}

/// A tenth of the pulses off by what is plausible: no board finds a second without one, and the medians
/// stay where they are, though a tenth on one side moves a median by a seventh of a deviation.
#[test]
fn single_wild_pulses_do_not_move_the_levels() {
    for seed in 0..50 {
        let truth = Truth { glitch_share: 0.1, glitch_us: 90.0, noise_us: 2.0, ..Truth::default() };
        let found = measured(truth.record(&mut Random(seed)).samples);
        let rest = found.levels.rest.as_ref().unwrap();
        near(rest.level.us, truth.neutral_us, 1.0);
        near(found.levels.low.unwrap().us, truth.low_us, 1.0);
        near(found.levels.high.unwrap().us, truth.high_us, 1.0);
        assert_eq!(found.implausible, 0);
        assert!(stopped_by(&found, "would still wait"));
    }
}

#[test]
fn where_both_differ_nothing_is_kept() {
    // Pushed further when the board no longer looks.
    let script = vec![(0.0, 3.0), (0.8, 3.0), (-1.0, 3.0), (1.0, 3.0), (0.0, 3.0)];
    let found = measured(Truth { script, ..Truth::default() }.record(&mut Random(1)).samples);
    assert!(matches!(found.board.progress, CalibrationProgress::Accepted(_)));
    assert!(stopped_by(&found, "For high a board would take 1883."), "{:?}", found.verdict);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    /// Whatever can be read from a table: measured, put into words and drawn without a panic.
    #[test]
    fn anything_is_measured_and_drawn(
        rows in proptest::collection::vec((0.0..0.3_f64, 0.0..30_000.0_f64, 0..4_u8), 2..200),
    ) {
        let mut time = 0.0;
        let samples: Vec<[f64; 2]> = rows
            .iter()
            .map(|(wait, us, kind)| {
                // Mostly steady, now and then without any time between, sometimes anything.
                time += if *kind == 0 { 0.0 } else { *wait };
                [time, if *kind < 3 { 1_500.0 + us / 10_000.0 } else { *us }]
            })
            .collect();
        let found = measured(samples);
        let sheet = sheet::over_time("anything", &found);
        prop_assert!(svg(&sheet).is_ok_and(|drawing| !drawing.contains("NaN")));
        if let Some(rest) = &found.levels.rest {
            prop_assert!(svg(&sheet::at_rest(&found, rest)).is_ok());
        }
        prop_assert!(!words::text(&found).contains("NaN"));
        prop_assert_eq!(
            found.verdict.calibration.is_none(),
            found.verdict.findings.iter().any(|finding| finding.stops)
        );
    }
}

#[test]
fn a_recording_that_lacks_something_is_told_what() {
    let with = |script: &[(f64, f64)]| {
        let truth = Truth { script: script.to_vec(), ..Truth::default() };
        measured(truth.record(&mut Random(7)).samples)
    };
    let whole = with(&[(0.0, 3.0), (1.0, 3.0), (-1.0, 3.0), (0.0, 3.0)]);
    assert!(whole.verdict.calibration.is_some() && whole.verdict.findings.is_empty());
    let tick =
        |(_, step): &(f64, CalibrationProgress)| matches!(step, CalibrationProgress::Accepted(_));
    assert!(whole.board.steps.last().is_some_and(tick));

    let only_rest = with(&[(0.0, 8.0)]);
    assert!(stopped_by(&only_rest, "never held 150 us or more"));
    assert!(stopped_by(&only_rest, "would still wait: for full forward"));
    let one_side = with(&[(0.0, 3.0), (1.0, 3.0), (0.0, 3.0)]);
    assert!(stopped_by(&one_side, "Only one side is there"));
    assert!(stopped_by(&one_side, "would still wait: for the far end"));
    let no_rest_after = with(&[(0.0, 3.0), (1.0, 3.0), (-1.0, 3.0)]);
    assert!(stopped_by(&no_rest_after, "does not end with the throttle let go"));
    let never_still = with(&[(0.0, 0.2), (1.0, 0.1), (-1.0, 0.1), (0.0, 0.2)]);
    assert!(stopped_by(&never_still, "nowhere steady"));
    let begun_pushed = with(&[(1.0, 3.0), (0.0, 3.0), (-1.0, 3.0), (0.0, 3.0)]);
    assert!(stopped_by(&begun_pushed, "Or the throttle was held at first"));
    // To the stop for a moment, then held at four fifths of the way.
    let short_of_it = with(&[(0.0, 3.0), (1.0, 0.1), (0.8, 3.0), (-1.0, 3.0), (0.0, 3.0)]);
    assert!(stopped_by(&short_of_it, "but was held no further than"));
    let same_side = with(&[(0.0, 3.0), (1.0, 3.0), (0.0, 3.0), (1.0, 3.0), (0.0, 3.0)]);
    assert!(stopped_by(&same_side, "pushed to the same side twice"));
    let uneven = Truth { high_us: 1_800.0, ..Truth::default() };
    let uneven = measured(uneven.record(&mut Random(7)).samples);
    assert!(uneven.verdict.calibration.is_some());
    assert!(
        uneven.verdict.findings[0].what.contains("One side has 293 us of travel above"),
        "{uneven:?}"
    );
}

#[test]
fn a_neutral_that_drifts_is_told_and_beyond_the_spread_refused() {
    let drifting = |drift_us| {
        let truth = Truth { drift_us, step_us: 0.0, ..Truth::default() };
        measured(truth.record(&mut Random(3)).samples)
    };
    let little = drifting(9.0);
    let rest = little.levels.rest.as_ref().unwrap();
    // From the middle of the first fifth of the pulses at rest to that of the last: 12.0 of 13.2 s.
    near(rest.drift_us, 9.0 * 12.0 / 13.2, 0.7);
    assert!(
        little.verdict.findings.iter().any(|finding| finding.what.contains("Neutral drifts by"))
    );
    assert!(little.verdict.calibration.is_some_and(|kept| kept.dead_band_us >= 12.0));
    assert!(stopped_by(&drifting(25.0), "rest moved by"));
    assert!(
        !measured(Truth::default().record(&mut Random(3)).samples)
            .verdict
            .findings
            .iter()
            .any(|finding| finding.what.contains("drift"))
    );
}

#[test]
fn noise_beyond_the_spread_names_the_spread_that_does() {
    let truth = Truth { noise_us: 4.0, ..Truth::default() };
    let samples = truth.record(&mut Random(5)).samples;
    let found = measured(samples.clone());
    assert!(found.verdict.calibration.is_none());
    let said = found.verdict.findings.iter().find(|f| f.what.contains("count as steady")).unwrap();
    let number = |option: &str| -> f32 {
        let text = said.remedy.split(option).nth(1).unwrap();
        text.trim().split([' ', '.']).next().unwrap().parse().unwrap()
    };
    let calibrator = CalibratorSettings {
        spread_us: number("--spread-us"),
        least_travel_us: number("--least-travel-us"),
        ..CalibratorSettings::default()
    };
    assert!(measured_with(samples, calibrator).verdict.calibration.is_some());
}

/// The controller at work on these pulses, a frame per tick.
fn telemetry(samples: &[[f64; 2]]) -> Vec<u8> {
    let controller = Settings::default().prepare(TickRate::new(1_000).unwrap()).unwrap();
    let (mut state, mut bytes) = (State::default(), Vec::new());
    let mut samples = samples.iter().peekable();
    let mut tick = 0_u32;
    while samples.peek().is_some() {
        let now = f64::from(tick) / 1_000.0;
        let pulse = samples.next_if(|[time, _]| *time <= now);
        let input = Input {
            pulse: pulse.and_then(|[_, us]| Microseconds::new(*us as f32)),
            ..Input::default()
        };
        let output = controller.step(&mut state, &input);
        let frame = Frame::new(tick as u16, tick, &input, &output);
        bytes.extend(encode(&frame, &mut [0; MOST_BYTES]).unwrap().to_vec());
        tick += 1;
    }
    bytes
}

#[test]
fn telemetry_gives_the_same_ends() {
    let truth = Truth::default();
    let samples = truth.record(&mut Random(11)).samples;
    let pulses = Pulses::read("t", telemetry(&samples), 1_000).unwrap();
    let rate = TickRate::new(1_000).unwrap();
    let measuring = Measuring {
        calibrator: CalibratorSettings::default(),
        pulse: PulseSettings::default(),
        rate,
    };
    let found = measuring.measure(pulses).unwrap();
    let kept = found.verdict.calibration.unwrap();
    near(kept.high_us.into(), truth.high_us, 1.0);
    near(kept.low_us.into(), truth.low_us, 1.0);
    near(kept.neutral_us.into(), truth.neutral_us, 1.0);
    assert!(found.frames.is_none());
    assert!(found.verdict.findings[0].what.contains("not each frame of the radio"));
}

#[test]
fn files_cut_or_damaged_anywhere_are_read_or_refused() {
    let truth = Truth { period_s: 0.05, ..Truth::default() };
    let samples = truth.record(&mut Random(1)).samples;
    let (csv, frames) = (table(&samples[..60]).into_bytes(), telemetry(&samples[..3]));
    assert!(csv.len() > 800 && frames.len() > 3_000, "{} {}", csv.len(), frames.len());
    let read = |bytes: &[u8]| Pulses::read("t", bytes.to_vec(), 1_000);
    let (mut good, mut bad) = (0, 0);
    for cut in 0..csv.len() {
        match read(&csv[..cut]) {
            Ok(pulses) => {
                good += 1;
                assert!(csv[..cut].ends_with(b"\n") && pulses.samples.len() >= 2);
                measured(pulses.samples);
            }
            Err(refusal) => {
                bad += 1;
                assert!(!refusal.mistakes.is_empty() && !refusal.render().is_empty());
            }
        }
    }
    assert_eq!(good, 58);
    assert_eq!(bad, csv.len() - 58);
    for cut in 0..frames.len() {
        if let Ok(pulses) = read(&frames[..cut]) {
            measured(pulses.samples);
        }
    }
    for (place, wild) in (0..csv.len()).flat_map(|place| [(place, 0xff), (place, b'-'), (place, 0)])
    {
        let mut bytes = csv.clone();
        bytes[place] = wild;
        if let Ok(pulses) = read(&bytes) {
            measured(pulses.samples);
        }
    }
}

/// As many rows as fit a file without any time between them, and with all of it.
#[test]
fn odd_times_take_no_odd_time() {
    let begun = std::time::Instant::now();
    let still: Vec<[f64; 2]> = (0..300_000).map(|_| [1.0, 1_500.0]).collect();
    assert!(stopped_by(&measured(still), "nowhere steady"));
    let quick: Vec<[f64; 2]> = (0..300_000).map(|k| [1.5e-6 * f64::from(k), 1_500.0]).collect();
    measured(quick);
    assert!(stopped_by(&measured(vec![[0.0, 1_500.0], [3_600.0, 1_500.0]]), "nowhere steady"));
    assert!(begun.elapsed().as_secs() < 60);
}
