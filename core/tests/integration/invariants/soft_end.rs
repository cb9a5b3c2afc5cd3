//! A stop that ends softly, in the loop with a rigid rig on slopes up to what the whole brake can take.

use crate::common::{Bench, HALF_US, NEUTRAL_US};
use easeoff_core::{DragLaw, DragSettings, Microseconds, MotorSettings, Settings, Speed};

/// Wheels and what hangs on them \[kg m^2\].
const INERTIA: f64 = 0.02;
const FROM_RAD_S: f64 = 45.0;

struct Rig {
    bench: Bench,
    tick_s: f64,
    /// What pulls it on \[rad/s^2\].
    slope: f64,
    speed: f64,
    rolled: f64,
    /// The level once it has come in.
    whole: f32,
    come_in: bool,
}

impl Rig {
    /// At speed, the throttle just let go.
    fn new(drag: DragSettings, hz: u16, slope: f64) -> Self {
        let mut bench = Bench::new(&Settings { drag, ..Settings::default() }, hz);
        bench.input.speed = Speed::new(FROM_RAD_S as f32);
        bench.arm();
        bench.input.pulse = Microseconds::new(HALF_US);
        bench.run(u32::from(hz));
        bench.input.pulse = Microseconds::new(NEUTRAL_US);
        Self {
            bench,
            tick_s: 1.0 / f64::from(hz),
            slope,
            speed: FROM_RAD_S,
            rolled: 0.0,
            whole: drag.strength - 1e-4,
            come_in: false,
        }
    }

    /// The share and how much slower it gets \[rad/s^2\].
    fn tick(&mut self) -> (f64, f64) {
        self.bench.input.speed = Speed::new(self.speed as f32);
        let output = self.bench.step();
        let share = f64::from(output.command.braking().to_f32());
        self.come_in |= output.trace.brake_level.to_f32() >= self.whole;
        // Exact over the tick, so that a quick short stays stable at 250 Hz.
        let pull = share * damping();
        let before = self.speed;
        self.speed = if pull > 0.0 {
            let steady = self.slope / pull;
            steady + (before - steady) * (-pull * self.tick_s).exp()
        } else {
            before + self.slope * self.tick_s
        };
        self.rolled += (before + self.speed) / 2.0 * self.tick_s;
        (share, (before - self.speed) / self.tick_s)
    }
}

/// A short's deceleration per speed \[1/s\].
fn damping() -> f64 {
    let motor = MotorSettings::default();
    per_wheel(motor) * per_wheel(motor) / f64::from(motor.resistance_ohm) / INERTIA
}

fn per_wheel(motor: MotorSettings) -> f64 {
    60.0 / (std::f64::consts::TAU * f64::from(motor.kv_rpm_per_v)) * f64::from(motor.gear_ratio)
}

/// The share that the whole level is at a speed.
fn whole_share(drag: DragSettings, speed: f64) -> f64 {
    let strength = f64::from(drag.strength);
    match drag.law {
        DragLaw::Duty => strength,
        DragLaw::Current { full_a } => {
            let motor = MotorSettings::default();
            let drop = strength * f64::from(full_a * motor.resistance_ohm);
            (drop / (per_wheel(motor) * speed)).min(1.0)
        }
    }
}

/// Deceleration of the whole level by the current law \[rad/s^2\].
fn full(full_a: f32) -> f64 {
    per_wheel(MotorSettings::default()) * f64::from(full_a) / INERTIA
}

#[test]
fn on_every_slope_it_ends_in_the_whole_brake_in_time_and_runs_on_within_its_bound() {
    for (hz, onset_ms) in [(250_u16, 0.0_f32), (1_000, 100.0), (1_000, 600.0), (8_000, 300.0)] {
        for law in [DragLaw::Current { full_a: 8.0 }, DragLaw::Duty] {
            for soft_below_rad_s in [4.0_f32, 16.0, 40.0] {
                for part in [0.0, 0.3, 0.6, 0.8, 0.95] {
                    let drag = DragSettings {
                        onset_ms,
                        law,
                        strength: 0.9,
                        soft_below_rad_s,
                        ..DragSettings::default()
                    };
                    let what = format!("{law:?}, {soft_below_rad_s} rad/s, {part}, {hz} Hz");
                    holds(drag, hz, part * full(7.2), &what);
                }
            }
        }
    }
}

