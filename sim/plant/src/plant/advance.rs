//! The plant through one step: switches, events, and what is settled after it.

use super::{Plant, PlantState, Remembered};
use crate::parts::bridge::{self, Action};
use crate::parts::motor_kind::Machine;
use crate::state::{State, rk4};

/// Cuts of one step, at most.
const MOST_EVENTS: usize = 4;
/// How often the moment of an event is sought ...
const ZERO_TRIES: usize = 8;
/// ... until what has to reach nothing is this share of what it was.
const ZERO_SHARE: f64 = 1.0e-4;

/// When within a step something reaches nothing, by the false position method; `ends` are its values at the
/// step's ends.
fn zero(value: impl Fn(f64) -> f64, ends: [f64; 2], step_s: f64) -> f64 {
    let [mut early, mut late] = [(0.0, ends[0]), (step_s, ends[1])];
    let mut part_s = step_s;
    for _ in 0..ZERO_TRIES {
        part_s = early.0 + (late.0 - early.0) * early.1 / (early.1 - late.1);
        let left = value(part_s);
        if left.abs() < ZERO_SHARE * ends[0].abs() {
            break;
        }
        let side = if left * early.1 > 0.0 { &mut early } else { &mut late };
        *side = (part_s, left);
    }
    part_s
}

impl Plant {
    /// Moves on by one step of `step_s`, a switched bridge through all of its positions.
    pub fn advance(&self, state: &mut PlantState, action: Action, step_s: f64) {
        let Some(switching) = &self.switching else {
            self.advance_once(state, action, step_s);
            state.remembered.mean_a = state.now.motor.current_a;
            return;
        };
        let (mut left_s, mut flowed_c) = (step_s, 0.0);
        while left_s > 1.0e-12 {
            let phase_s = &mut state.remembered.phase_s;
            let (position, stretch_s) = switching.next(phase_s, action, left_s);
            let before_a = state.now.motor.current_a;
            self.advance_once(state, position, stretch_s);
            let mean_a = (before_a + state.now.motor.current_a) / 2.0;
            let remembered = &mut state.remembered;
            let drawn_a = self.circuit(&state.now, remembered).flows(position, mean_a).drawn_a;
            let pack_ohm = self.pack.resistance_ohm;
            remembered.feed_a = switching.fed_a(remembered.feed_a, drawn_a, pack_ohm, stretch_s);
            flowed_c += mean_a * stretch_s;
            left_s -= stretch_s;
        }
        state.remembered.mean_a = flowed_c / step_s;
    }

    fn advance_once(&self, state: &mut PlantState, action: Action, step_s: f64) {
        let mut held = state.remembered;
        let mut before = state.now;
        // Once for a bridge that has just been switched, once for what this step did.
        let switched_a = before.motor.current_a;
        self.interrupt(&mut before, action, switched_a);
        held.way =
            if before.motor.current_a == 0.0 { 0.0 } else { before.motor.current_a.signum() };
        let (mut next, from_a) = self.moved_by_events(&before, held, action, step_s);
        self.interrupt(&mut next, action, from_a);
        state.now = next;
        let remembered = &mut state.remembered;
        remembered.snagged.settle(&self.snags, next.place_m, next.wheel_rad);
        self.motor_dry.settle(&mut remembered.motor, step_s * next.motor.motor_rad_s);
        self.rolling_dry.settle(&mut remembered.rolling, next.wheel_rad - before.wheel_rad);
        if let Some(servo) = &self.servo {
            let bus_v = self.circuit(&next, &held).flows(action, next.motor.current_a).bus_v;
            servo.step(&mut remembered.servo, bus_v, step_s);
        }
    }

    fn moved(&self, from: &State, held: &Remembered, action: Action, step_s: f64) -> State {
        rk4(from, step_s, |now| self.flows_of(now, held, action).rates)
    }

    /// A step cut where a current runs out against diodes or gears meet, so that no stretch has a jump
    /// within; and the motor's current at the beginning of the last stretch.
    fn moved_by_events(
        &self,
        before: &State,
        mut held: Remembered,
        action: Action,
        step_s: f64,
    ) -> (State, f64) {
        let (mut from, mut left_s) = (*before, step_s);
        for _ in 0..MOST_EVENTS {
            let next = self.moved(&from, &held, action, left_s);
            let runs_out = bridge::runs_out(
                action,
                self.bridge.synchronous,
                from.motor.current_a,
                next.motor.current_a,
            );
            let meets = self.line.gap(from.twist_rad) < 0.0 && self.line.gap(next.twist_rad) > 0.0;
            let when = |happens: bool, left: &dyn Fn(&State) -> f64| {
                let at = |part_s: f64| left(&self.moved(&from, &held, action, part_s));
                happens.then(|| zero(at, [left(&from), left(&next)], left_s))
            };
            let out_s = when(runs_out, &|now| now.motor.current_a);
            let meet_s = when(meets, &|now| self.line.gap(now.twist_rad));
            let Some(part_s) = [out_s, meet_s].into_iter().flatten().reduce(f64::min) else {
                return (next, from.motor.current_a);
            };
            from = self.moved(&from, &held, action, part_s);
            if out_s == Some(part_s) {
                self.let_go(&mut from, 0.0);
                held.way = 0.0;
            } else {
                from.twist_rad = self.line.met(from.twist_rad);
            }
            left_s -= part_s;
        }
        (self.moved(&from, &held, action, left_s), from.motor.current_a)
    }

    /// What an open bridge or a diode interrupts ends as heat there.
    fn interrupt(&self, now: &mut State, action: Action, before_a: f64) {
        let flowed_a = now.motor.current_a;
        let emf_v = self.motor.emf_v(&now.motor, now.case_c);
        let left_a = bridge::settle(action, self.bridge.synchronous, emf_v, before_a, flowed_a);
        self.let_go(now, left_a);
    }

    /// The current changes at once; what the field loses is heat.
    fn let_go(&self, now: &mut State, left_a: f64) {
        now.copper_j += self.motor.stored_j(now.motor.current_a) - self.motor.stored_j(left_a);
        now.motor.current_a = left_a;
    }
}
