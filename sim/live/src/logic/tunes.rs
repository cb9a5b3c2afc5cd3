//! Two tunes on the bench, A and B, with every change undoable.

use super::knob::KNOBS;
use super::sheet::Sheet;

/// So many changes can be taken back.
const MOST_UNDO: usize = 200;
/// Changes of the same setting within this time are one \[s\].
const ONE_CHANGE_S: f64 = 0.8;

/// Which of the two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The first.
    A,
    /// The second.
    B,
}

impl Side {
    /// The other one.
    pub fn other(self) -> Self {
        match self {
            Self::A => Self::B,
            Self::B => Self::A,
        }
    }

    /// Its letter.
    pub fn letter(self) -> &'static str {
        match self {
            Self::A => "A",
            Self::B => "B",
        }
    }
}

/// The two tunes and what was done to them. Swapping them is not a change of either.
#[derive(Clone, Debug)]
pub struct Tunes {
    both: [Sheet; 2],
    /// The one that drives.
    pub drives: Side,
    undo: Vec<[Sheet; 2]>,
    redo: Vec<[Sheet; 2]>,
    /// What was last turned, and when.
    turned: Option<(&'static str, f64)>,
}

impl Tunes {
    /// Both the same, A driving.
    pub fn new(sheet: Sheet) -> Self {
        Self { both: [sheet; 2], drives: Side::A, undo: Vec::new(), redo: Vec::new(), turned: None }
    }

    /// One of them.
    pub fn side(&self, side: Side) -> &Sheet {
        &self.both[side as usize]
    }

    /// The one that drives.
    pub fn now(&self) -> &Sheet {
        self.side(self.drives)
    }

    /// Puts `sheet` in the place of the one that drives, the knob with the label `what` having been turned at
    /// `now_s`.
    pub fn change(&mut self, sheet: Sheet, what: &'static str, now_s: f64) {
        let same =
            self.turned.is_some_and(|(before, at_s)| before == what && now_s - at_s < ONE_CHANGE_S);
        if !same {
            self.remember();
        }
        self.turned = Some((what, now_s));
        self.both[self.drives as usize] = sheet;
    }

    /// What was last turned, with its value.
    pub fn turned(&self) -> Option<String> {
        let (label, _) = self.turned?;
        let knob = KNOBS.iter().find(|knob| knob.label == label)?;
        Some(format!("{} {}", knob.label, knob.shown(self.now())))
    }

    /// Makes the other one the same as the one that drives.
    pub fn copy_to_other(&mut self) {
        self.remember();
        self.turned = None;
        self.both[self.drives.other() as usize] = *self.now();
    }

    /// Drives with the other one.
    pub fn swap(&mut self) {
        self.drive(self.drives.other());
    }

    /// Drives with this one.
    pub fn drive(&mut self, side: Side) {
        self.drives = side;
        self.turned = None;
    }

    /// Takes the last change back.
    pub fn undo(&mut self) {
        if let Some(before) = self.undo.pop() {
            self.redo.push(self.both);
            self.both = before;
            self.turned = None;
        }
    }

    /// Makes it again.
    pub fn redo(&mut self) {
        if let Some(after) = self.redo.pop() {
            self.undo.push(self.both);
            self.both = after;
            self.turned = None;
        }
    }

    /// Whether there is something to take back, and something to make again.
    pub fn can(&self) -> [bool; 2] {
        [!self.undo.is_empty(), !self.redo.is_empty()]
    }

    fn remember(&mut self) {
        if self.undo.len() == MOST_UNDO {
            self.undo.remove(0);
        }
        self.undo.push(self.both);
        self.redo.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strength(tunes: &Tunes) -> f32 {
        tunes.now().full.drag.strength
    }

    fn turn(tunes: &mut Tunes, value: f32, now_s: f64) {
        let mut sheet = *tunes.now();
        sheet.full.drag.strength = value;
        tunes.change(sheet, "drag.strength", now_s);
    }

    #[test]
    fn a_pull_on_a_slider_is_one_change_and_comes_back() {
        let mut tunes = Tunes::new(Sheet::from(easeoff_core::Settings::default()));
        let first = strength(&tunes);
        for n in 0..50_u8 {
            turn(&mut tunes, f32::from(n) / 100.0, 1.0 + f64::from(n) / 60.0);
        }
        turn(&mut tunes, 0.9, 9.0);
        tunes.undo();
        assert_eq!(strength(&tunes), 0.49);
        tunes.undo();
        assert_eq!((strength(&tunes), tunes.can()), (first, [false, true]));
        tunes.undo();
        tunes.redo();
        tunes.redo();
        assert_eq!((strength(&tunes), tunes.can()), (0.9, [true, false]));
        tunes.undo();
        turn(&mut tunes, 0.1, 20.0);
        assert!(!tunes.can()[1], "after a change there is nothing to make again");
        for n in 0..1_000_u32 {
            turn(&mut tunes, 0.2, 30.0 + f64::from(n));
        }
        assert_eq!(tunes.undo.len(), MOST_UNDO);
    }

    #[test]
    fn a_and_b_are_two_tunes() {
        let mut tunes = Tunes::new(Sheet::from(easeoff_core::Settings::default()));
        let first = strength(&tunes);
        tunes.swap();
        turn(&mut tunes, 0.3, 0.0);
        tunes.swap();
        assert_eq!((tunes.drives, strength(&tunes)), (Side::A, first));
        tunes.copy_to_other();
        tunes.swap();
        assert_eq!(strength(&tunes), first);
        tunes.undo();
        assert_eq!(strength(&tunes), 0.3);
    }
}
