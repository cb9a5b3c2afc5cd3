//! Both bridges against mocks, which check what each pin is told, and against fakes that share one
//! log, which check the order across pins.

use std::cell::{Cell, RefCell};
use std::convert::Infallible;
use std::io::ErrorKind;

use easeoff_core::hal::{BridgeError, EnableBridge, NoPin, TwoInputBridge};
use easeoff_core::{Command, Duty, Strength};
use embedded_hal::digital::{self, OutputPin};
use embedded_hal::pwm::{self, SetDutyCycle};
use embedded_hal_mock::eh1::MockError;
use embedded_hal_mock::eh1::digital::{
    Mock as MockPin, State as Level, Transaction as PinTransaction,
};
use embedded_hal_mock::eh1::pwm::{Mock as MockPwm, Transaction as PwmTransaction};

fn drive(value: f32) -> Command {
    Command::Drive { duty: Duty::new(value).unwrap() }
}

fn brake(value: f32) -> Command {
    Command::Brake { strength: Strength::new(value).unwrap() }
}

fn error() -> MockError {
    MockError::Io(ErrorKind::NotConnected)
}

/// A channel that is asked for its resolution once at the start and before every setting.
fn channel(max: u16, settings: &[u16]) -> MockPwm {
    let mut list = std::vec![PwmTransaction::max_duty_cycle(max)];
    for counts in settings {
        list.push(PwmTransaction::max_duty_cycle(max));
        list.push(PwmTransaction::set_duty_cycle(*counts));
    }
    MockPwm::new(&list)
}

fn pin(levels: &[Level]) -> MockPin {
    let list: Vec<_> = levels.iter().map(|level| PinTransaction::set(*level)).collect();
    MockPin::new(&list)
}

#[test]
fn a_channel_without_resolution_is_refused() {
    for (first, second) in [(0, None), (1_000, Some(0))] {
        let mut forward = MockPwm::new(&[PwmTransaction::max_duty_cycle(first)]);
        let asked: Vec<_> = second.map(PwmTransaction::max_duty_cycle).into_iter().collect();
        let (mut backward, mut enable) = (MockPwm::new(&asked), pin(&[]));
        let bridge = TwoInputBridge::new(forward.clone(), backward.clone(), enable.clone(), 1);
        assert_eq!(bridge.err(), Some(BridgeError::NoResolution));
        forward.done();
        backward.done();
        enable.done();
    }
    let (mut forward, mut backward, mut enable) = (pin(&[]), pin(&[]), channel(0, &[]));
    let bridge = EnableBridge::new(forward.clone(), backward.clone(), enable.clone(), 1);
    assert_eq!(bridge.err(), Some(BridgeError::NoResolution));
    forward.done();
    backward.done();
    enable.done();
}

#[test]
fn two_inputs_follow_the_table_at_every_resolution() {
    for (max, quarter, most) in [(1, 0, 1), (1_000, 250, 700), (65_535, 16_384, 45_874)] {
        // At the start, then coast, a quarter forward, coast, full backward, brake, shut down.
        let mut forward = channel(max, &[0, 0, quarter, 0, 0, most, 0]);
        let mut backward = channel(max, &[0, 0, 0, 0, max, most, 0]);
        let mut enable = pin(&[Level::High, Level::Low]);
        let mut bridge =
            TwoInputBridge::new(forward.clone(), backward.clone(), enable.clone(), 1).unwrap();
        for command in [Command::Coast, drive(0.25), drive(0.0), drive(-1.0), brake(0.7)] {
            bridge.apply(command).unwrap();
        }
        bridge.shut_down().unwrap();
        assert_eq!(bridge.apply(drive(1.0)), Err(BridgeError::ShutDown));
        forward.done();
        backward.done();
        enable.done();
    }
}

#[test]
fn enable_follows_the_table_at_every_resolution() {
    use Level::{High, Low};
    for (max, quarter, most) in [(1, 0, 1), (1_000, 250, 700), (65_535, 16_384, 45_874)] {
        // The inputs change three times, each time with enable at 0 before.
        let mut enable = channel(max, &[0, 0, 0, quarter, 0, 0, max, 0, most, most]);
        let mut forward = pin(&[High, Low, Low]);
        let mut backward = pin(&[Low, High, Low]);
        let mut bridge =
            EnableBridge::new(forward.clone(), backward.clone(), enable.clone(), 1).unwrap();
        for command in
            [Command::Coast, drive(0.25), drive(0.0), drive(-1.0), brake(0.7), brake(0.7)]
        {
            bridge.apply(command).unwrap();
        }
        forward.done();
        backward.done();
        enable.done();
    }
}

