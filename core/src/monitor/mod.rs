//! After the limits: a second opinion on every command, by other code in other numbers.
//!
//! It sees only what the board measured and what is to be commanded, nothing that the stages
//! thought. From the tune it keeps a simple envelope, in plain whole numbers (1/65,536 of each unit),
//! and anything outside it is a [`Breach`]: the tick coasts, the controller enters
//! [`crate::Mode::Fault`], and until neutral has been seen for the arming time nothing drives.
//!
//! The envelope is wider than what the stages do, by rounding and by what they may know better; it
//! is there for a wrong branch, a flipped bit or a change of the code, not to find a bad tune. A
//! controller that is no longer called is for the board's watchdog.

mod breach;
mod envelope;
mod listen;

use crate::shared::input::Input;
use crate::shared::units::{Celsius, Demand, Volt};
use crate::stages::bridge::Command;
use crate::stages::mode::ReversePolicy;
use crate::stages::safe_state::SafeState;

pub use breach::Breach;
pub use envelope::Monitor;

/// What the monitor remembers. The default is the state at power-on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MonitorState {
    believed: Option<i32>,
    unconfirmed: Option<i32>,
    /// The largest demand each way that the believed pulse may mean, and whether it is neutral.
    asks_forward: i32,
    asks_backward: i32,
    neutral: bool,
    silent_ticks: u32,
    bad_in_a_row: u8,
    neutral_ticks: u32,
    armed: bool,
    ever_armed: bool,
    /// The largest demand each way that easing may still hold.
    may_forward: i32,
    may_backward: i32,
    /// The largest demand since the brake came on: the driver brakes by hand, and lets go slowly.
    hand_brake: i32,
    before: i32,
    drove: bool,
    undriven_ticks: u32,
    way: i8,
    over_ticks: u32,
    fault: bool,
}

impl MonitorState {
    /// True from a breach until neutral has been seen for the arming time.
    pub fn fault(&self) -> bool {
        self.fault
    }
}

/// The monitor's answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// What may be commanded.
    pub command: Command,
    /// What the command that was asked for broke, if anything.
    pub breach: Option<Breach>,
}

/// One.
const ONE: i32 = 1 << 16;
/// What rounding may add.
const ROUNDING: i32 = 8;
/// What easing may still hold has so many more fraction bits: the slowest rate takes less than one
/// of the 16 per tick.
const FINER: u32 = 8;

impl Monitor {
    /// Looks at one tick's command before it reaches the bridge.
    pub fn step(&self, state: &mut MonitorState, input: &Input, command: Command) -> Verdict {
        self.listen(state, input.pulse);
        self.watch_for_a_stop(state, input);
        let breach = match command {
            Command::Coast => {
                state.over_ticks = 0;
                None
            }
            Command::Drive { duty } => self.drive(state, input, duty.to_bits()),
            Command::Brake { strength } => self.braking(state, input, strength.to_bits()),
        };
        if breach.is_some() {
            state.fault = true;
            state.neutral_ticks = 0;
        }
        let passes = match command {
            Command::Drive { .. } => !state.fault,
            Command::Brake { .. } => {
                breach.is_none() && !(state.fault && self.safe_state == SafeState::Coast)
            }
            Command::Coast => true,
        };
        let command = if passes { command } else { Command::Coast };
        self.remember(state, command);
        Verdict { command, breach }
    }

    /// After another tune, which drove with this `duty`: it may be eased from there. Returns as much of it
    /// as may stay: less where this tune hardly follows the demand and may add less.
    pub(crate) fn expect(&self, state: &mut MonitorState, backward: bool, duty: Demand) -> Demand {
        const MOST: i32 = i32::MAX >> FINER;
        if let Some(at) = state.believed {
            self.understand(state, at);
        }
        let bits = duty.to_bits();
        let (demand, stays) = match self.hold {
            // The demand of which this tune could make such a duty; `feed` has a fraction bit less.
            Some((half_feed, authority)) => {
                let beyond = i64::from(bits.saturating_sub(authority).max(0)) << 15;
                let demand = beyond.checked_div(half_feed.into()).unwrap_or_default();
                let explained = i64::from(half_feed).wrapping_mul(MOST.into()) >> 15;
                let explained = i32::try_from(explained).unwrap_or(i32::MAX);
                let stays = bits.min(authority.saturating_add(explained));
                (i32::try_from(demand).unwrap_or(MOST), stays)
            }
            None => (bits, bits),
        };
        let may = if backward { &mut state.may_backward } else { &mut state.may_forward };
        *may = (*may).max(demand.saturating_add(1).min(MOST).saturating_mul(1 << FINER));
        Demand::from_bits(stays)
    }

