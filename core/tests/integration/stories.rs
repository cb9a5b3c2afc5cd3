//! Accepted tunes and stories of what the board may measure, at random.

use easeoff_core::{
    Amp, Celsius, Controller, CurveSettings, DragLaw, GiveWaySettings, HoldSettings, Input, Knots,
    Microseconds, PackRecovery, RestSettings, ReversePolicy, SafeState, Settings, Shape, Speed,
    StallSettings, TickRate, Volt,
};
use proptest::prelude::*;

/// A number of a range, its ends more often than chance would have it.
fn within(low: f32, high: f32) -> impl Strategy<Value = f32> {
    // By whole steps: proptest's own ranges of floats now and then fail an assertion of theirs.
    let between = (0..=u16::MAX).prop_map(move |part| {
        (low + (high - low) * f32::from(part) / f32::from(u16::MAX)).min(high)
    });
    prop_oneof![1 => Just(low), 1 => Just(high), 6 => between]
}

/// Any tune within the stated ranges; contradictions between settings are left to `prepare`.
fn tune() -> impl Strategy<Value = Settings> {
    let pulse = (
        within(500.0, 1_000.0),
        within(2_000.0, 2_500.0),
        within(20.0, 500.0),
        within(20.0, 2_000.0),
        0_u8..=100,
    );
    let calibration = (
        within(900.0, 1_200.0),
        within(1_450.0, 1_550.0),
        within(1_800.0, 2_100.0),
        within(2.0, 100.0),
        any::<bool>(),
    );
    let curve = prop_oneof![
        2 => within(0.0, 1.0).prop_map(|blend| CurveSettings::Cubic { blend }),
        1 => knots(),
    ];
    let feel = (curve, within(0.1, 1_000.0), within(0.1, 1_000.0));
    let mode = (
        within(100.0, 600.0),
        0..ReversePolicy::NAMED.len(),
        within(0.1, 20.0),
        within(0.0, 1_000.0),
        0..SafeState::NAMED.len(),
    );
    let law = prop_oneof![
        Just(DragLaw::Duty),
        within(0.5, 500.0).prop_map(|full_a| DragLaw::Current { full_a })
    ];
    let drag = (
        within(0.0, 1.0),
        within(0.0, 400.0),
        within(0.0, 600.0),
        0..Shape::NAMED.len(),
        within(0.0, 300.0),
        law,
        within(0.0, 1.0),
    );
    let rest = (within(0.01, 20.0), within(0.0, 1.0), within(0.01, 0.5), within(0.05, 5.0))
        .prop_map(|r| RestSettings {
            gain_per_rad: r.0,
            damping_s_per_rad: r.1,
            authority: r.2,
            below_rad_s: r.3,
        });
    let give_way = (within(0.05, 1.0), within(50.0, 2_000.0), within(0.0, 500.0))
        .prop_map(|g| GiveWaySettings { share: g.0, after_ms: g.1, release_ms: g.2 });
    let hold = (
        within(1.0, 2_000.0),
        within(0.0, 1.0),
        within(0.0, 20.0),
        within(0.0, 100.0),
        within(0.0, 2.0),
        within(0.0, 1.0),
        within(0.0, 500.0),
        proptest::option::of(give_way),
    );
    let stall = (within(0.05, 20.0), within(0.0, 1.0), within(100.0, 2_000.0))
        .prop_map(|s| StallSettings { below_rad_s: s.0, duty: s.1, after_ms: s.2 });
    let hysteresis = (
        within(0.0, 0.5),
        0..PackRecovery::NAMED.len(),
        within(0.0, 40.0),
        proptest::option::of(stall),
    );
    let limits = (
        proptest::option::of(within(1.0, 500.0)),
        proptest::option::of(within(1.0, 500.0)),
        1_u8..=14,
        within(2.5, 4.2),
        within(2.0, 4.1),
        within(40.0, 200.0),
        within(45.0, 220.0),
        within(0.0, 1.0),
        hysteresis,
    );
    let motor = (
        within(10.0, 20_000.0),
        within(1.0, 500.0),
        within(0.001, 50.0),
        proptest::option::of(within(0.1, 100.0)),
    );
    let optional = (proptest::option::of(rest), proptest::option::of(hold));
    let all = (pulse, calibration, feel, mode, drag, optional, limits, motor);
    all.prop_map(|(pulse, calibration, feel, mode, drag, (rest, hold), limits, motor)| {
        let mut tune = Settings::default();
        let p = &mut tune.pulse;
        (p.plausible_low_us, p.plausible_high_us, p.loss_after_ms) = (pulse.0, pulse.1, pulse.2);
        (p.jump_us, p.tolerate) = (pulse.3, pulse.4);
        let c = &mut tune.calibration;
        (c.low_us, c.neutral_us, c.high_us, c.dead_band_us, c.reversed) = calibration;
        (tune.curve, tune.slew.rise_per_s, tune.slew.ease_per_s) = feel;
        let m = &mut tune.mode;
        (m.arm_ms, m.rest_rad_s, m.pause_ms) = (mode.0.max(2.0 * pulse.2), mode.2, mode.3);
        m.reverse = ReversePolicy::NAMED[mode.1].1;
        tune.safe_state = SafeState::NAMED[mode.4].1;
        let d = &mut tune.drag;
        (d.strength, d.delay_ms, d.onset_ms) = (drag.0, drag.1, drag.2);
        (d.shape, d.release_ms, d.law) = (Shape::NAMED[drag.3].1, drag.4, drag.5);
        d.follow = drag.6;
        tune.hold = hold.map(|h| HoldSettings {
            full_speed_rad_s: h.0,
            feed_forward: h.1,
            gain: h.2,
            gain_per_s: h.3,
            droop: h.4,
            authority: h.5,
            fade_ms: h.6,
            give_way: h.7,
        });
        let l = &mut tune.limits;
        (l.drive_a, l.brake_a, l.cells) = (limits.0, limits.1, limits.2);
        (l.derate_from_v, l.derate_to_v) = (limits.3, limits.4);
        (l.derate_from_c, l.derate_to_c, l.reverse) = (limits.5, limits.6, limits.7);
        let (recover_v, recovery, cool_by_c, stall) = limits.8;
        (l.recover_v, l.cool_by_c, l.stall) = (recover_v, cool_by_c, stall);
        (l.full_v, l.pack_recovery) = (4.4, PackRecovery::NAMED[recovery].1);
        let m = &mut tune.motor;
        (m.kv_rpm_per_v, m.gear_ratio, m.resistance_ohm, m.estimate_from_a) = motor;
        // What holds must be able to push both ways.
        let never = tune.mode.reverse == ReversePolicy::Never;
        tune.rest = rest
            .map(|rest| RestSettings { authority: rest.authority.min(tune.limits.reverse), ..rest })
            .filter(|rest| !never && rest.authority >= 0.01);
        tune
    })
}

