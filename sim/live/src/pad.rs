//! A game pad, where the feature `gamepad` is on and one is plugged in: the right trigger drives, the left
//! one brakes and reverses; or the left stick.

/// The first pad that says anything.
pub struct Pad {
    #[cfg(feature = "gamepad")]
    pads: Option<gilrs::Gilrs>,
}

#[cfg(feature = "gamepad")]
impl Pad {
    /// Looks for pads; without any, or where the system has none to offer, there is just nothing to read.
    pub fn new() -> Self {
        Self { pads: gilrs::Gilrs::new().ok() }
    }

    /// Where trigger or stick is, -1 to 1; `None` without a pad, also once it is unplugged.
    pub fn read(&mut self) -> Option<f64> {
        use gilrs::{Axis, Button};
        let pads = self.pads.as_mut()?;
        while pads.next_event().is_some() {}
        let (_, pad) = pads.gamepads().find(|(_, pad)| pad.is_connected())?;
        let trigger = |button| pad.button_data(button).map_or(0.0, |data| data.value());
        let triggers = trigger(Button::RightTrigger2) - trigger(Button::LeftTrigger2);
        let stick = pad.value(Axis::LeftStickY);
        Some(f64::from(if triggers.abs() > stick.abs() { triggers } else { stick }))
    }
}

#[cfg(not(feature = "gamepad"))]
impl Pad {
    /// There is none.
    pub fn new() -> Self {
        Self {}
    }

    /// Nothing.
    pub fn read(&mut self) -> Option<f64> {
        None
    }
}

impl Default for Pad {
    fn default() -> Self {
        Self::new()
    }
}
