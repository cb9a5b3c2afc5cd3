//! What a board has to say about itself: one code for lamp, telemetry and docs.

/// The most urgent thing a board has to say. The code's tens are a group, its ones a number in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Status {
    /// Armed, nothing to report.
    #[default]
    Ready,
    /// No tune is stored.
    NoTune,
    /// The tune is of a later version than this firmware knows.
    NewerTune,
    /// The tune is cut off or damaged.
    DamagedTune,
    /// The tune is whole, but its values are refused.
    RefusedTune,
    /// The tune needs a sensor that the board does not have.
    SensorNotWired,
    /// A PWM channel has a largest duty of 0.
    NoResolution,
    /// A pin or channel of the bridge failed.
    BridgeFailed,
    /// The watchdog restarted the board.
    WatchdogRestart,
    /// A sensor that is wired does not answer.
    SensorSilent,
    /// No throttle signal.
    NoSignal,
    /// The throttle has not yet rested at neutral.
    WaitsForNeutral,
    /// The monitor refused a command.
    Fault,
    /// The wheels stood too long under power.
    Stalled,
    /// Pack voltage reduces the duty.
    PackLow,
    /// Temperature reduces the duty.
    Hot,
}

impl Status {
    /// All of them with their codes, and the words for them.
    pub const ALL: [(Self, u8, &'static str); 16] = [
        (Self::Ready, 0, "ready"),
        (Self::NoTune, 11, "no tune is stored"),
        (Self::NewerTune, 12, "the tune is newer than the firmware"),
        (Self::DamagedTune, 13, "the tune is cut off or damaged"),
        (Self::RefusedTune, 14, "the tune's values are refused"),
        (Self::SensorNotWired, 15, "the tune needs a sensor that is not wired"),
        (Self::NoResolution, 21, "a PWM channel's largest duty is 0"),
        (Self::BridgeFailed, 22, "the bridge's pins failed"),
        (Self::WatchdogRestart, 23, "restarted by the watchdog"),
        (Self::SensorSilent, 24, "a wired sensor does not answer"),
        (Self::NoSignal, 31, "no throttle signal"),
        (Self::WaitsForNeutral, 32, "waits for the throttle at neutral"),
        (Self::Fault, 33, "the monitor refused a command"),
        (Self::Stalled, 34, "the wheels stood too long under power"),
        (Self::PackLow, 41, "pack low"),
        (Self::Hot, 42, "hot"),
    ];

    /// The code: the group in the tens, the number in the ones; 0 when ready.
    pub fn code(self) -> u8 {
        Self::ALL.iter().find(|(one, ..)| *one == self).map_or(0, |(_, code, _)| *code)
    }

    /// The words for a code; `None` for a code of another firmware.
    ///
    /// ```
    /// use easeoff_board::Status;
    /// assert_eq!(Status::words(Status::PackLow.code()), Some("pack low"));
    /// assert_eq!(Status::words(99), None);
    /// ```
    pub fn words(code: u8) -> Option<&'static str> {
        Self::ALL.iter().find(|(_, known, _)| *known == code).map(|(.., words)| *words)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    /// The book's table has every code, with the same words.
    #[test]
    fn the_book_lists_them_all() {
        let book = include_str!("../../../docs/src/on-a-board.md");
        let listed =
            |first: &str, words: &str| book.contains(&std::format!("\n| {first} | {words} |"));
        for (_, code, words) in Status::ALL.into_iter().skip(1) {
            assert!(listed(&std::format!("{code}"), words), "{code}, {words}");
        }
        assert!(listed("lit", "ready"));
    }

    /// A lamp blinks group and number; more than five of either are not counted at a glance.
    #[test]
    fn codes_differ_and_can_be_counted() {
        let codes: HashSet<u8> = Status::ALL.iter().map(|(_, code, _)| *code).collect();
        assert_eq!(codes.len(), Status::ALL.len());
        for (status, code, words) in Status::ALL {
            assert_eq!(status.code(), code);
            assert_eq!(Status::words(code), Some(words));
            assert!(
                code == 0 || ((1..=5).contains(&(code / 10)) && (1..=5).contains(&(code % 10)))
            );
        }
    }
}
