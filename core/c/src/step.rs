//! One tick.

use easeoff_core::{
    Amp, Breach, Celsius, Command, Event, Input, Microseconds, Mode, Output, Speed, State, Volt,
};

use crate::pointer::{fit, get, put};
use crate::status::easeoff_status;
use crate::stored::{Run, easeoff_controller, easeoff_state, exclusive, make, shared};

/// What the board measured since the last tick. All zero: nothing. A value counts only if its `has_` is
/// not 0; one that is no number, or 32,768 and more, counts as missing.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct easeoff_input {
    /// The pulse that ended since the last tick, in us.
    pub pulse_us: f32,
    /// Wheel speed in rad/s, forward positive.
    pub speed_rad_s: f32,
    /// Motor current averaged over the tick in A, positive where it drives forward.
    pub current_a: f32,
    /// Bus voltage in V.
    pub voltage_v: f32,
    /// The hottest temperature measured, in degrees C.
    pub temperature_c: f32,
    /// Whether a pulse ended.
    pub has_pulse: u8,
    /// Whether there is a speed.
    pub has_speed: u8,
    /// Whether there is a current.
    pub has_current: u8,
    /// Whether there is a voltage.
    pub has_voltage: u8,
    /// Whether there is a temperature.
    pub has_temperature: u8,
}

impl From<easeoff_input> for Input {
    fn from(input: easeoff_input) -> Self {
        let easeoff_input {
            pulse_us,
            speed_rad_s,
            current_a,
            voltage_v,
            temperature_c,
            has_pulse,
            has_speed,
            has_current,
            has_voltage,
            has_temperature,
        } = input;
        let given = |has: u8, value: f32| (has != 0).then_some(value);
        Self {
            pulse: given(has_pulse, pulse_us).and_then(Microseconds::new),
            speed: given(has_speed, speed_rad_s).and_then(Speed::new),
            current: given(has_current, current_a).and_then(Amp::new),
            voltage: given(has_voltage, voltage_v).and_then(Volt::new),
            temperature: given(has_temperature, temperature_c).and_then(Celsius::new),
        }
    }
}

/// The core's enum as C's, and every variant as its own.
macro_rules! same {
    ($(#[$doc:meta])* $from:ident as $to:ident { $($variant:ident),* $(,)? }) => {
        impl From<$from> for $to {
            fn from(value: $from) -> Self {
                match value {
                    $($from::$variant => Self::$variant,)*
                }
            }
        }
    };
}

/// What the bridge is told.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_command {
    /// All switches open: the motor turns freely.
    Coast = 0,
    /// Put this share of the bus voltage on the motor, -1 to 1.
    Drive,
    /// Short the windings for this share of each period, 0 to 1.
    Brake,
}

/// What the controller is doing.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_mode {
    /// The throttle has not yet rested at neutral for the arming time. Coasts.
    Disarmed = 0,
    /// Throttle neutral: the drag brake comes in as set.
    Neutral,
    /// Driving forward.
    Forward,
    /// Driving backward.
    Reverse,
    /// Braking to a stop, because the driver asks for the other direction.
    Stopping,
    /// No signal: the safe state, until neutral has been seen for the arming time.
    Lost,
    /// The monitor refused a command: as LOST, whatever the signal.
    Fault,
}

same!(Mode as easeoff_mode { Disarmed, Neutral, Forward, Reverse, Stopping, Lost, Fault });

/// What the monitor found wrong with a command, which is then the safe state's.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_breach {
    /// Nothing.
    None = 0,
    /// Drives without a signal, or without neutral seen since.
    Unarmed,
    /// Brakes without a signal where it should coast.
    NotSafe,
    /// Drives against the throttle, or with the throttle let go.
    WrongWay,
    /// More duty than throttle, hold and reverse limit allow together.
    TooMuch,
    /// The duty grows faster than the demand may.
    TooQuick,
    /// Changes direction without the stop that the reverse policy asks for.
    NoStop,
    /// Drives from an empty pack.
    PackEmpty,
    /// Drives a motor that is too hot.
    TooHot,
    /// Far too much current for a second.
    OverCurrent,
    /// Brakes harder than strength or driver ask for, or before it was ever armed.
    Brake,
}

same!(Breach as easeoff_breach {
    Unarmed,
    NotSafe,
    WrongWay,
    TooMuch,
    TooQuick,
    NoStop,
    PackEmpty,
    TooHot,
    OverCurrent,
    Brake,
});

/// Bits in `events`.
#[repr(u16)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_event {
    /// A pulse was refused, or a jump waits to be confirmed.
    BadPulse = 1,
    /// The signal was lost while armed.
    SignalLost = 1 << 1,
    /// The drag brake's current law has neither speed nor current.
    DragUnsensed = 1 << 2,
    /// The speed loop has no speed.
    HoldWithoutSpeed = 1 << 3,
    /// The speed loop adds all it may and the speed is still low.
    HoldAtAuthority = 1 << 4,
    /// Pack voltage reduces the duty.
    PackLow = 1 << 5,
    /// Temperature reduces the duty.
    Hot = 1 << 6,
    /// The driving current limit reduces the duty.
    DriveCurrent = 1 << 7,
    /// The braking current limit reduces the brake.
    BrakeCurrent = 1 << 8,
    /// The speed in use is an estimate.
    SpeedEstimated = 1 << 9,
    /// The speed loop has given way to a load.
    Bogged = 1 << 10,
    /// The wheels stood too long under power: no duty until the throttle is let go.
    Stalled = 1 << 11,
    /// The rig is being held where it came to rest.
    HoldingAtRest = 1 << 12,
    /// The monitor refused a command: the safe state is on.
    Fault = 1 << 13,
    /// The drag brake's soft end has no speed: it is left out.
    SoftEndWithoutSpeed = 1 << 14,
}

