//! Every error says what is wrong and, after it, what to do; no two say the same.

use std::collections::HashSet;
use std::fmt::Display;

use easeoff_core::blob::{BlobError, VERSION};
use easeoff_core::hal::BridgeError;
use easeoff_core::telemetry::FrameError;
use easeoff_core::{CalibrationFault, Microseconds, Settings, TickRate};

fn assert_tell(errors: &[&dyn Display]) {
    let texts: HashSet<String> = errors.iter().map(ToString::to_string).collect();
    assert_eq!(texts.len(), errors.len(), "{texts:?}");
    for text in texts {
        let parts: Vec<&str> = text.split([';', ':', ',']).collect();
        assert!(parts.len() > 1 && parts.iter().all(|part| part.len() > 5), "{text}");
    }
}

#[test]
fn what_cannot_be_read_or_written_says_why() {
    assert_tell(&[
        &BlobError::NotATune,
        &BlobError::Newer { version: 9 },
        &BlobError::Cut,
        &BlobError::Damaged,
        &BlobError::Malformed,
        &BlobError::NoRoom,
        &FrameError::NoRoom,
        &FrameError::Damaged,
        &FrameError::Overlong,
        &FrameError::OtherFormat { format: 9 },
        &FrameError::Malformed,
    ]);
    let newer = BlobError::Newer { version: 9 }.to_string();
    assert!(newer.contains("version 9") && newer.contains(&format!("1 to {VERSION}")), "{newer}");
    let other = FrameError::OtherFormat { format: 9 }.to_string();
    assert!(other.contains("format 9, not 2"), "{other}");
}

#[test]
fn a_refused_calibration_says_why() {
    let us = |width| Microseconds::new(width).unwrap();
    assert_tell(&[
        &CalibrationFault::NoSignal,
        &CalibrationFault::NeverSteady,
        &CalibrationFault::TooLittleTravel { travel: us(12.0) },
        &CalibrationFault::SameSideTwice,
        &CalibrationFault::NeutralMoved { by: us(-7.5) },
        &CalibrationFault::OutOfRange { pulse: us(2_600.0) },
    ]);
    for (fault, part) in [
        (CalibrationFault::TooLittleTravel { travel: us(12.0) }, "12.0 us"),
        (CalibrationFault::NeutralMoved { by: us(-7.5) }, "-7.5 us"),
        (CalibrationFault::OutOfRange { pulse: us(2_600.0) }, "2600.0 us"),
        (CalibrationFault::TimedOut, "30 s"),
    ] {
        assert!(fault.to_string().contains(part), "{fault}");
    }
}

#[test]
fn a_bridge_says_which_of_its_inputs_failed() {
    type Error = BridgeError<u8, u8, u8>;
    let parts = [
        (Error::Forward(71), "forward input failed: 71"),
        (Error::Backward(72), "backward input failed: 72"),
        (Error::Enable(73), "enable input failed: 73"),
        (Error::NoResolution, "largest duty is 0"),
        (Error::ShutDown, "start it first"),
    ];
    for (error, part) in parts {
        assert!(error.to_string().contains(part), "{error}");
    }
}

#[test]
fn settings_that_contradict_each_other_name_the_rule() {
    let mut settings = Settings::default();
    settings.limits.derate_to_v = settings.limits.derate_from_v;
    let errors = settings.prepare(TickRate::new(1_000).unwrap()).unwrap_err();
    let expected =
        "limits.derate_to_v is 3.3; it must lie at least 0.05 V below limits.derate_from_v";
    assert_eq!(errors[0].to_string(), expected);
}
