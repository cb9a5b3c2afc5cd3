//! The averaged bridge held against its own switching and against algebra. Each check names its
//! source (docs/src/sources.md lists them all); "algebra" means that no publication is claimed.

use easeoff_plant::parts::bridge::Action;
use easeoff_plant::state::State;
use easeoff_tests::bench::Bench;
use easeoff_tests::near;

/// Means over one settled PWM period in which `on` acts for a share of the time and `off` for the
/// rest; the speed is held from outside.
fn resolved(bench: &Bench, on: Action, off: Action, share: f64, speed: f64) -> [f64; 3] {
    let (period_s, steps) = (1.0e-3, 2_000_u32);
    let hold = |mut now: State| {
        now.motor.motor_rad_s = speed;
        now
    };
    let mut now = hold(State::default());
    let mut means = [0.0; 3];
    // 400 periods are ten time constants of the slowest winding below.
    for _ in 0..400 {
        means = [0.0; 3];
        for tick in 0..steps {
            let on_now = f64::from(tick) < share * f64::from(steps);
            let action = if on_now { on } else { off };
            let next = hold(bench.step(action, &now, period_s / f64::from(steps)));
            let mut middle = now;
            middle.motor.current_a = (now.motor.current_a + next.motor.current_a) / 2.0;
            let flows = bench.flows(action, &middle);
            for (mean, part) in
                means.iter_mut().zip([middle.motor.current_a, flows.bus_a, flows.heat_w])
            {
                *mean += part / f64::from(steps);
            }
            now = next;
        }
    }
    means
}

/// P4. A stored article series on H-bridges gives the switch states of sign-magnitude drive (on: the
/// supply; off: both terminals on one rail); that they average to D V is algebra. Here the averaged
/// bridge is held against the switches themselves.
#[test]
fn p4_driving_is_the_mean_of_its_switching() {
    // L/R = 40 periods: the ripple is small, as the averaged bridge assumes.
    let bench = Bench::small(8.0e-3);
    for (duty, speed) in [(0.3, 0.0), (0.5, 40.0), (0.8, 150.0), (0.3, 150.0)] {
        let action = Action::Drive(duty);
        let mean = bench.held(action, speed);
        let flows = bench.flows(action, &mean);
        let [current, bus, _] =
            resolved(&bench, Action::Drive(1.0), Action::Brake(1.0), duty, speed);
        // The row's own value: mean voltage D V.
        near(current * 0.2 + 0.05 * speed, duty * 12.0, 0.01);
        near(current, mean.motor.current_a, 0.01 * mean.motor.current_a.abs() + 0.01);
        near(bus, flows.bus_a, 0.01 * flows.bus_a.abs() + 0.02);
        near(flows.heat_w, current * current * 0.2, 0.01 * flows.heat_w + 0.01);
    }
}

/// P6. Algebra: the windings shorted for a share d of the period and open for the rest, the
/// inductance small against the period: mean torque d K^2 w / R.
#[test]
fn p6_braking_is_the_mean_of_its_switching() {
    // L/R = 2 us of a period of 1 ms: the current's rise costs 2 us of each pulse.
    let bench = Bench::small(0.4e-6);
    let speed = 100.0;
    for share in [0.1, 0.5, 0.9] {
        let mean = bench.held(Action::Brake(share), speed);
        let flows = bench.flows(Action::Brake(share), &mean);
        let [current, bus, heat] =
            resolved(&bench, Action::Brake(1.0), Action::Coast, share, speed);
        let tolerance = 1.1 * 2.0e-6 / (share * 1.0e-3) + 1e-3;
        near(bench.torque(&mean), -share * 1.25, 1e-9);
        near(current, mean.motor.current_a, tolerance * mean.motor.current_a.abs());
        near(heat, flows.heat_w, 2.0 * tolerance * flows.heat_w);
        assert_eq!((bus, flows.bus_a), (0.0, 0.0), "a shorted motor feeds nothing back");
    }
}

/// P6, second half. Algebra: a synchronous bridge at duty D carries (D V - K w) / R, so it feeds the
/// pack when D V < K w; a diode carries nothing backward.
#[test]
fn p6_only_a_synchronous_bridge_feeds_the_pack() {
    let bench = Bench::small(2.0e-4);
    let (action, speed) = (Action::Drive(0.25), 100.0);
    let mean = bench.held(action, speed);
    near(mean.motor.current_a, (0.25 * 12.0 - 0.05 * 100.0) / 0.2, 1e-9);
    near(bench.flows(action, &mean).bus_a, -2.5, 1e-9);
    let diode = Bench { synchronous: false, ..bench };
    let mut now = State::default();
    now.motor.motor_rad_s = speed;
    for _ in 0..1_000 {
        now = diode.step(action, &now, 1.0e-5);
        assert_eq!(now.motor.current_a, 0.0);
    }
    near(now.motor.motor_rad_s, speed, 1e-9);
}
