//! The last moments before and after something went wrong, kept for whoever asks later.

use heapless::Deque;

use crate::controller::Output;
use crate::trace::{Event, Events};

/// Keeps the last `N` outputs. When an event of its trigger begins it keeps `N / 2` more, so that
/// what led to it and what came of it are both there, and then stops until [`thaw`](Self::thaw).
///
/// An event that lasts triggers once, when it begins. `N` is at least 1; a smaller one does not
/// compile. Bounded work, no heap: `N` outputs of memory.
///
/// ```
/// use easeoff_core::{Event, Input, Microseconds, Recorder, Settings, State, TickRate};
/// let controller = Settings::default().prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let mut recorder = Recorder::<64>::default(); // triggered by the loss of the signal
/// for tick in 0..1_000 {
///     let pulse = if tick < 800 { Microseconds::new(1_500.0) } else { None };
///     let input = Input { pulse, ..Input::default() };
///     recorder.record(&controller.step(&mut state, &input));
/// }
/// assert!(recorder.is_frozen());
/// let lost = recorder.frames().filter(|frame| frame.trace.events.contains(Event::SignalLost));
/// assert_eq!(lost.count(), 64 / 2 + 1);
/// ```
#[derive(Clone, Debug)]
pub struct Recorder<const N: usize> {
    ring: Deque<Output, N>,
    trigger: Events,
    /// Of the output before, so that an event is seen to begin; also while frozen.
    before: Events,
    phase: Phase,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Waiting,
    /// Triggered: this many outputs are still to be kept.
    Closing(usize),
    Frozen,
}

impl<const N: usize> Default for Recorder<N> {
    /// Triggered by the loss of the signal.
    fn default() -> Self {
        let mut trigger = Events::default();
        trigger.note(Event::SignalLost, true);
        Self::new(trigger)
    }
}

impl<const N: usize> Recorder<N> {
    /// Empty; triggered by any of the `trigger`'s events. Without events in it, it never stops.
    pub fn new(trigger: Events) -> Self {
        const { assert!(N > 0, "a recorder keeps at least one output") };
        Self { ring: Deque::new(), trigger, before: Events::default(), phase: Phase::Waiting }
    }

    /// Takes the output of one tick.
    pub fn record(&mut self, output: &Output) {
        let events = output.trace.events;
        let begun = events.bits() & !self.before.bits() & self.trigger.bits() != 0;
        self.before = events;
        self.phase = match self.phase {
            Phase::Frozen => return,
            Phase::Waiting if begun => Self::closing(N / 2),
            Phase::Waiting => Phase::Waiting,
            Phase::Closing(left) => Self::closing(left.saturating_sub(1)),
        };
        if self.ring.is_full() {
            self.ring.pop_front();
        }
        // There is room: N is at least 1.
        let _ = self.ring.push_back(*output);
    }

    const fn closing(left: usize) -> Phase {
        if left == 0 { Phase::Frozen } else { Phase::Closing(left) }
    }

    /// Whether it has stopped and keeps what it has.
    pub fn is_frozen(&self) -> bool {
        self.phase == Phase::Frozen
    }

    /// What is kept, oldest first. The output that triggered stands `N / 2` before the last once it
    /// is frozen.
    pub fn frames(&self) -> impl Iterator<Item = &Output> {
        self.ring.iter()
    }

    /// Forgets what it kept and waits for the next event to begin.
    pub fn thaw(&mut self) {
        self.ring.clear();
        self.phase = Phase::Waiting;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shared::units::{Duty, Strength};
    use crate::stages::bridge::Command;
    use std::vec::Vec;

    /// An output that can be told from others by its number.
    fn numbered(number: i32, events: &[Event]) -> Output {
        let mut output = Output {
            command: Command::Drive { duty: Duty::from_bits(number) },
            ..Output::default()
        };
        output.trace.brake_level = Strength::FULL;
        for event in events {
            output.trace.events.note(*event, true);
        }
        output
    }

    fn kept<const N: usize>(recorder: &Recorder<N>) -> Vec<i32> {
        recorder.frames().map(|output| output.command.duty().to_bits()).collect()
    }

    #[test]
    fn keeps_what_led_to_the_event_and_what_came_of_it() {
        let mut recorder = Recorder::<6>::default();
        for number in 0..100 {
            let events: &[Event] = if number >= 50 { &[Event::SignalLost] } else { &[Event::Hot] };
            recorder.record(&numbered(number, events));
            assert_eq!(recorder.is_frozen(), number >= 53, "after {number}");
        }
        assert_eq!(kept(&recorder), [48, 49, 50, 51, 52, 53]);
        assert_eq!(recorder.frames().next(), Some(&numbered(48, &[Event::Hot])));
    }

    #[test]
    fn an_event_that_lasts_triggers_once() {
        let mut recorder = Recorder::<4>::default();
        (0..10).for_each(|number| recorder.record(&numbered(number, &[Event::SignalLost])));
        assert_eq!(kept(&recorder), [0, 1, 2]);
        recorder.thaw();
        assert!(kept(&recorder).is_empty());
        (10..20).for_each(|number| recorder.record(&numbered(number, &[Event::SignalLost])));
        assert!(!recorder.is_frozen(), "triggered by an event that had begun before");
        assert_eq!(kept(&recorder), [16, 17, 18, 19]);
        recorder.record(&numbered(20, &[]));
        (21..30).for_each(|number| recorder.record(&numbered(number, &[Event::SignalLost])));
        assert_eq!(kept(&recorder), [20, 21, 22, 23]);
    }

    #[test]
    fn another_event_can_trigger_and_one_not_asked_for_does_not() {
        let mut trigger = Events::default();
        trigger.note(Event::PackLow, true);
        let mut recorder = Recorder::<1>::new(trigger);
        recorder.record(&numbered(1, &[Event::SignalLost]));
        assert!(!recorder.is_frozen());
        recorder.record(&numbered(2, &[Event::SignalLost, Event::PackLow]));
        recorder.record(&numbered(3, &[]));
        assert!(recorder.is_frozen());
        assert_eq!(kept(&recorder), [2]);
    }

    #[test]
    fn a_second_event_while_closing_does_not_move_the_end() {
        let mut recorder = Recorder::<8>::default();
        for number in 0..20 {
            let events: &[Event] = if number % 2 == 1 { &[Event::SignalLost] } else { &[] };
            recorder.record(&numbered(number, events));
        }
        assert_eq!(kept(&recorder), [0, 1, 2, 3, 4, 5]);
    }
}
