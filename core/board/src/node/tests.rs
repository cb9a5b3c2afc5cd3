//! Every way in which a board must not drive.

use std::vec::Vec;

use easeoff_core::{HoldSettings, Microseconds, RestSettings, Speed, Volt};

use super::*;

const ALL: Sensed = Sensed { voltage: true, speed: true, current: false, temperature: false };

fn facts() -> BoardFacts {
    BoardFacts {
        rate: TickRate::new(1_000).unwrap(),
        wired: ALL,
        pwm_most: 3_124,
        fast_pwm: true,
        watchdog_restart: false,
    }
}

fn page(tune: &Settings) -> [u8; blob::MOST_BYTES] {
    let mut page = [0xff; blob::MOST_BYTES];
    blob::write(tune, &mut page).unwrap();
    page
}

fn input(pulse_us: f32) -> Input {
    Input {
        pulse: Microseconds::new(pulse_us),
        speed: Some(Speed::ZERO),
        voltage: Volt::new(11.5),
        ..Input::default()
    }
}

fn run(node: &mut Node, ticks: u32, input: Input) {
    for _ in 0..ticks {
        node.tick(&input);
    }
}

/// Rests at neutral, then pulls the trigger; whether anything but coasting came of it.
fn drives(node: &mut Node, change: impl Fn(Input) -> Input) -> bool {
    let mut drove = false;
    for (pulse_us, ticks) in [(1_500.0, 800), (1_900.0, 400), (1_500.0, 400)] {
        for _ in 0..ticks {
            drove |= node.tick(&change(input(pulse_us))) != Command::Coast;
        }
    }
    drove
}

#[test]
fn a_sound_board_drives_and_is_ready() {
    let mut node = Node::boot(&page(&Settings::default()), &facts());
    assert!(drives(&mut node, |input| input));
    assert_eq!((node.status(), node.status_led()), (Status::Ready, true));
    let frames: Vec<Frame> = (0..3).map(|_| node.frame()).collect();
    assert_eq!(frames.iter().map(|frame| frame.sequence).collect::<Vec<_>>(), [0, 1, 2]);
    assert_eq!((frames[0].tick, frames[0].status), (1_600, 0));
    assert_eq!(frames[0].voltage, Volt::new(11.5));
}

#[test]
fn a_page_that_is_no_whole_tune_never_drives() {
    let good = page(&Settings::default());
    let length = blob::write(&Settings::default(), &mut [0; blob::MOST_BYTES]).unwrap();
    let halts = |page: &[u8], due: Status| {
        let mut node = Node::boot(page, &facts());
        assert_eq!(node.status(), due);
        assert!(!drives(&mut node, |input| input));
        assert_eq!((node.status(), node.frame().status), (due, due.code()));
        assert!(
            (0..6_000).any(|_| {
                node.tick(&input(1_500.0));
                !node.status_led()
            }),
            "the status LED goes dark"
        );
    };
    halts(&[0xff; 4_096], Status::NoTune);
    halts(&[0; 4_096], Status::NoTune);
    halts(&[], Status::DamagedTune);
    // Torn while it was written: the rest of the page is erased, or still holds something older.
    for end in 4..length {
        let mut torn = good;
        torn[end..].fill(0xff);
        let same = torn[..length] == good[..length];
        let mut older = good;
        older[end..].iter_mut().for_each(|byte| *byte = byte.wrapping_add(1));
        if !same {
            let status = Node::boot(&torn, &facts()).status();
            assert!(
                matches!(status, Status::DamagedTune | Status::NewerTune),
                "torn at {end}: {status:?}"
            );
        }
        halts(&older, Node::boot(&older, &facts()).status());
        assert_ne!(Node::boot(&older, &facts()).status(), Status::NoSignal, "torn at {end}");
    }
    for bit in 0..8 * length {
        let mut flipped = good;
        flipped[bit / 8] ^= 1 << (bit % 8);
        assert_ne!(Node::boot(&flipped, &facts()).status(), Status::NoSignal, "bit {bit}");
    }
}

#[test]
fn a_newer_tune_and_a_refused_one_are_told_apart() {
    let mut newer = page(&Settings::default());
    let length = blob::write(&Settings::default(), &mut [0; blob::MOST_BYTES]).unwrap();
    newer[4..6].copy_from_slice(&(blob::VERSION + 1).to_le_bytes());
    // Sealed anew by the same checksum as in the core's own test.
    let sum = crc32(&newer[..length - 4]);
    newer[length - 4..length].copy_from_slice(&sum.to_le_bytes());
    assert_eq!(Node::boot(&newer, &facts()).status(), Status::NewerTune);
    let mut wild = Settings::default();
    wild.drag.onset_ms = f32::NAN;
    assert_eq!(Node::boot(&page(&wild), &facts()).status(), Status::RefusedTune);
}

/// CRC-32/ISO-HDLC bit by bit, from its published parameters.
fn crc32(bytes: &[u8]) -> u32 {
    let step = |sum: u32| if sum & 1 == 1 { (sum >> 1) ^ 0xedb8_8320 } else { sum >> 1 };
    let byte = |sum: u32, byte: &u8| (0..8).fold(sum ^ u32::from(*byte), |sum, _| step(sum));
    !bytes.iter().fold(u32::MAX, byte)
}

