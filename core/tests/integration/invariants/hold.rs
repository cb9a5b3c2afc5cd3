//! Invariants of the speed hold through the whole controller. DEVELOPERS.md has the table of all.

use crate::common::{Bench, FINE, demand_bits, fine_pulse};
use easeoff_core::{Command, Duty, Event, GiveWaySettings, HoldSettings, Settings, Speed};

/// One step of the 16 fraction bits.
const LSB: f32 = 1.0 / 65_536.0;

fn tune(hold: Option<HoldSettings>) -> Settings {
    let mut tune = Settings { calibration: FINE, hold, ..Settings::default() };
    (tune.pulse.jump_us, tune.mode.arm_ms) = (2_000.0, 200.0);
    (tune.drag.onset_ms, tune.drag.release_ms) = (0.0, 0.0);
    tune
}

/// Armed; the throttle asks for `demand` from the next tick on.
fn asking(tune: &Settings, demand: f64, speed: f32) -> Bench {
    let mut bench = Bench::new(tune, 1_000);
    bench.input.speed = Speed::new(0.0);
    bench.arm();
    bench.input.pulse = Some(fine_pulse(demand_bits(demand)));
    bench.input.speed = Speed::new(speed);
    bench
}

/// Invariant 11. However long the loop was at its limit, it leaves it within two ticks of the
/// error's change of sign, both ways and on both sides.
#[test]
fn the_hold_does_not_wind_up() {
    let hold = HoldSettings { authority: 0.3, ..HoldSettings::new(30.0) };
    for ticks in [1_000, 10_000, 60_000] {
        for way in [1.0_f32, -1.0] {
            // Demand 0.4 is 12 rad/s; no reverse cap in `added`.
            for (stuck, turned) in [(0.0, 12.3), (20.0, 11.7)] {
                let mut bench = asking(&tune(Some(hold)), f64::from(0.4 * way), stuck * way);
                let at_limit = bench.run(ticks).trace.added.to_f32();
                let bound = if stuck == 0.0 { 0.3 } else { -0.3 };
                assert!((at_limit - bound).abs() <= 2.0 * LSB, "{at_limit} at the limit");
                bench.input.speed = Speed::new(turned * way);
                let after = bench.run(2).trace.added.to_f32();
                let left = (after - at_limit) * bound.signum();
                assert!(left < -2.0 * LSB, "after {ticks} ticks: {at_limit} to {after}");
            }
        }
    }
}

/// Invariant 11. Driving begins with the open loop's duty, and a speed that comes back with no error
/// changes nothing: both within one step of the 16 fraction bits. Coming back with an error is no
/// faster than the fade lets it.
#[test]
fn the_hold_comes_in_without_a_bump() {
    let hold = HoldSettings::new(30.0);
    for (demand, speed) in [(0.5, 0.0), (0.5, 40.0), (-0.4, 0.0), (0.1, 3.0)] {
        let mut held = asking(&tune(Some(hold)), demand, speed);
        let mut open = asking(&tune(None), demand, speed);
        let first = |bench: &mut Bench| {
            (0..10).map(|_| bench.step()).find(|output| output.command.duty() != Duty::ZERO)
        };
        let (held, open) = (first(&mut held), first(&mut open).unwrap());
        // What is asked of the limits: these would hold back a jump and hide it here.
        let held = held.map_or(0.0, |output| output.trace.duty_asked.to_f32());
        let open = open.trace.duty_asked.to_f32();
        // Wheels faster than asked for: the loop takes duty away from the first tick.
        let begins =
            if speed > 0.0 { held.abs() <= open.abs() } else { (held - open).abs() <= LSB };
        assert!(begins, "demand {demand} at {speed} rad/s begins with {held}, open loop {open}");
    }
    let blind = || {
        let mut quick = tune(Some(hold));
        quick.slew.rise_per_s = 1_000.0;
        let mut bench = asking(&quick, 0.5, 0.0);
        bench.input.speed = None;
        assert_eq!(bench.run(1_000).command.duty().to_f32(), 0.5);
        bench
    };
    let mut bench = blind();
    bench.input.speed = Speed::new(15.0);
    for tick in 0..500 {
        let duty = bench.step().command.duty().to_f32();
        assert!((duty - 0.5).abs() <= LSB, "tick {tick}: {duty}");
    }
    let mut bench = blind();
    bench.input.speed = Speed::new(0.0);
    let mut before = 0.5;
    for tick in 0..100 {
        let duty = bench.step().command.duty().to_f32();
        // Authority 1 in 200 ticks.
        let most = 1.0 / 200.0 + 2.0 * LSB;
        assert!(duty - before <= most, "tick {tick}: {before} to {duty}");
        before = duty;
    }
    assert!(before > 0.7, "it comes in at all: {before}");
}