    /// Wheels that stand may be driven either way.
    fn watch_for_a_stop(&self, state: &mut MonitorState, input: &Input) {
        let stand = match input.speed {
            Some(speed) => {
                let slow = speed.to_bits().saturating_abs() <= self.rest_speed;
                // Wheels that were just seen turning have not rested since.
                state.undriven_ticks = if slow { state.undriven_ticks } else { 0 };
                slow
            }
            None => state.undriven_ticks >= self.pause_ticks,
        };
        if stand && !state.drove {
            state.way = 0;
        }
    }

    fn drive(&self, state: &mut MonitorState, input: &Input, duty: i32) -> Option<Breach> {
        let size = duty.saturating_abs();
        let resting = self.may_be_resting(state, size);
        if !state.armed {
            return Some(Breach::Unarmed);
        }
        let forward = duty > 0;
        let may = if forward { state.may_forward } else { state.may_backward };
        if size > ROUNDING && may == 0 && !resting {
            return Some(Breach::WrongWay);
        }
        let may = (may >> FINER).saturating_add(1);
        let most = match self.hold {
            // A product of two shares, within the 32 bits.
            Some((half_feed, authority)) => {
                ((may >> 1).saturating_mul(half_feed) >> 14).saturating_add(authority)
            }
            None => may,
        };
        let most = most.max(if resting { self.rest_authority } else { 0 }).min(ONE);
        let most = if forward { most } else { most.min(self.reverse) };
        if size > most.saturating_add(ROUNDING) {
            return Some(Breach::TooMuch);
        }
        let same_way = (state.before > 0) == forward;
        let before = if same_way { state.before.saturating_abs() } else { 0 };
        if size > before.saturating_add(self.rise_step) {
            return Some(Breach::TooQuick);
        }
        let turned = (forward && state.way < 0) || (!forward && state.way > 0);
        if self.policy == ReversePolicy::AfterStop && turned && size > ROUNDING && !resting {
            return Some(Breach::NoStop);
        }
        let volt = input.voltage.map_or(i32::MAX, Volt::to_bits);
        if size > ROUNDING && volt < self.least_volt {
            return Some(Breach::PackEmpty);
        }
        let heat = input.temperature.map_or(i32::MIN, Celsius::to_bits);
        if size > ROUNDING && heat > self.hottest {
            return Some(Breach::TooHot);
        }
        self.current(state, input, size, self.drive_amp)
    }

    fn braking(&self, state: &mut MonitorState, input: &Input, strength: i32) -> Option<Breach> {
        let unsafe_brake = state.believed.is_none() && self.safe_state == SafeState::Coast;
        if unsafe_brake && strength > 0 {
            return Some(Breach::NotSafe);
        }
        let most = self.brake.max((state.hand_brake >> FINER).saturating_add(1));
        let known = state.ever_armed || state.fault;
        if !known || strength > most.saturating_add(ROUNDING) {
            return Some(Breach::Brake);
        }
        self.current(state, input, strength, self.brake_amp)
    }

    /// Half as much again as the limit, for a second, while anything is still commanded: the
    /// fold-back would have been at nothing after a fifth of that.
    fn current(
        &self,
        state: &mut MonitorState,
        input: &Input,
        size: i32,
        most_amp: i32,
    ) -> Option<Breach> {
        let over = input.current.is_some_and(|amp| amp.to_bits().saturating_abs() > most_amp);
        state.over_ticks =
            if over && size > ROUNDING { state.over_ticks.saturating_add(1) } else { 0 };
        (state.over_ticks > self.second_ticks).then_some(Breach::OverCurrent)
    }

    /// Holding the place at neutral is no driving: it has no way of its own.
    fn may_be_resting(&self, state: &MonitorState, size: i32) -> bool {
        let most = self.rest_authority.saturating_add(ROUNDING);
        self.rest_authority > 0 && state.neutral_ticks > 0 && size <= most
    }

    fn remember(&self, state: &mut MonitorState, command: Command) {
        let duty = command.duty().to_bits();
        let resting = self.may_be_resting(state, duty.saturating_abs());
        let drives = matches!(command, Command::Drive { .. }) && !resting;
        if drives && duty != 0 {
            state.way = if duty > 0 { 1 } else { -1 };
        }
        if !matches!(command, Command::Brake { .. }) {
            state.hand_brake = 0;
        }
        state.undriven_ticks = if drives { 0 } else { state.undriven_ticks.saturating_add(1) };
        (state.drove, state.before) = (drives, duty);
    }
}
