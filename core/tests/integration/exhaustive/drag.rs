//! The drag brake's onset at every whole millisecond, shape and strength of a hundredth.
//!
//! All 10,000 onsets x 101 strengths x shapes would be some 1.5 thousand million ticks. But the
//! level is strength x shape(phase), cut to 16 fraction bits, and only the phase knows of the
//! onset, only the product of the strength. So two halves cover the whole: every onset and shape at
//! full strength, at 100 Hz (at most 1,000 ticks a ramp); and every strength and shape along the
//! longest ramp there is, 80,000 ticks (10 s at 8 kHz), which goes through each shape in steps of
//! at most 3 of 65,536. The second half also shows that the level *is* that product.

use crate::common::Bench;
use easeoff_core::{DragSettings, Settings, Shape, Strength};

fn bench(drag: DragSettings, hz: u16) -> Bench {
    let mut settings = Settings { drag, ..Settings::default() };
    settings.mode.arm_ms = 200.0;
    Bench::new(&settings, hz)
}

/// Brake levels, raw, from the first tick in neutral on. One tick more than the ramp may take.
fn levels(drag: DragSettings, hz: u16) -> Vec<i32> {
    let mut bench = bench(drag, hz);
    let due = (drag.delay_ms + drag.onset_ms) * f32::from(hz) / 1_000.0;
    let first = bench.arm().trace.brake_level.to_bits();
    let more = (0..due.ceil() as u32).map(|_| bench.step().trace.brake_level.to_bits());
    std::iter::once(first).chain(more).collect()
}

/// Ticks until the level first equals `strength`.
fn ticks_to(levels: &[i32], strength: i32) -> f32 {
    let index = levels.iter().position(|level| *level == strength);
    index.map_or(f32::INFINITY, |index| index as f32 + 1.0)
}

fn shapes() -> impl Iterator<Item = (&'static str, Shape)> {
    Shape::NAMED.into_iter()
}

#[test]
fn every_onset_and_shape_is_monotone_and_on_time() {
    let full = Strength::FULL.to_bits();
    let mut worst = 0.0_f32;
    for (name, shape) in shapes() {
        for milliseconds in 1..=10_000_u16 {
            let onset_ms = f32::from(milliseconds);
            let levels = levels(DragSettings { onset_ms, shape, ..DragSettings::default() }, 100);
            assert!(levels.is_sorted(), "{name}, {onset_ms} ms: the level falls");
            assert!(levels.iter().all(|level| (0..=full).contains(level)));
            // From 0: the first level is the ramp's first step and no more. No shape rises faster
            // than 3.2 times the straight line.
            let due = onset_ms / 10.0;
            assert!(levels[0] as f32 <= full as f32 * (3.2 / due.round().max(1.0)).min(1.0));
            let late = ticks_to(&levels, full) - due;
            assert!(late.abs() <= 1.0, "{name}, {onset_ms} ms: {late} ticks late");
            worst = if late.abs() > worst.abs() { late } else { worst };
        }
    }
    println!("every onset at 100 Hz: at most {worst:+.2} ticks off its time");
}

#[test]
fn every_strength_and_shape_is_monotone_from_nothing_and_never_above() {
    for (name, shape) in shapes() {
        let ramp = |strength| {
            levels(
                DragSettings { strength, onset_ms: 10_000.0, shape, ..DragSettings::default() },
                8_000,
            )
        };
        let whole = ramp(1.0);
        assert_eq!(whole.last(), Some(&Strength::FULL.to_bits()));
        assert!(whole.windows(2).all(|pair| pair[1] - pair[0] <= 3), "{name}: a coarse ramp");
        for hundredth in 0..=100_u8 {
            let strength = f32::from(hundredth) / 100.0;
            let target = Strength::new(strength).unwrap().to_bits();
            let levels = ramp(strength);
            assert!(levels.is_sorted(), "{name}, strength {strength}: the level falls");
            assert!(levels.iter().all(|level| (0..=target).contains(level)), "{name}, {strength}");
            assert_eq!(levels.last(), Some(&target), "{name}: ends at its strength");
            let product = |share: &i32| (i64::from(target) * i64::from(*share)) >> 16;
            let same = |(level, share): (&i32, &i32)| i64::from(*level) == product(share);
            assert!(levels.iter().zip(&whole).all(same), "{name}: strength {strength} x shape");
        }
    }
}

#[test]
fn every_delay_holds_the_brake_back() {
    for milliseconds in 0..=5_000_u16 {
        let delay_ms = f32::from(milliseconds);
        // 50 ms are 5 ticks: only the delay is rounded.
        let drag = DragSettings { delay_ms, onset_ms: 50.0, ..DragSettings::default() };
        let levels = levels(drag, 100);
        let bite = levels.iter().position(|level| *level > 0).unwrap() as f32;
        assert!((bite - delay_ms / 10.0).abs() <= 0.5, "{delay_ms} ms: bites after {bite} ticks");
        let late = ticks_to(&levels, Strength::FULL.to_bits()) - (delay_ms + 50.0) / 10.0;
        assert!(late.abs() <= 1.0, "{delay_ms} ms: {late} ticks late");
    }
}