same!(Event as easeoff_event {
    BadPulse,
    SignalLost,
    DragUnsensed,
    HoldWithoutSpeed,
    HoldAtAuthority,
    PackLow,
    Hot,
    DriveCurrent,
    BrakeCurrent,
    SpeedEstimated,
    Bogged,
    Stalled,
    HoldingAtRest,
    Fault,
    SoftEndWithoutSpeed,
});

/// What one tick came to.
#[repr(C)]
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct easeoff_output {
    /// The command's share times 65,536, exactly; 0 where it coasts.
    pub raw: i32,
    /// The same as a float: -1 to 1 where it drives, 0 to 1 where it brakes.
    pub share: f32,
    /// Bits of easeoff_event: what happened.
    pub events: u16,
    /// For the bridge.
    pub command: easeoff_command,
    /// What the controller is doing.
    pub mode: easeoff_mode,
    /// What the monitor found wrong.
    pub breach: easeoff_breach,
}

impl From<&Output> for easeoff_output {
    fn from(output: &Output) -> Self {
        let (command, raw, share) = match output.command {
            Command::Coast => (easeoff_command::Coast, 0, 0.0),
            Command::Drive { duty } => (easeoff_command::Drive, duty.to_bits(), duty.to_f32()),
            Command::Brake { strength } => {
                (easeoff_command::Brake, strength.to_bits(), strength.to_f32())
            }
        };
        let trace = &output.trace;
        Self {
            raw,
            share,
            events: trace.events.bits(),
            command,
            mode: trace.mode.into(),
            breach: trace.breach.map_or(easeoff_breach::None, Into::into),
        }
    }
}

/// Puts a state as at power-on. To be called before the first easeoff_step.
///
/// # Safety
/// The pointer is null or points to what it says.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_start(state: *mut easeoff_state) -> easeoff_status {
    let run = Run { state: State::default(), input: Input::default(), output: Output::default() };
    // SAFETY: the caller's promise.
    unsafe { make(state, run) }.into()
}

/// One tick, to be called at the rate that the controller was prepared for. Bounded work. Unless the
/// answer is EASEOFF_STATUS_OK, the tick did not take place and the output is to coast; without a usable
/// output nothing is written, and the caller has to see to it that nothing drives.
///
/// # Safety
/// Pointers are null or point to what they say, each to something else.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_step(
    controller: *const easeoff_controller,
    state: *mut easeoff_state,
    input: *const easeoff_input,
    output: *mut easeoff_output,
) -> easeoff_status {
    let done = || {
        fit(output)?;
        // SAFETY: the caller's promise; any bytes make this input.
        let commanded = match unsafe { tick(controller, state, input) } {
            Ok(run) => (&run.output).into(),
            Err(status) => {
                // SAFETY: the caller's promise.
                unsafe { put(output, (&Output::default()).into()) }?;
                return Err(status);
            }
        };
        // SAFETY: the caller's promise.
        unsafe { put(output, commanded) }
    };
    done().into()
}

/// # Safety
/// That of [`easeoff_step`].
unsafe fn tick<'a>(
    controller: *const easeoff_controller,
    state: *mut easeoff_state,
    input: *const easeoff_input,
) -> Result<&'a Run, easeoff_status> {
    // SAFETY: the caller's promise.
    let (controller, input) = unsafe { (shared(controller)?, get(input)?) };
    // SAFETY: the caller's promise.
    let run = unsafe { exclusive(state) }?;
    run.input = input.into();
    run.output = controller.step(&mut run.state, &run.input);
    Ok(run)
}

/// Writes what the last easeoff_step told the bridge, with the brake's share made for a bridge whose PWM is
/// fast beside the motor's L/R, as 16 kHz is; without it such a bridge brakes far less than it should. Needs
/// speed and voltage; without them the share is that of the step. Bounded work.
///
/// # Safety
/// Pointers are null or point to what they say, each to something else.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn easeoff_fast_bridge(
    controller: *const easeoff_controller,
    state: *const easeoff_state,
    output: *mut easeoff_output,
) -> easeoff_status {
    let done = || {
        fit(output)?;
        // SAFETY: the caller's promise.
        let (controller, run) = unsafe { (shared(controller)?, shared(state)?) };
        let command = controller.for_fast_bridge(&run.output, run.input.voltage);
        // SAFETY: the caller's promise.
        unsafe { put(output, (&Output { command, ..run.output }).into()) }
    };
    done().into()
}

#[cfg(test)]
mod tests {
    use easeoff_core::Events;

    use super::*;

    #[test]
    fn an_event_has_the_bit_that_the_core_gives_it() {
        for (event, words) in Event::ALL {
            let mut events = Events::default();
            events.note(event, true);
            assert_eq!(easeoff_event::from(event) as u16, events.bits(), "{words}");
        }
    }

    #[test]
    fn modes_and_breaches_count_as_in_the_core() {
        for (number, (mode, words)) in Mode::ALL.into_iter().enumerate() {
            assert_eq!(easeoff_mode::from(mode) as usize, number, "{words}");
        }
        for (number, (breach, words)) in Breach::ALL.into_iter().enumerate() {
            assert_eq!(easeoff_breach::from(breach) as usize, number + 1, "{words}");
        }
    }
}