/// Invariant 11, every speed from far too slow to far too fast, backward too: never against the
/// demand, never beyond authority.
#[test]
fn the_hold_is_never_against_the_demand_nor_beyond_its_authority() {
    for authority in [0.05_f32, 0.3, 1.0] {
        let hold = HoldSettings { authority, fade_ms: 0.0, ..HoldSettings::new(30.0) };
        let (mut most, mut least) = (0.0_f32, 0.0_f32);
        for demand in [-0.4, -0.1, 0.1, 0.4] {
            let mut bench = asking(&tune(Some(hold)), demand, 0.0);
            for step in 0..6_000_u16 {
                let speed = -60.0 + f32::from(step % 1_200) / 10.0;
                bench.input.speed = Speed::new(speed);
                let output = bench.step();
                // Of what is asked: the monitor would refuse a wrong duty and hide it here.
                let duty = output.trace.duty_asked.to_f32();
                let added = output.trace.added.to_f32();
                assert!(duty * (demand as f32) >= 0.0, "{duty} at {demand} and {speed} rad/s");
                assert!(added.abs() <= authority + 2.0 * LSB, "{added} of {authority}");
                (most, least) = (most.max(added), least.min(added));
            }
        }
        assert!(most > authority.min(0.5) - 0.05 && least < -0.04, "{least} to {most}");
    }
}

/// Invariant 11. Without a speed, or with one that no wheel has, the loop fades to open loop and
/// says so from the first tick.
#[test]
fn a_missing_or_implausible_speed_drops_to_open_loop_and_is_told() {
    for wrong in [None, Speed::new(60.1), Speed::new(-60.1), Speed::new(30_000.0)] {
        let mut bench = asking(&tune(Some(HoldSettings::new(30.0))), 0.4, 6.0);
        let before = bench.run(1_000);
        assert!(before.trace.added.to_f32() > 0.2);
        assert!(!before.trace.events.contains(Event::HoldWithoutSpeed));
        bench.input.speed = wrong;
        let mut duty = before.command.duty();
        for tick in 0..200 {
            let output = bench.step();
            assert!(
                output.trace.events.contains(Event::HoldWithoutSpeed),
                "{wrong:?}, tick {tick}"
            );
            assert!(output.command.duty() <= duty, "{wrong:?}, tick {tick}: the duty grows");
            duty = output.command.duty();
        }
        let last = bench.step();
        assert_eq!(last.trace.added, Duty::ZERO);
        assert_eq!(last.command, Command::Drive { duty: Duty::from_bits(demand_bits(0.4)) });
        bench.input.speed = Speed::new(12.0);
        assert!(!bench.step().trace.events.contains(Event::HoldWithoutSpeed));
    }
}

/// A brushed motor through a gear, on a load: `J dw/dt = K G (duty V - K G w) / R - load`.
struct Loaded {
    speed: f32,
    torque: f32,
}

impl Loaded {
    const VOLT: f32 = 12.0;
    const OHM: f32 = 0.1;
    /// 30 rad/s at full duty.
    const KG: f32 = 0.4;
    const INERTIA: f32 = 0.5;

    fn step(&mut self, duty: f32, load: f32) {
        self.torque = Self::KG * (duty * Self::VOLT - Self::KG * self.speed) / Self::OHM;
        // The load is friction: it stops the wheels and does not turn them back.
        let net = self.torque - load;
        self.speed = (self.speed + net / Self::INERTIA * 0.001).max(0.0);
    }
}

/// Invariant 12. A load that asks for more than the open loop gives: the loop fights it for its
/// time, then what it added is gone within the release, and the motor's torque is no more than the
/// open loop's.
#[test]
fn giving_way_takes_back_what_was_added_in_its_time() {
    let (after_ms, release_ms) = (400.0, 300.0);
    let give_way = Some(GiveWaySettings { share: 0.5, after_ms, release_ms });
    let hold = HoldSettings { authority: 0.5, give_way, ..HoldSettings::new(30.0) };
    // Open loop at demand 0.3 stands at 14.4 Nm; this load stops it.
    let load = |tick: u32| if tick > 2_000 { 18.0 } else { 2.0 };
    let mut torques = Vec::new();
    for hold in [Some(hold), None] {
        let mut bench = asking(&tune(hold), 0.3, 0.0);
        let mut motor = Loaded { speed: 0.0, torque: 0.0 };
        let (mut bogged_at, mut gone_at, mut most) = (None, None, 0.0_f32);
        for tick in 0..6_000 {
            bench.input.speed = Speed::new(motor.speed);
            let output = bench.step();
            motor.step(output.command.duty().to_f32(), load(tick));
            if tick > 2_000 {
                most = most.max(output.trace.added.to_f32());
                if output.trace.events.contains(Event::Bogged) {
                    bogged_at = bogged_at.or(Some(tick));
                }
                if bogged_at.is_some() && output.trace.added == Duty::ZERO {
                    gone_at = gone_at.or(Some(tick));
                }
            }
            if gone_at.is_some() {
                assert_eq!(output.trace.added, Duty::ZERO, "tick {tick}: adds again under load");
            }
        }
        if hold.is_some() {
            assert!(most > 0.25, "it fights first: {most}");
            let (bogged, gone) = (bogged_at.unwrap(), gone_at.unwrap());
            assert!(bogged > 2_000 + 400, "gives way at {bogged}, before its time");
            assert!(gone - bogged <= 301, "gone {} ticks after giving way", gone - bogged);
        }
        torques.push(motor.torque);
    }
    assert!(torques[0] <= torques[1] + 0.01, "{torques:?}");
    assert!(torques[1] > 1.0, "{torques:?}");
}
