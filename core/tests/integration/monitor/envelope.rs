//! The monitor's envelope where it is tight: how near to a healthy controller it stands.

use crate::common::Bench;
use easeoff_core::{
    Breach, Command, CurveSettings, Duty, Input, Knots, Microseconds, Monitor, MonitorState,
    RestSettings, SafeState, Settings, SlewSettings, Strength, TickRate, Volt,
};

/// A monitor by itself, told what the board would tell it.
struct Watch {
    monitor: Monitor,
    state: MonitorState,
    input: Input,
}

impl Watch {
    fn new(tune: &Settings) -> Self {
        let monitor = Monitor::of(tune, TickRate::new(1_000).unwrap());
        Self { monitor, state: MonitorState::default(), input: Input::default() }
    }

    /// Coasts for an arming time and more with the throttle there.
    fn rest_at(mut self, pulse_us: f32) -> Self {
        self.input.pulse = Microseconds::new(pulse_us);
        for _ in 0..600 {
            self.monitor.step(&mut self.state, &self.input, Command::Coast);
        }
        self
    }

    fn drive(&mut self, pulse_us: f32, duty: f32) -> Option<Breach> {
        self.input.pulse = Microseconds::new(pulse_us);
        let command = Command::Drive { duty: Duty::new(duty).unwrap() };
        self.monitor.step(&mut self.state, &self.input, command).breach
    }
}

/// Neutral is 1500 us, the dead band 20 us; a sixteenth of a microsecond is rounding.
#[test]
fn half_a_microsecond_beyond_the_dead_band_is_not_neutral() {
    for (pulse, breach) in [(1_520.0, None), (1_520.5, Some(Breach::Unarmed))] {
        let mut watch = Watch::new(&Settings::default()).rest_at(pulse);
        assert_eq!(watch.drive(1_700.0, 0.003), breach, "{pulse} us");
    }
}

/// Holding a place has no way of its own, but only while the throttle rests.
#[test]
fn a_little_duty_the_wrong_way_is_a_breach_also_where_a_place_may_be_held() {
    let tune = Settings { rest: Some(RestSettings::default()), ..Settings::default() };
    let mut watch = Watch::new(&tune).rest_at(1_500.0);
    assert_eq!(watch.drive(1_500.0, -0.003), None);
    assert_eq!(watch.drive(1_700.0, -0.003), Some(Breach::WrongWay));
    // Holding against the way that was driven needs no stop in between.
    let mut watch = Watch::new(&tune).rest_at(1_500.0);
    assert_eq!(watch.drive(1_700.0, 0.003), None);
    assert_eq!(watch.drive(1_500.0, -0.003), None);
    let mut watch = Watch::new(&Settings::default()).rest_at(1_500.0);
    assert_eq!(watch.drive(1_500.0, -0.003), Some(Breach::WrongWay));
}

/// Where the safe state is to coast, a brake of nothing is none.
#[test]
fn without_a_signal_any_brake_is_a_breach_where_coasting_is_safe() {
    let tune = Settings { safe_state: SafeState::Coast, ..Settings::default() };
    for (bits, breach) in [(0, None), (655, Some(Breach::NotSafe))] {
        let mut watch = Watch::new(&tune).rest_at(1_500.0);
        watch.input.pulse = None;
        for _ in 0..200 {
            watch.monitor.step(&mut watch.state, &watch.input, Command::Coast);
        }
        let command = Command::Brake { strength: Strength::from_bits(bits) };
        let verdict = watch.monitor.step(&mut watch.state, &watch.input, command);
        assert_eq!(verdict.breach, breach, "{command:?}");
    }
}

/// Three cells that leave nothing at 9.0 V; a hundredth of the fade is rounding.
#[test]
fn an_empty_pack_is_a_breach_within_a_hundredth_of_the_fade() {
    for (volt, breach) in [(8.995, None), (8.98, Some(Breach::PackEmpty))] {
        let mut watch = Watch::new(&Settings::default()).rest_at(1_500.0);
        watch.input.voltage = Volt::new(volt);
        assert_eq!(watch.drive(1_700.0, 0.003), breach, "{volt} V");
    }
    // What the fade leaves just above is none: 0.006 / 0.9 of the duty.
    let mut bench = Bench::new(&Settings::default(), 1_000);
    bench.arm();
    bench.input.voltage = Volt::new(9.006);
    for pulse in [1_760.0, 2_000.0].into_iter().flat_map(|pulse| [pulse; 500]) {
        bench.input.pulse = Microseconds::new(pulse);
        assert_eq!(bench.step().trace.breach, None);
    }
    assert!((0.006..0.007).contains(&bench.step().command.duty().to_f32()));
}

/// Knots far above the straight line: much duty for little travel is what was asked for.
#[test]
fn a_steep_curve_is_no_breach() {
    let curve = CurveSettings::Knots(Knots::new(&[[0.02, 0.3], [0.05, 0.6]]).unwrap());
    let slew = SlewSettings { rise_per_s: 1_000.0, ease_per_s: 1_000.0 };
    let mut bench = Bench::new(&Settings { curve, slew, ..Settings::default() }, 1_000);
    bench.arm();
    for travel in (1_520_u16..1_620).chain((1_520..1_620).rev()) {
        bench.input.pulse = Microseconds::new(f32::from(travel));
        let output = (0..40).map(|_| bench.step()).last().unwrap();
        assert_eq!(output.trace.breach, None, "at {travel} us");
        assert_eq!(output.command.duty().to_bits(), output.trace.curved.to_bits());
    }
}
