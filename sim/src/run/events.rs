//! What happened in a run: every kind of event, the controller's and the rig's, with how often and how long.

use serde::Serialize;

use crate::digits::{digits, times};
use crate::run::{Row, Run};

/// A kind of event that occurred.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct EventSpan {
    /// What, in the words of `events_bits` and of the marks in pictures.
    pub event: &'static str,
    /// The first row of it.
    #[serde(skip)]
    pub row: usize,
    /// When it first happened \[s\].
    pub first_s: f64,
    /// How often it began.
    pub times: usize,
    /// How long in all \[s\].
    pub lasted_s: f64,
}

/// Every kind of event of a run, the controller's in the order of their bits, then the rig's.
pub fn event_spans(run: &Run) -> Vec<EventSpan> {
    let of_controller = easeoff_core::Event::ALL
        .into_iter()
        .filter_map(|(event, words)| of(run, words, |row| row.seen.events.contains(event)));
    let of_rig = [
        of(run, "front axle lifts", |row| row.flows.front_n <= 0.0),
        of(run, "rear axle lifts", |row| row.flows.rear_n <= 0.0),
        of(run, "receiver browns out", |row| !row.plant.servo().receiver_runs()),
    ];
    of_controller.chain(of_rig.into_iter().flatten()).collect()
}

fn of(run: &Run, event: &'static str, is: impl Fn(&Row) -> bool) -> Option<EventSpan> {
    let row = run.rows.iter().position(&is)?;
    let (mut times, mut ticks, mut before) = (0, 0_usize, false);
    for now in run.rows.iter().map(&is) {
        times += usize::from(now && !before);
        ticks += usize::from(now);
        before = now;
    }
    let (first_s, lasted_s) = (run.rows[row].time_s, ticks as f64 * run.tick_s);
    Some(EventSpan { event, row, first_s, times, lasted_s })
}

/// Events told one by one in a terminal, at most.
const MOST_TOLD: usize = 5;

/// In a few words each, the first to happen first; `None` where nothing did.
pub fn sentence(events: &[EventSpan]) -> Option<String> {
    let mut in_turn: Vec<&EventSpan> = events.iter().collect();
    in_turn.sort_by_key(|one| one.row);
    let one = |one: &&EventSpan| {
        let times = times(one.times);
        format!(
            "{} ({times} from {:.2} s on, {} s in all)",
            one.event,
            one.first_s,
            digits(one.lasted_s)
        )
    };
    let reported: Vec<String> = in_turn.iter().take(MOST_TOLD).map(one).collect();
    let more = in_turn.len().saturating_sub(MOST_TOLD);
    let more = if more > 0 { format!("; {more} more in report.html") } else { String::new() };
    (!reported.is_empty()).then(|| format!("What the run ran into: {}{more}.", reported.join("; ")))
}

#[cfg(test)]
mod tests {
    use easeoff_core::Event;

    use super::*;
    use crate::run::{DEFAULT_STEP_S, simulate};

    #[test]
    fn events_are_counted_with_their_first_time_and_how_long_they_last() {
        let mut scenario = crate::files::demo::scenario("snag").unwrap();
        scenario.driver.duration_s = 0.5;
        let mut run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        assert_eq!(sentence(&event_spans(&run)), None);
        for row in [100, 101, 102, 300, 499] {
            run.rows[row].seen.events.note(Event::Hot, true);
        }
        run.rows[50].seen.events.note(Event::BadPulse, true);
        let found = event_spans(&run);
        let numbers =
            |one: &EventSpan| (one.event, one.row, one.times, (one.lasted_s * 1.0e3).round());
        assert_eq!(
            found.iter().map(numbers).collect::<Vec<_>>(),
            [("bad pulse", 50, 1, 1.0), ("hot", 100, 3, 5.0)]
        );
        assert_eq!(
            sentence(&found).unwrap(),
            "What the run ran into: bad pulse (once from 0.05 s on, 0.001 s in all); hot (3 times from 0.10 s on, \
             0.005 s in all)."
        );
    }
}
