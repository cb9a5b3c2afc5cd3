//! The stories: a drive, and every way in which the board must not drive.

use easeoff_board::{Status, status_led};
use easeoff_core::{Command, Mode, Settings, blob};

use super::Failure;
use super::emulator::Seen;
use super::story::{Part, Story};

/// Where the RP2040's firmware has its tune.
const PAGE: u32 = 0x101f_f000;

/// 11.45 V behind the firmware's divider.
const COUNTS: u16 = 2_900;
const VOLTS: f64 = 2_900.0 / 4_095.0 * 3.3 * 4.9;

const fn part(ms: u32, pulse_us: f64) -> Part {
    Part { ms, pulse_us: Some(pulse_us), rad_s: 0.0, counts: COUNTS }
}

/// Rests at neutral, then pulls.
const PULLS: [Part; 2] = [part(700, 1_500.0), part(300, 1_900.0)];

/// All stories.
///
/// # Errors
/// When a tune cannot be written.
pub(super) fn all() -> Result<Vec<Story>, Failure> {
    let mut page = [0xff; blob::MOST_BYTES];
    let length = blob::write(&Settings::default(), &mut page)?;
    let mut torn = page;
    torn[60..].fill(0xff);
    let wild = |change: fn(&mut Settings)| -> Result<Vec<u8>, Failure> {
        let mut tune = Settings::default();
        change(&mut tune);
        let mut page = vec![0xff; blob::MOST_BYTES];
        blob::write(&tune, &mut page)?;
        Ok(page)
    };
    let base = || Story {
        name: "",
        flash: Vec::new(),
        parts: PULLS.to_vec(),
        restarted: false,
        hangs_at_ms: None,
        holds: drives,
    };
    let stuck =
        |name, page: Vec<u8>, holds| Story { name, flash: vec![(PAGE, page)], holds, ..base() };
    println!("a tune takes {length} bytes");
    Ok(vec![
        Story { name: "a drive", parts: drive(), ..base() },
        Story {
            // Two rounds of the status LED's rhythm.
            parts: vec![part(700, 1_500.0), part(2_900, 1_900.0)],
            ..stuck("a torn page", torn.to_vec(), torn_page)
        },
        stuck("an erased page", vec![0xff; 4_096], erased_page),
        stuck("a tune out of range", wild(|tune| tune.drag.onset_ms = -1.0)?, refused_tune),
        stuck(
            "a tune with current limits",
            wild(|tune| tune.limits.drive_a = Some(20.0))?,
            not_wired,
        ),
        Story {
            name: "no pack voltage",
            parts: PULLS.map(|part| Part { counts: 0, ..part }).to_vec(),
            holds: silent,
            ..base()
        },
        Story {
            name: "restarted by the watchdog",
            parts: vec![part(200, 1_900.0)],
            restarted: true,
            holds: restarted,
            ..base()
        },
        Story {
            name: "a loop that hangs",
            parts: vec![part(100, 1_500.0)],
            hangs_at_ms: Some(50),
            holds: bites,
            ..base()
        },
    ])
}

/// Arms, pulls, lets go while the wheel turns, and loses the signal.
fn drive() -> Vec<Part> {
    let turning = |ms, pulse_us| Part { rad_s: 30.0, ..part(ms, pulse_us) };
    vec![
        Part { pulse_us: None, ..part(200, 0.0) },
        part(800, 1_500.0),
        turning(700, 1_900.0),
        turning(200, 1_500.0),
        Part { pulse_us: None, ..turning(300, 0.0) },
    ]
}

/// Says what was wrong unless `holds`.
fn must(holds: bool, what: impl FnOnce() -> String) -> Result<(), String> {
    if holds { Ok(()) } else { Err(what()) }
}

