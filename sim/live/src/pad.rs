//! A game pad, where the feature `gamepad` is on and one is plugged in: the right trigger drives, the left
//! one brakes and reverses; or the left stick.
//!
//! [`Pads`] knows what pads have said and needs no hardware; [`Pad`] hears the system's.

use std::collections::BTreeMap;

/// What a pad says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Said {
    /// It is there.
    Plugged,
    /// It is gone.
    Unplugged,
    /// The right trigger, 0 to 1.
    Right(f32),
    /// The left trigger, 0 to 1.
    Left(f32),
    /// The left stick, up positive, -1 to 1.
    Stick(f32),
}

/// Where one pad's triggers and stick are.
#[derive(Clone, Copy, Debug, Default)]
struct Hold {
    right: f32,
    left: f32,
    stick: f32,
}

impl Hold {
    fn throttle(self) -> f64 {
        let triggers = self.right - self.left;
        f64::from(if triggers.abs() > self.stick.abs() { triggers } else { self.stick })
    }
}

/// The pads that are plugged in.
#[derive(Clone, Debug, Default)]
pub struct Pads {
    plugged: BTreeMap<usize, Hold>,
}

impl Pads {
    /// Hears what pad number `pad` says. One that speaks is there.
    pub fn take(&mut self, pad: usize, said: Said) {
        if said == Said::Unplugged {
            self.plugged.remove(&pad);
            return;
        }
        let hold = self.plugged.entry(pad).or_default();
        match said {
            // Plugged in again it is at rest until it says otherwise.
            Said::Plugged => *hold = Hold::default(),
            Said::Right(value) => hold.right = value,
            Said::Left(value) => hold.left = value,
            Said::Stick(value) => hold.stick = value,
            Said::Unplugged => {}
        }
    }

    /// Where the throttle is, -1 to 1, by the pad that is farthest from rest; `None` without a pad, also once it
    /// is unplugged.
    pub fn throttle(&self) -> Option<f64> {
        self.plugged.values().map(|hold| hold.throttle()).max_by(|a, b| a.abs().total_cmp(&b.abs()))
    }
}

/// The system's pads.
#[derive(Default)]
pub struct Pad {
    #[cfg(feature = "gamepad")]
    system: Option<gilrs::Gilrs>,
    pads: Pads,
}

#[cfg(feature = "gamepad")]
impl Pad {
    /// Looks for pads; without any, or where the system has none to offer, there is just nothing to read.
    pub fn new() -> Self {
        let system = gilrs::Gilrs::new().ok();
        let mut pads = Pads::default();
        let there = system.iter().flat_map(|system| system.gamepads());
        there.filter(|(_, pad)| pad.is_connected()).for_each(|(id, _)| {
            pads.take(id.into(), Said::Plugged);
        });
        Self { system, pads }
    }

    /// Hears what they said since; as [`Pads::throttle`].
    pub fn read(&mut self) -> Option<f64> {
        while let Some(event) = self.system.as_mut().and_then(gilrs::Gilrs::next_event) {
            if let Some(said) = heard(event.event) {
                self.pads.take(event.id.into(), said);
            }
        }
        self.pads.throttle()
    }
}

#[cfg(feature = "gamepad")]
fn heard(event: gilrs::EventType) -> Option<Said> {
    use gilrs::{Axis, Button, EventType};
    match event {
        EventType::Connected => Some(Said::Plugged),
        EventType::Disconnected => Some(Said::Unplugged),
        EventType::ButtonChanged(Button::RightTrigger2, value, _) => Some(Said::Right(value)),
        EventType::ButtonChanged(Button::LeftTrigger2, value, _) => Some(Said::Left(value)),
        EventType::AxisChanged(Axis::LeftStickY, value, _) => Some(Said::Stick(value)),
        _ => None,
    }
}

#[cfg(not(feature = "gamepad"))]
impl Pad {
    /// There is none.
    pub fn new() -> Self {
        Self::default()
    }

    /// Nothing.
    pub fn read(&mut self) -> Option<f64> {
        self.pads.throttle()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn triggers_and_stick_are_one_throttle_until_the_pad_is_gone() {
        let mut pads = Pads::default();
        assert_eq!(pads.throttle(), None);
        pads.take(3, Said::Plugged);
        assert_eq!(pads.throttle(), Some(0.0));
        for (said, throttle) in [
            (Said::Right(0.75), 0.75),
            (Said::Stick(-0.5), 0.75),
            (Said::Left(0.5), -0.5),
            (Said::Right(0.0), -0.5),
            (Said::Left(1.0), -1.0),
            (Said::Left(0.0), -0.5),
        ] {
            pads.take(3, said);
            assert_eq!(pads.throttle(), Some(throttle), "{said:?}");
        }
        // Of two pads the one that is moved counts, and the other one when that is gone.
        pads.take(7, Said::Right(0.9_f32));
        assert!(pads.throttle().is_some_and(|throttle| throttle > 0.8));
        pads.take(7, Said::Unplugged);
        assert_eq!(pads.throttle(), Some(-0.5));
        pads.take(3, Said::Unplugged);
        assert_eq!(pads.throttle(), None);
        // Unplugged at full throttle and plugged in again, it is at rest.
        pads.take(3, Said::Right(1.0));
        pads.take(3, Said::Unplugged);
        pads.take(3, Said::Plugged);
        assert_eq!(pads.throttle(), Some(0.0));
    }
}