fn holds(drag: DragSettings, hz: u16, slope: f64, what: &str) {
    let (below, onset_s) = (f64::from(drag.soft_below_rad_s), f64::from(drag.onset_ms) / 1_000.0);
    let plain = DragSettings { soft_below_rad_s: 0.0, ..drag };
    let (mut soft, mut plain) = (Rig::new(drag, hz, slope), Rig::new(plain, hz, slope));
    let (mut below_ticks, mut idle_ticks, mut longest) = (0_u32, 0_u32, 0_u32);
    let (mut share, mut whole) = (0.0, 0.0);
    for _ in 0..u32::from(hz) * 25 {
        let slows;
        (share, slows) = soft.tick();
        (whole, _) = plain.tick();
        // Never a harder brake than without it, at the same speed; so it is never ahead.
        assert!(soft.rolled >= plain.rolled - 1e-3, "{what}: {} {}", soft.rolled, plain.rolled);
        let come_in = soft.come_in;
        below_ticks += u32::from(come_in && soft.speed < below);
        let late = f64::from(below_ticks) * soft.tick_s > 3.4 + onset_s + 2.0 * soft.tick_s;
        // By the current law the whole level is a share that depends on the speed.
        let at_same_speed = (soft.speed - plain.speed).abs() < 1e-3;
        assert!(!late || !at_same_speed || (share - whole).abs() < 2e-3, "{what}: {share} {whole}");
        // It lets a rig go on that no longer slows for two waits at most, and the time to rise.
        let most = whole_share(drag, soft.speed);
        let idle =
            come_in && soft.speed < below && slows < below / 16.0 / 0.2 && share < most - 0.02;
        idle_ticks = if idle { idle_ticks + 1 } else { 0 };
        longest = longest.max(idle_ticks);
    }
    assert!((soft.speed - plain.speed).abs() < 0.02, "{what}: {} {}", soft.speed, plain.speed);
    assert!((share - whole).abs() < 5e-3, "{what}: ends at {share}, not {whole}");
    let extra = soft.rolled - plain.rolled;
    assert!(extra <= below * (3.4 + 2.0 * onset_s), "{what}: {extra} rad farther");
    let most_s = 0.4 + onset_s + 3.0 * soft.tick_s;
    assert!(f64::from(longest) * soft.tick_s <= most_s, "{what}: {longest} ticks idle");
}

/// On the level, where the whole brake is in before the soft end begins: `w^2 / (6 a)` farther.
#[test]
fn on_the_level_it_runs_on_farther_by_the_closed_form() {
    for (below, full_a) in [(10.0_f32, 8.0_f32), (20.0, 8.0), (20.0, 16.0)] {
        let law = DragLaw::Current { full_a };
        let drag = DragSettings { onset_ms: 100.0, law, ..DragSettings::default() };
        let run_on = |soft_below_rad_s| {
            let mut rig = Rig::new(DragSettings { soft_below_rad_s, ..drag }, 8_000, 0.0);
            for _ in 0..8_000 * 4 {
                rig.tick();
            }
            rig.rolled
        };
        let extra = run_on(below) - run_on(0.0);
        // Below the speed `c` at which it takes a short to give the current, the rig rolls `c / damping` farther:
        // at the whole level from `a / damping` on, where the level falls from `(a / damping)^2 / w` on.
        let (w, a, damping) = (f64::from(below), full(full_a), damping());
        let rolls = |c: f64| c / damping;
        let c = a / damping;
        let plain = (w * w - c * c) / (2.0 * a) + rolls(c);
        let c = c * c / w;
        let soft = 2.0 / 3.0 * w.sqrt() * (w.powf(1.5) - c.powf(1.5)) / a + rolls(c);
        let due = soft - plain;
        assert!((extra / due - 1.0).abs() < 0.01, "{below} rad/s, {full_a} A: {extra}, {due} due");
        // Without a crawl that is the closed form of the docs.
        let limit = (2.0 / 3.0 - 1.0 / 2.0) * w * w / a;
        assert!((limit / (w * w / (6.0 * a)) - 1.0).abs() < 1e-12 && due < limit);
    }
}