fn drives(seen: &Seen) -> Result<(), String> {
    let Some((_, last)) = seen.frames.last() else { return Err("no telemetry".into()) };
    for pair in seen.frames.windows(2) {
        let (before, after) = (pair[0].1, pair[1].1);
        must(after.sequence == before.sequence.wrapping_add(1), || "a frame is missing".into())?;
        must(after.tick == before.tick + 10, || {
            format!("ticks {} to {}", before.tick, after.tick)
        })?;
    }
    must(last.tick > 2_180 && last.tick <= 2_200, || format!("{} ticks in 2.2 s", last.tick))?;
    must(seen.fed >= 2_190 && seen.bitten == 0, || {
        format!("watchdog fed {}, bitten {}", seen.fed, seen.bitten)
    })?;
    let at = |ms: usize| {
        let frame = seen.frames.iter().rev().find(|(end, _)| *end < ms).map(|(_, frame)| *frame);
        frame.ok_or(format!("no frame before {ms} ms"))
    };
    for (ms, status) in [
        (190, Status::NoSignal),
        (600, Status::WaitsForNeutral),
        (990, Status::Ready),
        (1_690, Status::Ready),
        (1_890, Status::Ready),
        (2_190, Status::NoSignal),
    ] {
        let found = at(ms)?.status;
        must(found == status.code(), || format!("status {found} at {ms} ms, not {status:?}"))?;
    }
    for (ms, pulse_us, speed) in
        [(990, 1_500.0, 0.0), (1_690, 1_900.0, 30.0), (1_890, 1_500.0, 30.0)]
    {
        let frame = at(ms)?;
        let pulse = frame.trace.pulse.map(|width| f64::from(width.to_f32()));
        must(pulse.is_some_and(|found| (found - pulse_us).abs() <= 0.5), || {
            format!("{pulse:?} us at {ms} ms")
        })?;
        let found = frame.trace.speed.map(|speed| f64::from(speed.to_f32()));
        must(found.is_some_and(|found| (found - speed).abs() <= 0.01), || {
            format!("{found:?} rad/s at {ms} ms")
        })?;
        let volts = frame.voltage.map(|voltage| f64::from(voltage.to_f32()));
        must(volts.is_some_and(|found| (found - VOLTS).abs() < 0.001), || {
            format!("{volts:?} V at {ms} ms")
        })?;
    }
    must(at(1_890)?.trace.mode == Mode::Neutral, || "lets go, but is not neutral".into())?;
    must(at(2_190)?.trace.mode == Mode::Lost, || "the signal is gone, but not lost".into())?;
    must(seen.pins[1_000..].iter().all(|pins| pins.enabled), || {
        "the bridge is not enabled".into()
    })?;
    pins_follow(seen)
}

/// The bridge's channels give what telemetry says it was told, and nothing drives before the throttle is
/// pulled.
fn pins_follow(seen: &Seen) -> Result<(), String> {
    for (ms, frame) in &seen.frames {
        // The tick that the frame tells of: its bytes take some milliseconds.
        let near = seen.pins.iter().take(*ms + 1).skip(ms.saturating_sub(12));
        let due = |pins: &super::emulator::Pins| {
            let most = (pins.top + 1) as f64;
            let counts = |share: f64| (share * most).round() as u64;
            let duty = f64::from(frame.command.duty().to_f32());
            match frame.command {
                Command::Coast => (0, 0),
                Command::Drive { .. } => (counts(duty.max(0.0)), counts((-duty).max(0.0))),
                Command::Brake { strength } => {
                    let share = counts(strength.to_f32().into());
                    (share, share)
                }
            }
        };
        let reported = near.clone().any(|pins| due(pins) == (pins.forward, pins.backward));
        must(reported, || format!("at {ms} ms the pins never did {:?}", frame.command))?;
    }
    let driving = |ms: usize| seen.pins[ms].forward != seen.pins[ms].backward;
    let first = (0..seen.pins.len()).find(|ms| driving(*ms));
    must(first.is_some_and(|ms| (1_000..1_080).contains(&ms)), || {
        format!("drives from {first:?} ms")
    })?;
    // Beyond the release of the throttle and its slew nothing drives again.
    let last = (0..seen.pins.len()).rfind(|ms| driving(*ms));
    must(last.is_some_and(|ms| (1_700..1_850).contains(&ms)), || {
        format!("drives until {last:?} ms")
    })
}

/// Nothing ever reaches the bridge, telemetry says why.
fn never(seen: &Seen, status: Status) -> Result<(), String> {
    let off = seen.pins.iter().all(|pins| (pins.forward, pins.backward) == (0, 0));
    must(off, || "the bridge was switched on".into())?;
    let Some((_, last)) = seen.frames.last() else { return Err("no telemetry".into()) };
    must(last.status == status.code(), || format!("status {}, not {status:?}", last.status))?;
    must(seen.bitten == 0, || "the watchdog bit".into())
}

fn torn_page(seen: &Seen) -> Result<(), String> {
    never(seen, Status::DamagedTune)?;
    // The status LED against its own description, from the first tick on; power-on takes some milliseconds.
    let lit: Vec<bool> = seen.pins.iter().map(|pins| pins.status_led).collect();
    let start = lit.iter().position(|lit| *lit).ok_or("the status LED stays dark")?;
    let due = |ms| status_led(Status::DamagedTune.remedy(), ms);
    let agree = (0_u32..).zip(&lit[start..]).filter(|(ms, lit)| due(*ms) == **lit);
    let (agree, all) = (agree.count(), lit.len() - start);
    must(agree + 20 >= all && all > 3_350, || {
        format!("the status LED agrees in {agree} of {all} ms")
    })
}

fn erased_page(seen: &Seen) -> Result<(), String> {
    never(seen, Status::NoTune)
}

fn refused_tune(seen: &Seen) -> Result<(), String> {
    never(seen, Status::RefusedTune)
}

fn not_wired(seen: &Seen) -> Result<(), String> {
    never(seen, Status::SensorNotWired)
}

fn silent(seen: &Seen) -> Result<(), String> {
    never(seen, Status::SensorSilent)
}

fn restarted(seen: &Seen) -> Result<(), String> {
    never(seen, Status::WatchdogRestart)
}

fn bites(seen: &Seen) -> Result<(), String> {
    must(seen.bitten > 0, || "the watchdog did not bite".into())
}
