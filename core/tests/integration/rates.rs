//! Times are times and gains are per second: 250 Hz, 1 kHz and 8 kHz give the same drive.

use crate::common::{Bench, FINE, demand_bits, fine_pulse};
use easeoff_core::{Amp, HoldSettings, Mode, Output, Settings, Shape, Speed, Strength};

const RATES: [u16; 3] = [250, 1_000, 8_000];

/// Ticks from the first one in neutral to full strength, after a drive, through the whole
/// controller.
fn onset_ticks(onset_ms: f32, hz: u16) -> u32 {
    let mut settings = Settings { calibration: FINE, ..Settings::default() };
    settings.mode.arm_ms = 200.0;
    settings.drag.onset_ms = onset_ms;
    settings.drag.release_ms = 0.0;
    let mut bench = Bench::new(&settings, hz);
    bench.arm();
    let neutral = bench.input.pulse;
    bench.input.pulse = Some(fine_pulse(demand_bits(0.5)));
    let drives = (0..10_000).any(|_| bench.step().trace.slewed.to_f32() >= 0.1);
    assert!(drives, "{onset_ms} ms at {hz} Hz: does not drive");
    bench.input.pulse = neutral;
    let mut ticks = 0;
    let full = (0..100_000).any(|_| {
        let trace = bench.step().trace;
        ticks += u32::from(trace.mode == Mode::Neutral);
        trace.brake_level == Strength::FULL
    });
    assert!(full, "{onset_ms} ms at {hz} Hz: never at full strength");
    ticks
}

/// Every tenth of a millisecond to 3 ms; then times 3 % apart, as they are and rounded to whole
/// milliseconds; then the last 10 ms below 10 s, where a ramp at 8 kHz has most ticks.
fn onsets() -> impl Iterator<Item = f32> {
    let short = (10..30_u8).map(|tenths| f32::from(tenths) / 10.0);
    let long = std::iter::successors(Some(3.0_f32), |ms| Some(ms * 1.03));
    let long = long.take_while(|ms| *ms < 10_000.0).flat_map(|ms| [ms, ms.round()]);
    short.chain(long).chain((0..=40_u8).map(|n| 9_990.0 + f32::from(n) * 0.23)).chain([10_000.0])
}

/// A time becomes the nearest whole number of ticks, at least one: half a tick, and up to a whole
/// one for a ramp shorter than that. Beyond 65,535 ticks (8.2 s at 8 kHz) the phase's 32 bits end
/// the ramp one tick early: one and a half.
#[test]
fn an_onset_ends_on_time_at_every_rate() {
    for (hz, ticks, percent) in [(250, 0.75, 0.2), (1_000, 0.5, 0.05), (8_000, 1.5, 0.00625)] {
        let (mut worst, mut worst_percent) = ((0.0, 0.0), (0.0, 0.0));
        for onset_ms in onsets() {
            let due = f64::from(onset_ms) * f64::from(hz) / 1_000.0;
            let late = f64::from(onset_ticks(onset_ms, hz)) - due;
            let further = |now: f64, worst: (f64, f32)| {
                if now.abs() > worst.0.abs() { (now, onset_ms) } else { worst }
            };
            worst = further(late, worst);
            if onset_ms >= 1_000.0 {
                worst_percent = further(late / due * 100.0, worst_percent);
            }
        }
        println!("{hz} Hz: {:+.2} ticks at {} ms", worst.0, worst.1);
        println!("  from 1 s on {:+.5} % at {} ms", worst_percent.0, worst_percent.1);
        assert!(worst.0.abs() <= ticks, "{} ticks", worst.0);
        assert!(worst_percent.0.abs() <= percent, "{} %", worst_percent.0);
    }
}

/// `seconds` at a demand, at each rate; `after` sees what a tick gave, may set the sensors for the
/// next, being told the tick's length \[s\], and names the value to compare. One value every 4 ms.
fn at_each_rate<S: Default>(
    settings: Settings,
    demand: f64,
    seconds: usize,
    after: impl Fn(&mut S, &mut Bench, Output, f64) -> f64,
) -> [Vec<f64>; 3] {
    RATES.map(|hz| {
        let mut bench = Bench::new(&settings, hz);
        bench.arm();
        bench.input.pulse = Some(fine_pulse(demand_bits(demand)));
        let (hz, mut state) = (usize::from(hz), S::default());
        let all = (0..seconds * hz).map(|_| {
            let output = bench.step();
            after(&mut state, &mut bench, output, 1.0 / hz as f64)
        });
        let all: Vec<f64> = all.collect();
        all.into_iter().skip(hz / 250 - 1).step_by(hz / 250).collect()
    })
}

/// The farthest that 250 Hz and 1 kHz are from 8 kHz.
fn apart([slow, middle, fast]: &[Vec<f64>; 3]) -> [f64; 2] {
    [slow, middle].map(|run| {
        assert_eq!(run.len(), fast.len());
        run.iter().zip(fast).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    })
}

fn settings() -> Settings {
    let mut settings = Settings { calibration: FINE, ..Settings::default() };
    settings.drag.strength = 0.0;
    // A jump waits for the next pulse, which here comes in the next tick, whatever its length.
    settings.pulse.jump_us = 2_000.0;
    settings
}

/// One of the 16 fraction bits.
const UNIT: f64 = 1.0 / 65_536.0;

