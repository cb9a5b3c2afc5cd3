//! One tick as the twin sees it.

use super::Twin;
use easeoff_core::{Event, Events, Mode};

/// What the twin makes of one tick; the fields as in the core's trace and command.
#[derive(Clone, Debug, Default)]
pub(crate) struct Seen {
    pub(crate) pulse: Option<f64>,
    pub(crate) bad_samples: u16,
    pub(crate) demand: f64,
    pub(crate) curved: f64,
    pub(crate) slewed: f64,
    pub(crate) mode: Mode,
    pub(crate) speed: Option<f64>,
    pub(crate) abruptness: f64,
    pub(crate) brake_level: f64,
    pub(crate) brake_asked: f64,
    pub(crate) added: f64,
    pub(crate) duty_asked: f64,
    pub(crate) pack: f64,
    pub(crate) heat: f64,
    pub(crate) drive_cap: f64,
    pub(crate) brake_cap: f64,
    pub(crate) stalled: bool,
    pub(crate) events: Events,
    pub(crate) duty: f64,
    pub(crate) braking: f64,
}

impl Twin {
    /// After the stages have stepped.
    pub(super) fn seen(
        &self,
        [demand, curved]: [f64; 2],
        pulse: Option<f64>,
        speed: Option<f64>,
        estimated: bool,
        duty_asked: f64,
    ) -> Seen {
        let mut events = Events::default();
        let (drag, hold, limits) = (&self.drag, &self.hold, &self.limits);
        events.note(Event::BadPulse, self.pulse.bad);
        events.note(Event::SignalLost, self.modes.mode == Mode::Lost);
        events.note(Event::DragUnsensed, drag.unsensed);
        events.note(Event::SoftEndWithoutSpeed, drag.soft_without_speed);
        events.note(Event::HoldWithoutSpeed, hold.blind);
        events.note(Event::HoldAtAuthority, hold.at_authority);
        events.note(Event::PackLow, limits.drove && limits.pack < 1.0);
        events.note(Event::Hot, limits.drove && limits.heat < 1.0);
        events.note(Event::DriveCurrent, limits.drive_limited);
        events.note(Event::BrakeCurrent, limits.brake_limited);
        events.note(Event::SpeedEstimated, estimated);
        events.note(Event::Bogged, hold.give_way.bogged);
        events.note(Event::Stalled, limits.stalled);
        events.note(Event::HoldingAtRest, self.rest.pushes);
        Seen {
            pulse,
            bad_samples: self.pulse.bad_samples,
            demand,
            curved,
            slewed: self.slewed,
            mode: self.modes.mode,
            speed,
            abruptness: self.ease.abruptness,
            brake_level: drag.level,
            brake_asked: drag.share,
            added: hold.added,
            duty_asked,
            pack: limits.pack,
            heat: limits.heat,
            drive_cap: limits.drive_cap,
            brake_cap: limits.brake_cap,
            stalled: limits.stalled,
            events,
            duty: limits.duty,
            braking: limits.braking,
        }
    }
}
