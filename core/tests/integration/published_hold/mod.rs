//! The speed hold on a published road: the cruise-control example of K. J. Åström and R. M. Murray,
//! Feedback Systems, 2nd ed., ch. 4, 7 and 11, as `examples/cruise-control.py` and `cruise.ipynb`
//! of the python-control repository write it (the book itself was not seen). The car is an f64
//! plant (Runge-Kutta, one step a tick; the hill is the exact ramp, not one sampled for a plot);
//! our controller drives it through `Controller::step`. Wheel speed \[rad/s\] stands for road speed
//! \[m/s\], duty for throttle.
//!
//! "Printed" marks what the source itself prints; "computed" marks numbers of the source's model
//! found by two programs (SciPy's `solve_ivp`, RK45 with rtol 1e-10, and python-control 0.10.2).
//!
//! Full demand means 20 m/s here, so the controller sees the speed in steps of 20/65,536 m/s and
//! the loop gives throttle in steps of kp times that: `SPEED_STEP` and `throttle_step` are the
//! bounds wherever ours is held against a number with more digits. Half a tick of delay adds less:
//! 2e-5, 6e-5 and 2e-4 m/s at the lowest speed for 8 kHz, 1 kHz and 250 Hz.

mod car;

use crate::common::{Bench, FINE, demand_bits, fine_pulse};
use car::{
    VREF, acceleration, air, engine_torque, equilibrium_throttle, gravity, hill, linearised,
    max_drive, rk4, rolling,
};
use easeoff_core::{HoldSettings, Settings, Speed};

/// The source's gains of the PI loop \[1/(m/s)\], \[1/m\].
const KP: f64 = 0.5;
const KI: f64 = 0.1;

/// What the controller can tell apart in speed \[m/s\].
const SPEED_STEP: f64 = VREF / 65_536.0;

/// The throttle's step when the speed moves by one of its own.
fn throttle_step(kp: f64) -> f64 {
    kp * SPEED_STEP
}

/// At time `t` \[s\] the speed is `v` \[m/s\] and the throttle asked for `u`.
#[derive(Clone, Copy, Debug)]
struct Row {
    t: f64,
    v: f64,
    u: f64,
}

struct Run(Vec<Row>);

impl Run {
    fn last(&self) -> Row {
        *self.0.last().unwrap()
    }

    fn at(&self, t: f64) -> Row {
        *self.0.iter().find(|row| row.t >= t - 1e-9).unwrap()
    }

    fn slowest(&self) -> Row {
        *self.0.iter().min_by(|a, b| a.v.total_cmp(&b.v)).unwrap()
    }

    fn fastest(&self) -> Row {
        *self.0.iter().max_by(|a, b| a.v.total_cmp(&b.v)).unwrap()
    }

    fn hardest(&self) -> Row {
        *self.0.iter().max_by(|a, b| a.u.total_cmp(&b.u)).unwrap()
    }

    /// From here on the speed stays within 0.05 m/s.
    fn recovered(&self) -> f64 {
        self.0.iter().rfind(|row| (row.v - VREF).abs() > 0.05).unwrap().t
    }

    /// Seconds with the throttle at its limit, or a step of it below, where it rests while the
    /// integral just keeps it there; only those with a speed that `is` as told.
    fn at_limit(&self, is: impl Fn(f64) -> bool) -> f64 {
        self.lasts(|row| row.u >= 1.0 - throttle_step(KP) && is(row.v))
    }

    /// Seconds for which `is` holds.
    fn lasts(&self, is: impl Fn(&Row) -> bool) -> f64 {
        let tick = self.0[1].t - self.0[0].t;
        tick * self.0.iter().filter(|row| is(row)).count() as f64
    }
}

fn hold(kp: f64, ki: f64, feed_forward: f64) -> HoldSettings {
    HoldSettings {
        full_speed_rad_s: VREF as f32,
        feed_forward: feed_forward as f32,
        gain: (kp * VREF) as f32,
        gain_per_s: (ki * VREF) as f32,
        droop: 0.0,
        authority: 1.0,
        fade_ms: 0.0,
        give_way: None,
    }
}