/// A step to half of full speed (15 rad/s) against a load, from rest; the loop samples the speed
/// once a tick, and that is all that differs: 0.5 % of the set speed for 250 Hz, 0.1 % for 1 kHz.
/// Where the slew holds the duty back, a tick's delay shows more: 0.9 % and 0.2 %.
#[test]
fn the_hold_is_the_same_at_every_rate() {
    the_hold_is_the_same(1_000.0, 0.080, 0.015);
    the_hold_is_the_same(4.0, 0.135, 0.031);
}

fn the_hold_is_the_same(rise_per_s: f32, at_250_hz: f64, at_1_khz: f64) {
    let mut held = Settings { hold: Some(HoldSettings::new(30.0)), ..settings() };
    held.slew.rise_per_s = rise_per_s;
    let runs = at_each_rate(held, 0.5, 3, |speed: &mut f64, bench, output, tick_s| {
        // 30 rad/s per duty less 9 rad/s for the load, approached in 0.3 s; exact for a duty that
        // stands for the tick.
        let ends_at = 30.0 * f64::from(output.command.duty().to_f32()) - 9.0;
        *speed = ends_at + (*speed - ends_at) * (-tick_s / 0.3).exp();
        bench.input.speed = Speed::new(*speed as f32);
        *speed
    });
    for run in &runs {
        assert!((run.last().unwrap() - 15.0).abs() < 1e-3, "{:?}", run.last());
    }
    let [slow, middle] = apart(&runs);
    println!("hold against 8 kHz: {slow:.4} rad/s at 250 Hz, {middle:.4} at 1 kHz");
    assert!(slow <= at_250_hz && middle <= at_1_khz, "{slow} and {middle} rad/s");
}

/// Up at one rate and, from 1 s on, down at another: the same to one unit.
#[test]
fn the_slew_is_the_same_at_every_rate() {
    let mut settings = settings();
    (settings.slew.rise_per_s, settings.slew.ease_per_s) = (1.7, 0.3);
    let runs = at_each_rate(settings, 1.0, 3, |time_s: &mut f64, bench, output, tick_s| {
        *time_s += tick_s;
        if *time_s > 1.0 - tick_s / 2.0 {
            bench.input.pulse = Some(fine_pulse(demand_bits(0.5)));
        }
        f64::from(output.trace.slewed.to_f32())
    });
    for run in &runs {
        assert!((run[249] - 1.0).abs() <= UNIT, "at the top after 1 s");
        assert!((run[499] - 0.7).abs() <= UNIT, "on the way down after 2 s: {}", run[499]);
        assert!((run[749] - 0.5).abs() <= UNIT, "down after 3 s");
    }
    let [slow, middle] = apart(&runs);
    println!("slew against 8 kHz: {slow:.6} at 250 Hz, {middle:.6} at 1 kHz");
    assert!(slow <= UNIT && middle <= UNIT, "{slow} and {middle}");
}

/// The onset begins with a whole tick, 4 ms or 1 ms instead of 0.125 ms: no more than that tick
/// lies between the ramps, where the shape is steepest.
#[test]
fn the_drag_is_the_same_at_every_rate() {
    // The first-order shape begins with 3 / (1 - exp(-3)) = 3.16 times the straight line's slope.
    let slopes = [(Shape::Linear, 1.0), (Shape::Smooth, 1.5), (Shape::FirstOrder, 3.16)];
    for (shape, steepest) in slopes {
        let mut settings = Settings { calibration: FINE, ..Settings::default() };
        (settings.drag.delay_ms, settings.drag.onset_ms) = (40.0, 1_500.0);
        settings.drag.shape = shape;
        let runs = at_each_rate(settings, 0.0, 2, |(): &mut (), _, output, _| {
            f64::from(output.trace.brake_level.to_f32())
        });
        let [slow, middle] = apart(&runs);
        println!("{shape:?} against 8 kHz: {slow:.5} at 250 Hz, {middle:.5} at 1 kHz");
        let within = |tick_ms: f64| steepest * tick_ms / 1_500.0 + UNIT;
        assert!(slow <= within(4.0) && middle <= within(1.0), "{shape:?}: {slow} and {middle}");
    }
}

/// Algebra. A motor of 120 A per duty that turns freely at half duty and 15 A is stalled after 1 s:
/// 60 A flow, and the cap obeys `d cap/dt = 10/s (20 A - 120 A cap) / 20 A`. The charge beyond the
/// limit until the current is down is 40 A / (60/s) = 0.667 A s, whatever the rate, as the sum over
/// the ticks is that of the exact decay. The duty used has 16 fraction bits, which is 0.1 % here.
#[test]
fn the_current_limit_is_the_same_at_every_rate() {
    let mut settings = settings();
    settings.limits.drive_a = Some(20.0);
    settings.slew.rise_per_s = 1_000.0;
    let runs = at_each_rate(settings, 0.5, 3, |state: &mut (f64, f64), bench, output, tick_s| {
        let (time_s, beyond_a_s) = state;
        let per_duty = if *time_s < 1.0 - tick_s / 2.0 { 30.0 } else { 120.0 };
        let current = per_duty * output.command.duty().to_f32();
        bench.input.current = Amp::new(current);
        *time_s += tick_s;
        *beyond_a_s += tick_s * f64::from(current - 20.0).max(0.0);
        assert!(*time_s < 2.0 || (current - 20.0).abs() < 0.01, "{current} A long after");
        *beyond_a_s
    });
    for (hz, run) in RATES.iter().zip(&runs) {
        let (free, beyond) = (run[249], run.last().unwrap());
        println!("{hz} Hz: {beyond:.4} A s beyond the limit");
        assert_eq!(free, 0.0);
        assert!((beyond - 40.0 / 60.0).abs() < 0.003 * 40.0 / 60.0, "{beyond} A s");
    }
}
