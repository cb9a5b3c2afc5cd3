//! A controller with its throttle and sensors in hand, for tests that see only the public API.

use easeoff_core::{
    Calibration, Controller, Event, Input, Microseconds, Mode, Output, Settings, State, Strength,
    TickRate,
};

/// A throttle of 500 us travel each way beyond a dead band of 2 us: small steps of the pulse's
/// 2^-16 us reach every demand.
pub(crate) const FINE: Calibration = Calibration {
    low_us: 998.0,
    neutral_us: 1_500.0,
    high_us: 2_002.0,
    dead_band_us: 2.0,
    reversed: false,
};

/// The pulse that asks for a demand on [`FINE`]; it is in the raw units of both (2^-16).
pub(crate) fn fine_pulse(demand_bits: i32) -> Microseconds {
    // The calibration stretches the demand by 1e-5, so that the end points reach 1 exactly.
    let travel = (f64::from(demand_bits) * 500.0 / (1.0 + 1.0e-5)).round() as i32;
    let edge = Microseconds::new(1_500.0 + 2.0 * f32::from(demand_bits.signum() as i8)).unwrap();
    Microseconds::from_bits(edge.to_bits() + travel)
}

/// The demand nearest to a number, raw.
pub(crate) fn demand_bits(demand: f64) -> i32 {
    (demand * 65_536.0).round() as i32
}

/// A controller at work: `input` is what it gets in every tick.
pub(crate) struct Bench {
    pub(crate) controller: Controller,
    pub(crate) state: State,
    pub(crate) input: Input,
}

impl Bench {
    /// Switched on with the throttle at neutral; not armed yet.
    pub(crate) fn new(settings: &Settings, hz: u16) -> Self {
        let controller = settings.prepare(TickRate::new(hz).unwrap()).unwrap();
        let neutral = Microseconds::new(settings.calibration.neutral_us);
        let input = Input { pulse: neutral, ..Input::default() };
        Self { controller, state: State::default(), input }
    }

    pub(crate) fn step(&mut self) -> Output {
        self.controller.step(&mut self.state, &self.input)
    }

    /// Runs until armed; returns the first tick in neutral, in which the drag brake begins.
    pub(crate) fn arm(&mut self) -> Output {
        for _ in 0..100_000 {
            let output = self.step();
            if output.trace.mode == Mode::Neutral {
                return output;
            }
        }
        panic!("the throttle rests at neutral and the controller does not arm");
    }

    /// So many ticks; the last of their outputs.
    pub(crate) fn run(&mut self, ticks: u32) -> Output {
        (0..ticks).map(|_| self.step()).last().unwrap()
    }

    /// At 1 kHz: holds the throttle for so many milliseconds; the last of their outputs.
    pub(crate) fn hold(&mut self, pulse_us: f32, milliseconds: u16) -> Output {
        self.input.pulse = Microseconds::new(pulse_us);
        self.run(milliseconds.into())
    }
}

pub(crate) const HALF_US: f32 = 1_760.0;
pub(crate) const NEUTRAL_US: f32 = 1_500.0;

/// Armed at 1 kHz, at rest, with the brake of the default tune fully in.
pub(crate) fn armed(settings: &Settings) -> Bench {
    let mut bench = Bench::new(settings, 1_000);
    bench.arm();
    bench.hold(NEUTRAL_US, 400);
    bench
}

pub(crate) fn shows(output: Output, event: Event) -> bool {
    output.trace.events.contains(event)
}

#[track_caller]
pub(crate) fn assert_share(share: Strength, exact: f32) {
    assert!((share.to_f32() - exact).abs() < 1e-3, "{share:?}, due {exact}");
}