/// Our controller in the loop: a minute at the set speed before time 0, so that all is settled,
/// then `seconds` of `plant(t, v, u)`, which gives the acceleration.
fn ours(
    hold: Option<HoldSettings>,
    demand: f64,
    hz: u16,
    seconds: i32,
    plant: impl Fn(f64, f64, f64) -> f64,
) -> Run {
    let mut settings = Settings { calibration: FINE, hold, ..Settings::default() };
    settings.slew.rise_per_s = 1_000.0;
    settings.drag.strength = 0.0;
    let mut bench = Bench::new(&settings, hz);
    bench.arm();
    bench.input.pulse = Some(fine_pulse(demand_bits(demand)));
    let hz = i32::from(hz);
    let h = 1.0 / f64::from(hz);
    let mut v = VREF;
    let mut rows = Vec::new();
    for tick in -60 * hz..seconds * hz {
        let t = f64::from(tick) * h;
        bench.input.speed = Some(Speed::from_bits((v * 65_536.0).round() as i32));
        let u = f64::from(bench.step().command.duty().to_f32());
        if tick >= 0 {
            rows.push(Row { t, v, u });
        }
        [v] = rk4([v], t, h, |t, [v]| [plant(t, v, u)]);
    }
    Run(rows)
}

/// Our PI loop, 1 kHz, on a hill.
fn ours_on(degrees: f64, seconds: i32) -> Run {
    ours(Some(hold(KP, KI, 0.0)), 1.0, 1_000, seconds, |t, v, u| {
        acceleration(v, u, hill(degrees, t))
    })
}

/// The source's own PI law in f64 without anti-windup, for contrast: `u = kp e + ki z, dz/dt = e`.
/// `u` in the rows is what the law asks for; the car clips it.
fn without_anti_windup_on(degrees: f64, seconds: i32) -> Run {
    let law = |v: f64, z: f64| KP * (VREF - v) + KI * z;
    let h = 1.0e-3;
    let mut x = [VREF, equilibrium_throttle() / KI];
    let mut rows = Vec::new();
    for tick in 0..seconds * 1_000 {
        let t = f64::from(tick) * h;
        rows.push(Row { t, v: x[0], u: law(x[0], x[1]) });
        x = rk4(x, t, h, |t, [v, z]| [acceleration(v, law(v, z), hill(degrees, t)), VREF - v]);
    }
    Run(rows)
}

#[track_caller]
fn near(ours: f64, published: f64, tolerance: f64) {
    assert!((ours - published).abs() <= tolerance, "{ours}, published {published} +- {tolerance}");
}

/// The plant first: forces computed; equilibrium and linearisation printed by `cruise.ipynb`
/// (stored output, `Ueq` and the transfer function).
#[test]
fn the_car_is_the_published_one() {
    near(rolling(VREF), 156.8, 0.01);
    near(air(VREF), 199.68, 0.01);
    near(gravity(4.0_f64.to_radians()), 1_093.78, 0.01);
    near(engine_torque(240.0), 176.0408, 1e-4);
    near(max_drive(VREF), 2_112.49, 0.01);
    near(equilibrium_throttle(), 0.168_748_74, 1e-7);
    let (a, b) = linearised();
    near(a, 0.010_124_405_669, 1e-8);
    near(b, 1.320_306_123_816, 1e-8);
    near(1.0 / (KP * b), 1.514_800_2, 1e-7);
}