/// Any rising knots.
fn knots() -> impl Strategy<Value = CurveSettings> {
    proptest::collection::vec((within(0.01, 0.2), within(0.0, 0.3)), 0..=9).prop_map(|steps| {
        let (mut at, mut points) = ([0.0_f32, 0.0], Vec::new());
        for (travel, demand) in steps {
            at = [at[0] + travel.max(0.011), (at[1] + demand - 0.05).clamp(at[1], 1.0)];
            points.extend((at[0] <= 0.98).then_some(at));
        }
        CurveSettings::Knots(Knots::new(&points).unwrap())
    })
}

#[derive(Clone, Copy)]
pub(crate) struct Prepared {
    pub(crate) tune: Settings,
    pub(crate) rate: TickRate,
    pub(crate) controller: Controller,
}

/// Without the controller's tables, so that a failure can be read.
impl std::fmt::Debug for Prepared {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:?} at {} Hz", self.tune, self.rate.hz())
    }
}

impl Prepared {
    pub(crate) fn new(tune: Settings, hz: u16) -> Option<Self> {
        let rate = TickRate::new(hz)?;
        Some(Self { tune, rate, controller: tune.prepare(rate).ok()? })
    }

    /// Ticks in a time, as a real number.
    pub(crate) fn ticks(&self, milliseconds: f32) -> f32 {
        milliseconds * f32::from(self.rate.hz()) / 1_000.0
    }
}