#[test]
fn the_error_says_which_input_failed() {
    let failing = |max| {
        MockPwm::new(&[
            PwmTransaction::max_duty_cycle(max),
            PwmTransaction::max_duty_cycle(max),
            PwmTransaction::set_duty_cycle(0).with_error(error()),
        ])
    };
    let off = || channel(9, &[0]);
    let cases = [
        (failing(9), off(), pin(&[]), BridgeError::Forward(error())),
        (off(), failing(9), pin(&[]), BridgeError::Backward(error())),
        (
            off(),
            off(),
            MockPin::new(&[PinTransaction::set(Level::High).with_error(error())]),
            BridgeError::Enable(error()),
        ),
    ];
    for (mut forward, mut backward, mut enable, expected) in cases {
        let bridge = TwoInputBridge::new(forward.clone(), backward.clone(), enable.clone(), 1);
        assert_eq!(bridge.err(), Some(expected));
        forward.done();
        backward.done();
        enable.done();
    }
}

#[test]
fn a_failed_direction_input_leaves_the_bridge_open_and_is_set_again() {
    use Level::{High, Low};
    let mut forward = pin(&[High, Low, High]);
    let mut backward = MockPin::new(&[
        PinTransaction::set(Low),
        PinTransaction::set(High).with_error(error()),
        PinTransaction::set(Low),
    ]);
    let mut enable = channel(100, &[0, 0, 50, 0, 0, 50]);
    let mut bridge =
        EnableBridge::new(forward.clone(), backward.clone(), enable.clone(), 0).unwrap();
    bridge.apply(drive(0.5)).unwrap();
    assert_eq!(bridge.apply(drive(-0.5)), Err(BridgeError::Backward(error())));
    bridge.apply(drive(0.5)).unwrap();
    forward.done();
    backward.done();
    enable.done();
}

#[test]
fn switching_off_goes_on_after_an_input_failed() {
    let failing = || {
        let asked = PwmTransaction::max_duty_cycle(9);
        let fails = PwmTransaction::set_duty_cycle(0).with_error(error());
        let start = [asked.clone(), asked.clone(), PwmTransaction::set_duty_cycle(0)];
        MockPwm::new(&[&start[..], &[asked.clone(), fails.clone()], &[asked, fails]].concat())
    };
    let (mut forward, mut backward) = (failing(), failing());
    let mut enable = MockPin::new(&[
        PinTransaction::set(Level::High),
        PinTransaction::set(Level::Low).with_error(error()),
    ]);
    let mut bridge =
        TwoInputBridge::new(forward.clone(), backward.clone(), enable.clone(), 0).unwrap();
    assert_eq!(bridge.apply(Command::Coast), Err(BridgeError::Forward(error())));
    assert_eq!(bridge.shut_down(), Err(BridgeError::Enable(error())));
    forward.done();
    backward.done();
    enable.done();
}

#[test]
fn a_tick_whose_pins_failed_is_no_dead_tick() {
    let set = |counts| [PwmTransaction::max_duty_cycle(9), PwmTransaction::set_duty_cycle(counts)];
    let failed =
        [PwmTransaction::max_duty_cycle(9), PwmTransaction::set_duty_cycle(0).with_error(error())];
    let start = [PwmTransaction::max_duty_cycle(9)];
    let list = [&start[..], &set(0), &set(9), &failed, &set(0), &set(0)].concat();
    let (mut forward, mut backward) = (MockPwm::new(&list), channel(9, &[0, 0, 0, 0, 9]));
    let mut bridge = TwoInputBridge::new(forward.clone(), backward.clone(), NoPin, 1).unwrap();
    bridge.apply(drive(1.0)).unwrap();
    assert_eq!(bridge.apply(drive(-1.0)), Err(BridgeError::Forward(error())));
    bridge.apply(drive(-1.0)).unwrap();
    bridge.apply(drive(-1.0)).unwrap();
    forward.done();
    backward.done();

    let list = [&start[..], &set(0), &set(0), &set(9), &failed, &set(0), &set(0), &set(9)].concat();
    let (mut forward, mut backward) =
        (pin(&[Level::High, Level::Low]), pin(&[Level::Low, Level::High]));
    let mut enable = MockPwm::new(&list);
    let mut bridge =
        EnableBridge::new(forward.clone(), backward.clone(), enable.clone(), 1).unwrap();
    bridge.apply(drive(1.0)).unwrap();
    assert_eq!(bridge.apply(drive(-1.0)), Err(BridgeError::Enable(error())));
    bridge.apply(drive(-1.0)).unwrap();
    bridge.apply(drive(-1.0)).unwrap();
    forward.done();
    backward.done();
    enable.done();
}

// Fakes: the order across pins, and a resolution that changes.

struct Fake<'a> {
    name: &'static str,
    max: &'a Cell<u16>,
    log: &'a RefCell<Vec<(&'static str, u16)>>,
}

impl pwm::ErrorType for Fake<'_> {
    type Error = Infallible;
}