/// Figure 4.3b. Printed: throttle from 0.17 "to almost full", the largest error is less than 1 m/s,
/// recovered after 20 s. The digits are computed; nothing saturates here, so every anti-windup
/// gives the same run.
#[test]
fn a_hill_of_4_degrees_is_held_as_published() {
    let (reference, ours) = (without_anti_windup_on(4.0, 120), ours_on(4.0, 120));
    for (run, speed, throttle) in [(&reference, 1e-5, 1e-5), (&ours, SPEED_STEP, throttle_step(KP))]
    {
        near(run.0[0].u, 0.168_748_74, throttle);
        near(run.slowest().v, 19.269_60, speed);
        near(run.hardest().u, 0.764_50, throttle);
        near(run.last().v, VREF, speed);
        near(run.last().u, 0.686_517_6, throttle);
        near(run.fastest().v, 20.000_69, speed);
        near(run.slowest().t, 8.373, 0.01);
        // The throttle's top is flat: one step of it spans some 0.05 s on either side.
        near(run.hardest().t, 11.233, 0.06);
        near(run.recovered(), 18.86, 0.01);
        assert!(run.slowest().v > 19.0 && run.recovered() < 5.0 + 20.0);
    }
    println!(
        "4 degrees: slowest {:?}, hardest {:?}, last {:?}, fastest {:?}, recovered at {:.3} s",
        ours.slowest(),
        ours.hardest(),
        ours.last(),
        ours.fastest(),
        ours.recovered()
    );
}

/// Hidden bogging in one figure, computed: the speed is back exactly while the throttle stands at
/// 4.068 times its value on the flat.
#[test]
fn the_hold_hides_the_load_from_the_driver() {
    let run = ours_on(4.0, 60);
    near(run.last().v, VREF, SPEED_STEP);
    near(run.last().u / run.0[0].u, 4.068, 1e-3);
}

/// Half a tick of delay and the resolution are all that a rate changes.
#[test]
fn the_hill_is_the_same_at_every_rate() {
    for (hz, tolerance) in [(250, 2.5e-4), (1_000, 1e-4), (8_000, 5e-5)] {
        let on_hill = |t, v, u| acceleration(v, u, hill(4.0, t));
        let run = ours(Some(hold(KP, KI, 0.0)), 1.0, hz, 20, on_hill);
        near(run.slowest().v, 19.269_60, tolerance);
    }
}

/// Example 11.5: 6 degrees saturate the throttle. Computed, without anti-windup: the integral goes
/// on growing, so the throttle stays fully open for seconds after the speed is back, and the car
/// overshoots by 0.395 m/s.
#[test]
fn a_hill_of_6_degrees_winds_up_a_loop_without_anti_windup() {
    let run = without_anti_windup_on(6.0, 100);
    near(run.slowest().v, 18.901_91, 1e-3);
    near(run.slowest().t, 8.383, 1e-3);
    near(run.hardest().u, 1.360_70, 1e-3);
    near(run.hardest().t, 18.94, 0.01);
    near(run.fastest().v, 20.394_96, 1e-3);
    near(run.fastest().t, 29.85, 0.01);
    near(run.lasts(|row| row.u > 1.0), 19.86, 0.01);
    // Its own figure, for the contrast with ours.
    near(run.lasts(|row| row.u > 1.0 && row.v > VREF), 4.93, 0.01);
}

/// The same hill with our controller: the same descent to the lowest speed, then the throttle
/// leaves its limit before the error changes sign, and the overshoot is 0.0005 m/s instead of
/// 0.395.
#[test]
fn a_hill_of_6_degrees_does_not_wind_ours_up() {
    let run = ours_on(6.0, 100);
    near(run.slowest().v, 18.901_91, SPEED_STEP);
    let (limited, late) = (run.at_limit(|_| true), run.at_limit(|v| v > VREF));
    assert!(limited > 5.0, "the hill must reach the limit: {limited} s");
    assert_eq!(late, 0.0, "seconds at the limit after the speed was back");
    assert!(run.fastest().v - VREF < 0.7e-3, "{:?}", run.fastest());
    near(run.last().v, VREF, SPEED_STEP);
    println!("6 degrees: {:?} to {:?}, {limited:.3} s at the limit", run.slowest(), run.fastest());
}

/// No published run: 6.5 degrees are more than the engine can hold, for a whole minute; then the
/// road is flat again. However long the limit lasted, it is left by the time the speed is back.
#[test]
fn a_minute_at_the_limit_leaves_nothing_behind() {
    let run = ours(Some(hold(KP, KI, 0.0)), 1.0, 1_000, 120, |t, v, u| {
        acceleration(v, u, if t < 70.0 { hill(6.5, t) } else { 0.0 })
    });
    let (limited, late) = (run.at_limit(|_| true), run.at_limit(|v| v > VREF));
    assert!(limited > 60.0, "{limited} s at the limit");
    assert!(late <= 2.0e-3, "{late} s at the limit after the speed was back");
    near(run.last().v, VREF, SPEED_STEP);
    println!("a minute: {:?} to {:?}, {limited:.3} s at the limit", run.slowest(), run.fastest());
}

