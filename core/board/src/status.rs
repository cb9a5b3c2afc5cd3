//! What a board has to say about itself: one table for status LED, telemetry, C header and book.

/// What the user has to do. The status LED shows this and no more: the cause is in telemetry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Remedy {
    /// Nothing.
    Nothing,
    /// Flash a tune or a firmware again.
    FlashAgain,
    /// Check the wiring.
    CheckWiring,
    /// Transmitter on, throttle at neutral.
    SetThrottle,
    /// Charge the pack, or let the parts cool.
    LetRecover,
    /// Read telemetry, find out why, cycle power.
    FindOutWhy,
}

impl Remedy {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Nothing,
        Self::FlashAgain,
        Self::CheckWiring,
        Self::SetThrottle,
        Self::LetRecover,
        Self::FindOutWhy,
    ];

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::FlashAgain => "flash again",
            Self::CheckWiring => "check the wiring",
            Self::SetThrottle => "set the throttle",
            Self::LetRecover => "let it recover",
            Self::FindOutWhy => "find out why",
        }
    }
}

/// What there is to say about a [`Status`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Notice {
    /// Its code in a telemetry frame: a running number whose digits mean nothing; 0 when ready.
    pub code: u8,
    /// The code that firmware sent before those were introduced. No code is in both lists but 0, so a
    /// recorded byte says which list it is from.
    pub former_code: u8,
    /// What the user has to do, in a word.
    pub remedy: Remedy,
    /// What is the case.
    pub words: &'static str,
    /// What the user has to do, at length.
    pub to_do: &'static str,
}

/// The enum and its table from one list: the words are the variant's documentation, too.
macro_rules! statuses {
    ($($(#[$attribute:meta])* $name:ident: $code:literal, was $former_code:literal, $remedy:ident,
        $words:literal, $to_do:literal;)*) => {
        /// The most urgent thing a board has to say.
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
        pub enum Status {
            $(#[doc = $words] $(#[$attribute])* $name,)*
        }

        impl Status {
            /// All of them, in the order of their codes.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];

            /// What there is to say about it.
            pub const fn notice(self) -> Notice {
                match self {
                    $(Self::$name => Notice {
                        code: $code,
                        former_code: $former_code,
                        remedy: Remedy::$remedy,
                        words: $words,
                        to_do: $to_do,
                    },)*
                }
            }
        }
    };
}

statuses! {
    #[default]
    Ready: 0, was 0, Nothing,
        "ready", "";
    NoTune: 101, was 11, FlashAgain,
        "no tune is stored", "flash one";
    NewerTune: 102, was 12, FlashAgain,
        "the tune is newer than the firmware",
        "flash a newer firmware, or export the tune with the older program";
    DamagedTune: 103, was 13, FlashAgain,
        "the tune is cut off or damaged", "flash it again";
    RefusedTune: 104, was 14, FlashAgain,
        "the tune's values are refused",
        "`easeoff import` it, or export it again; the program says which";
    SensorNotWired: 105, was 15, FlashAgain,
        "the tune needs a sensor that is not wired",
        "flash a tune without what needs it, or wire it and flash a firmware that reads it";
    NoResolution: 106, was 21, FlashAgain,
        "a PWM channel's largest duty is 0",
        "the timer is set up wrongly: look at `PWM_HZ` or `PWM_KHZ`, build and flash again";
    BridgeFailed: 107, was 22, CheckWiring,
        "the bridge's pins failed", "look at wiring and HAL; cycle power";
    WatchdogRestart: 108, was 23, FindOutWhy,
        "restarted by the watchdog",
        "the loop hung: find out why; it arms again when the throttle rests at neutral";
    SensorSilent: 109, was 24, CheckWiring,
        "a wired sensor does not answer",
        "pack connected? divider? nothing arms until it answers";
    NoSignal: 110, was 31, SetThrottle,
        "no throttle signal", "transmitter on? then receiver and wire";
    WaitsForNeutral: 111, was 32, SetThrottle,
        "waits for the throttle at neutral", "let it rest half a second";
    Fault: 112, was 33, FindOutWhy,
        "the monitor refused a command",
        "read telemetry, cycle power, report it to the project";
    Stalled: 113, was 34, SetThrottle,
        "the wheels were stationary too long with power applied", "let go of the throttle";
    PackLow: 114, was 41, LetRecover,
        "pack low", "charge";
    Hot: 115, was 42, LetRecover,
        "hot", "wait";
}

impl Status {
    /// Its code in a frame.
    pub const fn code(self) -> u8 {
        self.notice().code
    }

    /// What the user has to do.
    pub const fn remedy(self) -> Remedy {
        self.notice().remedy
    }

    /// The status of a recorded code, also of one from the former list; `None` for a code of another
    /// firmware.
    ///
    /// ```
    /// use easeoff_board::Status;
    /// let status = Status::from_code(Status::PackLow.code());
    /// assert_eq!(status, Some(Status::PackLow));
    /// assert_eq!(Status::from_code(99), None);
    /// ```
    pub fn from_code(code: u8) -> Option<Self> {
        let known = |status: &&Self| {
            let notice = status.notice();
            notice.code == code || notice.former_code == code
        };
        Self::ALL.iter().find(known).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;
    use std::vec::Vec;

    /// What firmware sent before, from the page that listed it then.
    const FORMER: [u8; 15] = [11, 12, 13, 14, 15, 21, 22, 23, 24, 31, 32, 33, 34, 41, 42];

    #[test]
    fn a_code_says_by_itself_which_list_it_is_from() {
        let but_ready = &Status::ALL[1..];
        let codes: Vec<u8> = but_ready.iter().map(|status| status.code()).collect();
        let formers: Vec<u8> = but_ready.iter().map(|it| it.notice().former_code).collect();
        assert_eq!(formers, FORMER);
        let distinct: HashSet<u8> = codes.iter().chain(&formers).copied().collect();
        assert_eq!(distinct.len(), 2 * but_ready.len());
        assert!(!distinct.contains(&0));
        assert!(codes.windows(2).all(|pair| pair[1] == pair[0] + 1), "plain running numbers");
        assert_eq!(
            Status::default().code(),
            0,
            "nothing to say is 0, as in a frame without a board"
        );
    }

    #[test]
    fn either_code_of_each_is_read() {
        for status in Status::ALL {
            let Notice { code, former_code, .. } = status.notice();
            assert_eq!(Status::from_code(code), Some(*status));
            assert_eq!(Status::from_code(former_code), Some(*status));
        }
        let known = (0..=u8::MAX).filter(|code| Status::from_code(*code).is_some()).count();
        assert_eq!(known, 2 * Status::ALL.len() - 1);
    }

    #[test]
    fn every_remedy_is_that_of_a_status_and_all_but_ready_say_what_to_do() {
        let needed: HashSet<Remedy> = Status::ALL.iter().map(|status| status.remedy()).collect();
        assert_eq!(needed, HashSet::from(Remedy::ALL));
        for status in Status::ALL {
            let Notice { remedy, words, to_do, .. } = status.notice();
            assert_eq!(remedy == Remedy::Nothing, *status == Status::Ready);
            assert_eq!(to_do.is_empty(), *status == Status::Ready);
            assert!(!words.is_empty() && !words.contains('|') && !to_do.contains('|'));
        }
    }
}
