//! Invariant 15: the monitor catches each seeded fault of a controller in the tick in which the
//! command first leaves what a healthy controller could do.
//!
//! A real controller runs through a story; a named fault spoils its command; a monitor of its own
//! sees what it would see on the board. When a command is wrong is told by plain arithmetic on the
//! story, not by the monitor's code.

mod bench;
mod corrupted;
mod envelope;
mod mistuned;

use bench::{at, plain};
use easeoff_core::{
    Breach, Command, Duty, Event, HoldSettings, Input, Microseconds, Mode, Monitor, MonitorState,
    SafeState, Settings, Speed, State, Strength, TickRate,
};

#[test]
fn every_seeded_fault_is_caught_in_its_tick() {
    let cases: Vec<bench::Case> = corrupted::cases().into_iter().chain(mistuned::cases()).collect();
    let mut failures = Vec::new();
    for case in &cases {
        if let Err(what) = case.run() {
            failures.push(format!("{}: {what}", case.name));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    assert!(cases.len() >= 30, "{} faults", cases.len());
    for (breach, words) in Breach::ALL {
        assert!(cases.iter().any(|case| case.expected == breach), "no fault {words}");
    }
    println!("{} faults caught, each in its tick", cases.len());
}

/// Every bit that makes the duty larger than half the throttle allows, and the sign.
#[test]
fn a_flipped_bit_of_the_duty_is_caught() {
    let mut caught = 0;
    for bit in 0..32 {
        let half = 1 << 15;
        let spoilt = Duty::from_bits(half ^ (1 << bit));
        // Half a thousandth is the envelope's rounding.
        let larger = spoilt.to_bits() > half + 31;
        let turned = spoilt < Duty::ZERO;
        let mut rig = bench::Rig::new(&plain());
        rig.drive(&[at(600, 1_500.0), at(1_000, 1_760.0)]);
        assert_eq!(rig.healthy.duty().to_bits(), half);
        let verdict = rig.step(Some(Command::Drive { duty: spoilt }));
        let expected =
            if turned { Some(Breach::WrongWay) } else { larger.then_some(Breach::TooMuch) };
        assert_eq!(verdict.breach, expected, "bit {bit}");
        if expected.is_some() {
            assert_eq!(verdict.command, Command::Coast, "bit {bit}");
            caught += 1;
        }
    }
    // All but the five lowest and the one that was set.
    assert_eq!(caught, 26);
}

/// In the safe state meanwhile, and not a tick sooner or later than the arming time.
#[test]
fn after_a_breach_nothing_drives_until_neutral_for_the_arming_time() {
    let tune = plain();
    let rate = TickRate::new(1_000).unwrap();
    let monitor = Monitor::of(&tune, rate);
    for (safe_state, braked) in [(SafeState::Drag, true), (SafeState::Coast, false)] {
        let monitor = if safe_state == tune.safe_state {
            monitor
        } else {
            Monitor::of(&Settings { safe_state, ..tune }, rate)
        };
        let mut state = MonitorState::default();
        let mut step = |us: f32, command: Command| {
            let input = Input { pulse: Microseconds::new(us), ..Input::default() };
            let verdict = monitor.step(&mut state, &input, command);
            (verdict, state.fault())
        };
        let creep = Command::Drive { duty: Duty::from_bits(100) };
        for _ in 0..600 {
            step(1_500.0, Command::Coast);
        }
        let (verdict, _) = step(1_600.0, creep);
        assert_eq!((verdict.command, verdict.breach), (creep, None), "armed, and asked for");
        let (verdict, fault) = step(1_600.0, Command::Drive { duty: Duty::HIGHEST });
        assert!(verdict.breach.is_some() && verdict.command == Command::Coast && fault);
        // However harmless: not with the throttle held, not at neutral before its time.
        for _ in 0..3_000 {
            let (verdict, fault) = step(1_600.0, creep);
            assert!(fault && verdict.command == Command::Coast);
        }
        let brake = Command::Brake { strength: Strength::FULL };
        for tick in 1..500 {
            let (verdict, fault) = step(1_500.0, brake);
            assert_eq!(fault, tick < 499, "tick {tick}");
            assert_eq!(verdict.command == brake, braked || !fault, "{safe_state:?}, tick {tick}");
        }
        let (verdict, fault) = step(1_600.0, creep);
        assert!(!fault && verdict.command == creep, "cleared");
        // Neutral seen before a breach does not count after it.
        for _ in 0..600 {
            step(1_500.0, Command::Coast);
        }
        let (verdict, _) = step(1_500.0, creep);
        assert_eq!(verdict.breach, Some(Breach::WrongWay));
        let faults = (0..600).take_while(|_| step(1_500.0, Command::Coast).1).count();
        assert!((498..=500).contains(&faults), "clears after {faults} ticks at neutral");
    }
}

/// A tune changed under a running controller: the hold of the first drives far beyond what the
/// second allows. The controller's own monitor stops it, with the safe state and until neutral.
#[test]
fn a_controller_that_is_refused_takes_the_safe_state_and_arms_again() {
    for safe_state in [SafeState::Drag, SafeState::Coast] {
        let rate = TickRate::new(1_000).unwrap();
        let hold = |authority| Some(HoldSettings { authority, ..HoldSettings::new(30.0) });
        let strong = Settings { hold: hold(1.0), safe_state, ..plain() };
        let weak = Settings { hold: hold(0.1), safe_state, ..plain() };
        let (strong, weak) = (strong.prepare(rate).unwrap(), weak.prepare(rate).unwrap());
        let mut state = State::default();
        let mut input = Input { speed: Speed::new(0.0), ..Input::default() };
        let mut legs = |controller: &easeoff_core::Controller, ticks: u32, us: f32| {
            input.pulse = Microseconds::new(us);
            (0..ticks).map(|_| controller.step(&mut state, &input)).collect::<Vec<_>>()
        };
        legs(&strong, 600, 1_500.0);
        let driven = legs(&strong, 1_000, 1_600.0);
        assert!(driven[999].command.duty().to_f32() > 0.9);

        let refused = legs(&weak, 1, 1_600.0)[0];
        assert_eq!(refused.trace.breach, Some(Breach::TooMuch));
        assert_eq!(refused.command, Command::Coast);
        assert!(refused.trace.events.contains(Event::Fault));

        let held = legs(&weak, 2_000, 1_600.0);
        let drag = safe_state == SafeState::Drag;
        for output in &held {
            assert_eq!(output.trace.mode, Mode::Fault);
            assert_eq!(output.trace.breach, None);
            assert_eq!(output.command.braking() > Strength::ZERO, drag);
            assert_eq!(output.command.duty(), Duty::ZERO);
        }
        let full = if drag { 1.0 } else { 0.0 };
        assert_eq!(held[1_999].command.braking().to_f32(), full);

        let cleared = legs(&weak, 600, 1_500.0);
        let modes: Vec<Mode> = cleared.iter().map(|output| output.trace.mode).collect();
        let first = modes.iter().position(|mode| *mode != Mode::Fault).unwrap();
        assert!((499..=501).contains(&first), "{first} ticks");
        assert!(modes[first..].iter().all(|mode| *mode == Mode::Neutral));
        let again = legs(&weak, 400, 1_600.0);
        assert!(again[399].command.duty() > Duty::ZERO && again[399].trace.breach.is_none());
    }
}