impl SetDutyCycle for Fake<'_> {
    fn max_duty_cycle(&self) -> u16 {
        self.max.get()
    }

    fn set_duty_cycle(&mut self, counts: u16) -> Result<(), Infallible> {
        assert!(counts <= self.max.get(), "{} {counts} of {}", self.name, self.max.get());
        self.log.borrow_mut().push((self.name, counts));
        Ok(())
    }
}

impl digital::ErrorType for Fake<'_> {
    type Error = Infallible;
}

impl OutputPin for Fake<'_> {
    fn set_low(&mut self) -> Result<(), Infallible> {
        self.log.borrow_mut().push((self.name, 0));
        Ok(())
    }

    fn set_high(&mut self) -> Result<(), Infallible> {
        self.log.borrow_mut().push((self.name, 1));
        Ok(())
    }
}

#[test]
fn two_inputs_switch_off_before_on_and_disable_first() {
    let (max, log) = (Cell::new(100), RefCell::default());
    let fake = |name| Fake { name, max: &max, log: &log };
    let mut bridge = TwoInputBridge::new(fake("f"), fake("b"), fake("e"), 0).unwrap();
    assert_eq!(log.take(), [("f", 0), ("b", 0), ("e", 1)]);
    bridge.apply(drive(0.5)).unwrap();
    assert_eq!(log.take(), [("b", 0), ("f", 50)]);
    bridge.apply(drive(-0.5)).unwrap();
    assert_eq!(log.take(), [("f", 0), ("b", 50)]);
    bridge.shut_down().unwrap();
    assert_eq!(log.take(), [("e", 0), ("f", 0), ("b", 0)]);
    bridge.start().unwrap();
    assert_eq!(log.take(), [("f", 0), ("b", 0), ("e", 1)]);
    bridge.apply(brake(0.5)).unwrap();
    assert_eq!(log.take(), [("f", 50), ("b", 50)]);
}

#[test]
fn direction_inputs_change_only_while_enable_is_off() {
    let (max, log) = (Cell::new(100), RefCell::default());
    let fake = |name| Fake { name, max: &max, log: &log };
    let mut bridge = EnableBridge::new(fake("f"), fake("b"), fake("e"), 1).unwrap();
    assert_eq!(log.take(), [("e", 0)]);
    bridge.apply(drive(0.5)).unwrap();
    assert_eq!(log.take(), [("e", 0), ("f", 1), ("b", 0), ("e", 50)]);
    bridge.apply(drive(0.6)).unwrap();
    assert_eq!(log.take(), [("e", 60)]);
    bridge.apply(brake(0.3)).unwrap();
    assert_eq!(log.take(), [("e", 0), ("f", 0), ("b", 0), ("e", 30)]);
    bridge.apply(drive(-0.5)).unwrap();
    assert_eq!(log.take(), [("e", 0)], "the dead tick");
    bridge.apply(drive(-0.5)).unwrap();
    assert_eq!(log.take(), [("e", 0), ("f", 0), ("b", 1), ("e", 50)]);
}

#[test]
fn a_resolution_that_changes_is_followed_and_none_at_all_is_told() {
    let (max, log) = (Cell::new(65_535), RefCell::default());
    let fake = |name| Fake { name, max: &max, log: &log };
    let mut two = TwoInputBridge::new(fake("f"), fake("b"), NoPin, 0).unwrap();
    let mut enable = EnableBridge::new(fake("f"), fake("b"), fake("e"), 0).unwrap();
    log.take();
    // The fake itself refuses counts above its resolution of the moment.
    for now in [65_535, 1, 40_000, 2] {
        max.set(now);
        two.apply(drive(1.0)).unwrap();
        enable.apply(drive(-1.0)).unwrap();
        assert_eq!(log.borrow()[1], ("f", now));
        assert_eq!(log.take().last(), Some(&("e", now)));
    }
    max.set(0);
    assert_eq!(two.apply(brake(1.0)), Err(BridgeError::NoResolution));
    assert_eq!(enable.apply(drive(1.0)), Err(BridgeError::NoResolution));
    two.apply(Command::Coast).unwrap();
    enable.apply(Command::Coast).unwrap();
}

#[test]
fn a_released_bridge_gives_its_pins_back() {
    let (max, log) = (Cell::new(100), RefCell::default());
    let fake = |name| Fake { name, max: &max, log: &log };
    let two = TwoInputBridge::new(fake("f"), fake("b"), fake("e"), 1).unwrap();
    let enable = EnableBridge::new(fake("f"), fake("b"), fake("e"), 1).unwrap();
    for (forward, backward, enable) in [two.release(), enable.release()] {
        assert_eq!((forward.name, backward.name, enable.name), ("f", "b", "e"));
    }
    assert_eq!((NoPin.set_low(), NoPin.set_high()), (Ok(()), Ok(())));
}