#[test]
fn a_channel_without_resolution_never_drives() {
    let facts = BoardFacts { pwm_most: 0, ..facts() };
    let mut node = Node::boot(&page(&Settings::default()), &facts);
    assert!(!drives(&mut node, |input| input));
    assert_eq!(node.status(), Status::NoResolution);
}

#[test]
fn a_tune_that_needs_what_is_not_wired_never_drives() {
    let mut needing: Vec<(Settings, Sensed)> = Vec::new();
    let mut with = |change: fn(&mut Settings), wired| {
        let mut tune = Settings::default();
        change(&mut tune);
        needing.push((tune, wired));
    };
    with(|_| {}, Sensed { voltage: false, ..ALL });
    with(|tune| tune.hold = Some(HoldSettings::new(30.0)), Sensed { speed: false, ..ALL });
    with(|tune| tune.rest = Some(RestSettings::default()), Sensed { speed: false, ..ALL });
    with(|tune| tune.limits.drive_a = Some(30.0), ALL);
    with(|tune| tune.limits.brake_a = Some(30.0), ALL);
    with(|tune| tune.drag.law = DragLaw::Current { full_a: 9.0 }, Sensed { speed: false, ..ALL });
    for (tune, wired) in needing {
        let mut node = Node::boot(&page(&tune), &BoardFacts { wired, ..facts() });
        assert_eq!(node.status(), Status::SensorNotWired, "{tune:?} {wired:?}");
        assert!(!drives(&mut node, |input| input));
        let every = Sensed { voltage: true, speed: true, current: true, temperature: true };
        let mut node = Node::boot(&page(&tune), &BoardFacts { wired: every, ..facts() });
        let all = |input| Input {
            current: easeoff_core::Amp::new(1.0),
            temperature: easeoff_core::Celsius::new(25.0),
            ..input
        };
        assert!(drives(&mut node, all), "{tune:?}");
    }
}

#[test]
fn a_silent_sensor_keeps_it_from_arming_and_is_told_while_driving() {
    let tune = page(&Settings::default());
    let silences: [fn(Input) -> Input; 2] =
        [|input| Input { voltage: None, ..input }, |input| Input { speed: None, ..input }];
    for silence in silences {
        let mut node = Node::boot(&tune, &facts());
        assert!(!drives(&mut node, silence));
        assert_eq!(node.status(), Status::SensorSilent);
        // It answers: after neutral it drives. It falls silent while driving: that is told, not obeyed.
        assert!(drives(&mut node, |input| input));
        assert_ne!(node.tick(&silence(input(1_500.0))), Command::Coast);
        assert_eq!(node.status(), Status::SensorSilent);
    }
}

#[test]
fn a_bridge_that_failed_is_asked_nothing_more() {
    let mut node = Node::boot(&page(&Settings::default()), &facts());
    assert!(drives(&mut node, |input| input));
    node.bridge_failed();
    assert!(!drives(&mut node, |input| input));
    assert_eq!(node.status(), Status::BridgeFailed);
}

#[test]
fn signal_neutral_and_a_restart_are_told() {
    let tune = page(&Settings::default());
    let mut node = Node::boot(&tune, &BoardFacts { watchdog_restart: true, ..facts() });
    node.tick(&Input { pulse: None, ..input(0.0) });
    assert_eq!(node.status(), Status::NoSignal);
    run(&mut node, 100, input(1_900.0));
    assert_eq!(node.status(), Status::WatchdogRestart);
    assert!(drives(&mut node, |input| input));
    assert_eq!(node.status(), Status::Ready);
    run(&mut node, 300, Input { pulse: None, ..input(0.0) });
    assert_eq!(node.status(), Status::NoSignal);
    run(&mut node, 100, input(1_900.0));
    assert_eq!(node.status(), Status::WaitsForNeutral);
    run(&mut node, 800, input(1_500.0));
    run(&mut node, 900, Input { voltage: Volt::new(9.3), ..input(1_900.0) });
    assert_eq!(node.status(), Status::PackLow);
}

#[test]
fn the_brake_goes_through_the_law_for_a_fast_pwm() {
    let tune = page(&Settings::default());
    let brake = |fast_pwm| {
        let mut node = Node::boot(&tune, &BoardFacts { fast_pwm, ..facts() });
        drives(&mut node, |input| Input { speed: Speed::new(30.0), ..input });
        run(&mut node, 400, input(1_900.0));
        let rolling = |_| node.tick(&Input { speed: Speed::new(30.0), ..input(1_500.0) }).braking();
        (0..150).map(rolling).last().unwrap().to_f32()
    };
    let (slow, fast) = (brake(false), brake(true));
    // e / V is 5.73 V / 11.5 V.
    assert!(slow > 0.1 && slow < 0.9, "{slow}");
    assert!((fast - (1.0 - (1.0 - slow) * 0.498)).abs() < 2e-3, "{slow} {fast}");
}
