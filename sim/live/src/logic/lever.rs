//! The hand on the throttle: one lever that several devices move, and that springs back by itself.

/// While a key is held the lever moves toward its end at this rate \[1/s\]: full in 0.6 s.
pub const KEY_PER_S: f64 = 1.0 / 0.6;
/// Let go, it springs back at this rate \[1/s\]: from full in 0.1 s.
pub const BACK_PER_S: f64 = 10.0;
/// One notch of the mouse wheel.
pub const NOTCH: f64 = 0.05;
/// A pad's stick within this of its middle is at rest.
const STICK_REST: f64 = 0.08;

/// What the devices say in one frame.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Hands {
    /// Where a finger or the mouse holds the lever, -1 to 1.
    pub held: Option<f64>,
    /// A screen reader sets it here, until it is let go.
    pub set: Option<f64>,
    /// The forward key is down.
    pub forward: bool,
    /// The backward key is down.
    pub backward: bool,
    /// Notches of the mouse wheel, forward positive.
    pub notches: f64,
    /// The key that lets the wheel's setting go.
    pub let_go: bool,
    /// A game pad's trigger or stick, -1 to 1.
    pub pad: Option<f64>,
}

/// The lever.
#[derive(Clone, Copy, Debug, Default)]
pub struct Lever {
    position: f64,
    /// Where the mouse wheel has put it.
    set: f64,
}

impl Lever {
    /// Where it is, -1 to 1.
    pub fn position(&self) -> f64 {
        self.position
    }

    /// Moves on by `dt_s`. What is held by hand comes before keys, keys before the pad, the pad before the
    /// wheel's setting.
    pub fn step(&mut self, hands: &Hands, dt_s: f64) {
        let dt_s = if dt_s.is_finite() { dt_s.clamp(0.0, 1.0) } else { 0.0 };
        let finite = |value: f64| if value.is_finite() { value.clamp(-1.0, 1.0) } else { 0.0 };
        self.set = finite(hands.set.unwrap_or(self.set) + NOTCH * hands.notches);
        let pad = hands.pad.map(finite).filter(|pad| pad.abs() > STICK_REST);
        let keys = f64::from(u8::from(hands.forward)) - f64::from(u8::from(hands.backward));
        if hands.let_go || hands.held.is_some() || keys != 0.0 || pad.is_some() {
            self.set = 0.0;
        }
        let toward = |goal: f64, per_s: f64| {
            self.position + (goal - self.position).clamp(-per_s * dt_s, per_s * dt_s)
        };
        self.position = if let Some(held) = hands.held {
            finite(held)
        } else if keys != 0.0 {
            // From the other side it springs back first.
            let back = self.position * keys < 0.0;
            toward(keys, if back { BACK_PER_S } else { KEY_PER_S })
        } else if let Some(pad) = pad {
            (pad.abs() - STICK_REST) / (1.0 - STICK_REST) * pad.signum()
        } else {
            toward(self.set, BACK_PER_S)
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(lever: &mut Lever, hands: Hands, seconds: f64) -> f64 {
        for _ in 0..(seconds * 100.0).round() as u32 {
            lever.step(&hands, 0.01);
        }
        lever.position()
    }

    #[test]
    fn keys_ramp_as_stated_and_the_lever_springs_back() {
        let mut lever = Lever::default();
        let forward = Hands { forward: true, ..Hands::default() };
        assert!((after(&mut lever, forward, 0.3) - 0.5).abs() < 1e-9);
        assert!((after(&mut lever, forward, 0.5) - 1.0).abs() < 1e-9);
        assert!(after(&mut lever, Hands::default(), 0.05) > 0.45);
        assert_eq!(after(&mut lever, Hands::default(), 0.06), 0.0);
        let both = Hands { backward: true, ..forward };
        assert_eq!(after(&mut lever, both, 1.0), 0.0);
    }

    #[test]
    fn the_wheel_stays_until_let_go_and_a_hand_comes_first() {
        let mut lever = Lever::default();
        lever.step(&Hands { notches: 6.0, ..Hands::default() }, 0.01);
        assert!((after(&mut lever, Hands::default(), 1.0) - 0.3).abs() < 1e-9);
        let held = Hands { held: Some(-0.7), pad: Some(1.0), forward: true, ..Hands::default() };
        assert_eq!(after(&mut lever, held, 0.01), -0.7);
        assert_eq!(after(&mut lever, Hands::default(), 1.0), 0.0, "the hand let the wheel go");
        lever.step(&Hands { notches: 6.0, ..Hands::default() }, 0.01);
        let let_go = Hands { let_go: true, ..Hands::default() };
        assert_eq!(after(&mut lever, let_go, 0.2), 0.0);
    }

    #[test]
    fn no_device_can_move_it_beyond_its_ends_or_to_no_number() {
        let mut lever = Lever::default();
        for value in [f64::NAN, f64::INFINITY, -9.0, 9.0] {
            let hands = Hands { notches: value, pad: Some(value), ..Hands::default() };
            lever.step(&hands, value);
            assert!(lever.position().abs() <= 1.0, "{value}");
            lever.step(&Hands { held: Some(value), ..hands }, 0.01);
            assert!(lever.position().abs() <= 1.0, "{value}");
        }
        lever.step(&Hands { pad: Some(0.05), ..Hands::default() }, 1.0);
        assert_eq!(lever.position(), 0.0, "a stick at rest");
    }
}