fn rate() -> impl Strategy<Value = u16> {
    prop_oneof![Just(100_u16), Just(1_000), 100_u16..=2_000]
}

pub(crate) fn accepted() -> impl Strategy<Value = Prepared> {
    (tune(), rate()).prop_filter_map("refused", |(tune, hz)| Prepared::new(tune, hz))
}

/// A stretch of time in which the hand and the sensors each do one thing.
#[derive(Clone, Debug)]
pub(crate) struct Stretch {
    ticks: u32,
    /// `None`: silence.
    pulse_us: Option<f32>,
    /// A pulse every so many ticks.
    every: u32,
    speed: Option<Speed>,
    current: Option<Amp>,
    voltage: Option<Volt>,
    temperature: Option<Celsius>,
}

/// Any value of a quantity, mostly a likely one, sometimes any bits at all, sometimes none.
pub(crate) fn sensor<T: std::fmt::Debug + Clone>(
    low: f32,
    high: f32,
    of_bits: fn(i32) -> T,
) -> impl Strategy<Value = Option<T>> {
    prop_oneof![
        1 => Just(None),
        1 => any::<i32>().prop_map(move |bits| Some(of_bits(bits))),
        4 => within(low, high).prop_map(move |value| Some(of_bits((value * 65_536.0) as i32))),
    ]
}

fn stretch() -> impl Strategy<Value = Stretch> {
    let pulse_us = prop_oneof![
        4 => Just(Some(1_500.0_f32)),
        5 => within(900.0, 2_100.0).prop_map(Some),
        1 => Just(Some(2_000.0)),
        1 => Just(Some(1_000.0)),
        1 => within(-32_000.0, 32_000.0).prop_map(Some),
        1 => Just(Some(f32::NAN)),
        2 => Just(None),
    ];
    let parts = (
        prop_oneof![2 => 1_u32..30, 3 => 30_u32..1_200],
        pulse_us,
        1_u32..25,
        prop_oneof![2 => Just(Speed::new(0.0)), 3 => sensor(-60.0, 60.0, Speed::from_bits)],
        sensor(-80.0, 80.0, Amp::from_bits),
        prop_oneof![3 => Just(Volt::new(30.0)), 2 => sensor(0.0, 60.0, Volt::from_bits)],
        prop_oneof![3 => Just(None), 2 => sensor(-20.0, 230.0, Celsius::from_bits)],
    );
    parts.prop_map(|(ticks, pulse_us, every, speed, current, voltage, temperature)| Stretch {
        ticks,
        pulse_us,
        every,
        speed,
        current,
        voltage,
        temperature,
    })
}

/// Mostly begins by resting long enough to arm, so that driving is reached often.
pub(crate) fn story() -> impl Strategy<Value = Vec<Stretch>> {
    (any::<bool>(), proptest::collection::vec(stretch(), 1..10)).prop_map(|(arms, mut story)| {
        if arms {
            let rest = Stretch { ticks: 1_200, pulse_us: Some(1_500.0), every: 1, ..story[0] };
            story.insert(0, rest);
        }
        story
    })
}

pub(crate) fn inputs(story: &[Stretch]) -> impl Iterator<Item = Input> + '_ {
    story.iter().flat_map(|stretch| {
        (0..stretch.ticks).map(|tick| Input {
            pulse: stretch
                .pulse_us
                .filter(|_| tick % stretch.every == 0)
                .and_then(Microseconds::new),
            speed: stretch.speed,
            current: stretch.current,
            voltage: stretch.voltage,
            temperature: stretch.temperature,
        })
    })
}