/// Example 7.8's structure without the integral, `u = ud + K (vref - v)`; speeds computed. A hold
/// without integral action shows the driver the hill. K = 2 would be a gain of 40, which the
/// settings do not allow.
#[test]
fn without_integral_action_the_hill_shows_as_published() {
    for (k, published) in [(0.1, 14.8062), (0.25, 17.9391), (0.5, 18.9680), (1.0, 19.4832)] {
        let settings = hold(k, 0.0, equilibrium_throttle());
        let run = ours(Some(settings), 1.0, 1_000, 200, |t, v, u| acceleration(v, u, hill(4.0, t)));
        near(run.last().v, published, SPEED_STEP);
        assert!((0.6835..0.6885).contains(&run.last().u), "{:?}", run.last());
        println!("K {k}: {:.5} m/s, throttle {:.5}", run.last().v, run.last().u);
    }
}

/// Throttle held at the equilibrium; speeds computed. Without a hold the rig bogs in full. The
/// throttle is cut to 1/65,536, here by 1.8e-6: in the end that is b/a times as much in speed,
/// 2.3e-4 m/s.
#[test]
fn open_loop_bogs_as_published() {
    let tolerance = 2.3e-4 + 0.5e-4;
    let run =
        |hold, demand| ours(hold, demand, 1_000, 21, |t, v, u| acceleration(v, u, hill(4.0, t)));
    let open = run(None, equilibrium_throttle());
    let published =
        [(6.0, 19.6592), (8.0, 18.3116), (10.0, 16.9876), (15.0, 13.7605), (20.0, 10.6172)];
    for (t, v) in published {
        near(open.at(t).v, v, tolerance);
    }
    // A hold without authority is no hold. (With no droop either it would be refused.)
    let powerless =
        HoldSettings { authority: 0.0, droop: 0.1, ..hold(KP, KI, equilibrium_throttle()) };
    near(run(Some(powerless), 1.0).at(20.0).v, 10.6172, tolerance);
}

/// Algebra from the printed linearisation: `w0 = sqrt(b ki)`, `zeta = (a + b kp) / (2 w0)`. Our
/// loop around the linear car answers a step of 0.5 m/s^2 against it like that second-order system.
#[test]
fn the_linear_loop_has_the_published_frequency_and_damping() {
    let (a, b) = linearised();
    let w0 = (b * KI).sqrt();
    let zeta = (a + b * KP) / (2.0 * w0);
    near(w0, 0.363_360, 1e-6);
    near(zeta, 0.922_332, 1e-6);

    let push = 0.5;
    let run = ours(Some(hold(KP, KI, 0.0)), 1.0, 1_000, 40, |t, v, u| {
        let against = if t < 0.0 { 0.0 } else { push };
        b * (u - equilibrium_throttle()) - a * (v - VREF) - against
    });
    let worst_against = |w0: f64, zeta: f64| {
        let wd = w0 * (1.0 - zeta * zeta).sqrt();
        let exact = |t: f64| VREF - push / wd * (-zeta * w0 * t).exp() * (wd * t).sin();
        run.0.iter().map(|row| (row.v - exact(row.t)).abs()).fold(0.0, f64::max)
    };
    let worst = worst_against(w0, zeta);
    // The waveform as a whole: half a tick of delay, and the resolution.
    assert!(worst <= 2.0 * SPEED_STEP, "{worst} m/s from the second-order system");
    // One per cent more in either would show.
    assert!(worst_against(w0 * 1.01, zeta) > 5.0 * worst);
    assert!(worst_against(w0, zeta * 1.01) > 5.0 * worst);
    println!("linear loop: at most {worst:.6} m/s from the second-order system");
}
