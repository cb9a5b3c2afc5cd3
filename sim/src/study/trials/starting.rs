//! Pulling away from rest.

use super::{Shown, Trial, Tried};
use crate::run::Run;
use crate::score::{Better, Meaning, Score, TIP_MARGIN, UTILISATION, Value, smooth_acceleration};

/// Faster than this it has begun to move \[m/s\].
const MOVES_M_S: f64 = 0.01;

/// How promptly it moves.
pub(crate) static START_DELAY: Meaning = Meaning {
    name: "start delay",
    unit: "s",
    definition: "from the throttle's first movement until v > 0.01 m/s",
    better: Better::Depends,
};

/// How smoothly it moves.
pub(crate) static START_JERK: Meaning = Meaning {
    name: "start jerk",
    unit: "m/s\u{b3}",
    definition: "largest |d(a)/dt| of the body, a low-pass filtered at 10 Hz (2nd-order Butterworth, zero phase)",
    better: Better::Depends,
};

/// How hard it pulls.
pub(crate) static PEAK_ACCELERATION: Meaning = Meaning {
    name: "peak acceleration",
    unit: "m/s\u{b2}",
    definition: "largest acceleration of the body, filtered likewise",
    better: Better::Depends,
};

/// How far it shoots beyond its speed.
pub(crate) static OVERSHOOT: Meaning = Meaning {
    name: "overshoot",
    unit: "-",
    definition: "greatest speed / mean speed of the last 0.5 s - 1",
    better: Better::Depends,
};

/// From rest.
pub(crate) const REST: Trial = Trial {
    name: "Start from rest",
    file: "start",
    asks: "How promptly and how smoothly does it pull away?",
    how: |_| "Level ground, from rest to 40 % throttle within 0.1 s, held for 3 s.".into(),
    shown: Shown {
        label: "acceleration, m/s\u{b2}, low-pass filtered at 10 Hz",
        values: |tried| smooth_acceleration(&tried.run),
        level: |_| None,
        bottom: None,
        least_span: None,
        from_start: false,
    },
    run: |subject| {
        let begins_s = subject.begins_s();
        let duration_s = begins_s + 3.0;
        let throttle = vec![[0.0, 0.0], [begins_s, 0.0], [begins_s + 0.1, 0.4]];
        let ground = subject.ground(0.0, 0.0, duration_s);
        let mut tried = subject
            .tried(subject.scenario(ground, throttle, duration_s), &[&TIP_MARGIN, &UTILISATION])?;
        tried.marks.push((begins_s, "throttle".into()));
        let mut scores = pulling_away(&tried.run, begins_s);
        scores.append(&mut tried.scores);
        Ok(Tried { scores, shown_s: Some(begins_s - 0.2..begins_s + 1.3), ..tried })
    },
};

fn pulling_away(run: &Run, begins_s: f64) -> Vec<Score> {
    let rows = &run.rows;
    let moved = rows.iter().find(|row| row.time_s >= begins_s && row.speed_m_s() > MOVES_M_S);
    let smooth = smooth_acceleration(run);
    let jerk = smooth.windows(2).map(|pair| (pair[1] - pair[0]).abs() / run.tick_s);
    let most = rows.iter().map(|row| row.speed_m_s()).fold(0.0, f64::max);
    let last = rows.len().saturating_sub((0.5 / run.tick_s) as usize);
    let steady = rows[last..].iter().map(|row| row.speed_m_s()).sum::<f64>();
    let steady = steady / (rows.len() - last).max(1) as f64;
    vec![
        START_DELAY.is(moved.map_or(Value::Never, |row| Value::Is(row.time_s - begins_s))),
        START_JERK.is(Value::Is(jerk.fold(0.0, f64::max))),
        PEAK_ACCELERATION.is(Value::Is(smooth.iter().copied().fold(0.0, f64::max))),
        OVERSHOOT.is(Value::from((steady > MOVES_M_S).then(|| most / steady - 1.0))),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::{DEFAULT_STEP_S, simulate};

    /// A made run: at rest until 1.25 s, then 2 m/s^2 for 1 s, then 1.6 m/s.
    #[test]
    fn a_made_run_has_the_scores_it_was_made_with() {
        let mut scenario = crate::files::demo::scenario("garden").unwrap();
        scenario.driver.duration_s = 4.0;
        let mut run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        for row in &mut run.rows {
            let since = row.time_s - 1.25;
            let (v, a) = match since {
                _ if since < 0.0 => (0.0, 0.0),
                _ if since < 1.0 => (2.0 * since, 2.0),
                _ => (1.6, 0.0),
            };
            (row.plant.now.speed_m_s, row.flows.rates.speed_m_s) = (v, a);
        }
        let scores = pulling_away(&run, 1.0);
        let value = |name: &str| {
            scores.iter().find(|score| score.meaning.name == name).unwrap().value.number().unwrap()
        };
        assert!((value("start delay") - 0.256).abs() < 1.5e-3, "{}", value("start delay"));
        assert!((value("overshoot") - 0.25).abs() < 2.0e-3, "{}", value("overshoot"));
        // Overshoot of the filter's own: 4 % of the step, twice as it goes to and fro.
        assert!((1.99..2.3).contains(&value("peak acceleration")));
    }
}
