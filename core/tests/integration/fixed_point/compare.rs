//! The core's trace and command beside the twin's, tick by tick.

use super::twin::{Seen, back_emf_per_rad_s, number};
use easeoff_core::{DragLaw, Event, Input, Mode, Output, Settings};
use std::collections::{BTreeMap, VecDeque};

/// The numbers compared, in the order of the path.
pub(crate) const NAMES: [&str; 15] = [
    "demand",
    "curved",
    "abruptness",
    "slewed",
    "brake_level",
    "brake_asked",
    "speed",
    "added",
    "duty_asked",
    "pack",
    "heat",
    "drive_cap",
    "brake_cap",
    "duty",
    "braking",
];

/// The place of "holding at rest" in `Event::ALL`.
const HOLDING: usize = 12;

type Numbers = [f64; NAMES.len()];

fn of_core(core: &Output) -> Numbers {
    let (t, limits) = (&core.trace, &core.trace.limits);
    let bits = [
        t.demand.to_bits(),
        t.curved.to_bits(),
        t.abruptness.to_bits(),
        t.slewed.to_bits(),
        t.brake_level.to_bits(),
        t.brake_asked.to_bits(),
        t.speed.map_or(0, |speed| speed.to_bits()),
        t.added.to_bits(),
        t.duty_asked.to_bits(),
        limits.pack.to_bits(),
        limits.heat.to_bits(),
        limits.drive_cap.to_bits(),
        limits.brake_cap.to_bits(),
        core.command.duty().to_bits(),
        core.command.braking().to_bits(),
    ];
    bits.map(number)
}

fn of_twin(t: &Seen) -> Numbers {
    [
        t.demand,
        t.curved,
        t.abruptness,
        t.slewed,
        t.brake_level,
        t.brake_asked,
        t.speed.unwrap_or_default(),
        t.added,
        t.duty_asked,
        t.pack,
        t.heat,
        t.drive_cap,
        t.brake_cap,
        t.duty,
        t.braking,
    ]
}

/// What has no size, only equality.
#[derive(Clone, Debug, PartialEq)]
struct Discrete {
    mode: Mode,
    pulse: Option<f64>,
    bad_samples: u16,
    knows_speed: bool,
    stalled: bool,
    /// In the order of `Event::ALL`.
    events: Vec<bool>,
}

impl Discrete {
    fn of_core(core: &Output) -> Self {
        let t = &core.trace;
        Self {
            mode: t.mode,
            pulse: t.pulse.map(|pulse| number(pulse.to_bits())),
            bad_samples: t.bad_samples,
            knows_speed: t.speed.is_some(),
            stalled: t.limits.stalled,
            events: Event::ALL.map(|(event, _)| t.events.contains(event)).to_vec(),
        }
    }

    fn of_twin(t: &Seen) -> Self {
        Self {
            mode: t.mode,
            pulse: t.pulse,
            bad_samples: t.bad_samples,
            knows_speed: t.speed.is_some(),
            stalled: t.stalled,
            events: Event::ALL.map(|(event, _)| t.events.contains(event)).to_vec(),
        }
    }

    /// The names of what differs.
    fn unlike(&self, other: &Self) -> Vec<&'static str> {
        let mut names = Vec::new();
        let mut note = |name, differs: bool| names.extend(differs.then_some(name));
        note("mode", self.mode != other.mode);
        note("pulse", self.pulse != other.pulse);
        note("bad samples", self.bad_samples != other.bad_samples);
        note("speed known", self.knows_speed != other.knows_speed);
        for (i, (_, name)) in Event::ALL.into_iter().enumerate() {
            note(name, self.events[i] != other.events[i]);
        }
        note("stalled", self.stalled != other.stalled);
        names
    }
}

/// The worst so far.
pub(crate) struct Compared {
    tune: Settings,
    /// Ticks by which the twin may be early or late.
    slack: usize,
    twins: VecDeque<(Numbers, Discrete)>,
    cores: VecDeque<(Numbers, Discrete, f64)>,
    tick: u32,
    /// In units of 2^-16, with the tick.
    pub(crate) worst: [(f64, u32); NAMES.len()],
    /// Ticks in a row in which something discrete differs: those under way, and the most.
    unlike: BTreeMap<&'static str, (u32, u32)>,
    pub(crate) first_unlike: BTreeMap<&'static str, u32>,
}

impl Compared {
    pub(crate) fn new(tune: &Settings, slack: usize) -> Self {
        Self {
            tune: *tune,
            slack,
            twins: VecDeque::new(),
            cores: VecDeque::new(),
            tick: 0,
            worst: [(0.0, 0); NAMES.len()],
            unlike: BTreeMap::new(),
            first_unlike: BTreeMap::new(),
        }
    }

    /// The next tick's.
    pub(crate) fn look(&mut self, input: &Input, core: &Output, twin: &Seen) {
        self.cores.push_back((of_core(core), Discrete::of_core(core), self.weight(input)));
        self.twins.push_back((of_twin(twin), Discrete::of_twin(twin)));
        if self.twins.len() > 2 * self.slack + 1 {
            self.twins.pop_front();
        }
        if self.twins.len() > self.slack {
            self.compare();
        }
    }

    /// By how much an error of the braking share counts: by the current that it makes, as a part of
    /// a full brake's. Where the wheels hardly turn, the current law divides one small number by
    /// another, and neither the quotient nor its error brakes anything.
    fn weight(&self, input: &Input) -> f64 {
        let (DragLaw::Current { full_a }, Some(speed)) = (self.tune.drag.law, input.speed) else {
            return 1.0;
        };
        let emf = back_emf_per_rad_s(&self.tune.motor) * number(speed.to_bits()).abs();
        (emf / f64::from(full_a * self.tune.motor.resistance_ohm)).min(1.0)
    }

    fn compare(&mut self) {
        let (core, discrete, weight) = self.cores.pop_front().unwrap();
        for (i, name) in NAMES.into_iter().enumerate() {
            // A push of one unit to hold the place, or none and the brake: that is an event, counted
            // below, and no number.
            let held = |of: &Discrete| of.events[HOLDING];
            if matches!(name, "brake_asked" | "braking" | "duty_asked" | "duty")
                && self.twins.iter().any(|twin| held(&twin.1) != held(&discrete))
            {
                continue;
            }
            let (low, high) = self.twins.iter().fold((f64::MAX, f64::MIN), |(low, high), twin| {
                (low.min(twin.0[i]), high.max(twin.0[i]))
            });
            let weight = if matches!(name, "brake_asked" | "braking") { weight } else { 1.0 };
            let error = (low - core[i]).max(core[i] - high).max(0.0) * weight * 65_536.0;
            if error > self.worst[i].0 {
                self.worst[i] = (error, self.tick);
            }
        }
        let same = |twin: &(Numbers, Discrete)| discrete.unlike(&twin.1);
        let unlike = self.twins.iter().map(same).min_by_key(Vec::len).unwrap();
        for name in &unlike {
            let (now, most) = self.unlike.entry(name).or_default();
            *now += 1;
            *most = (*most).max(*now);
            self.first_unlike.entry(name).or_insert(self.tick);
        }
        for (name, (now, _)) in &mut self.unlike {
            if !unlike.contains(name) {
                *now = 0;
            }
        }
        self.tick += 1;
    }

    /// What differed, and for how many ticks in a row at most.
    pub(crate) fn unlike(&self) -> impl Iterator<Item = (&'static str, u32)> + '_ {
        self.unlike.iter().map(|(name, (_, most))| (*name, *most))
    }
}
