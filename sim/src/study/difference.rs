//! What one run does otherwise than another, score by score, in plain words.

use crate::digits::digits;
use crate::score::Kind::{Differs, Times};
use crate::score::{SCORES, ScoreRow, Scores, Value, of_let_off};
use crate::study::compare::Variant;
use crate::study::let_off_at::why_not_alike;

/// What was found, a line each, with whether it is for the better.
pub fn sentences(found: &[Difference], apart: Option<&str>) -> Vec<String> {
    if found.is_empty() && apart.is_none() {
        return vec!["does the same within a hundredth".into()];
    }
    let mark = |better| match better {
        Some(true) => "better",
        Some(false) => "worse",
        None => "as you like it",
    };
    let found = found.iter().map(|one| format!("{} ({})", one.words, mark(one.better)));
    found.chain(apart.map(str::to_owned)).collect()
}

/// Differences smaller than this share of the larger are not worth a sentence.
const WORTH_SAYING: f64 = 0.01;

/// One score of two runs.
#[derive(Clone, Debug)]
pub struct Difference {
    /// The score.
    pub score: &'static ScoreRow,
    /// What the second run does, as the end of a sentence.
    pub words: String,
    /// Whether the second is better at it; `None` where that depends.
    pub better: Option<bool>,
}

/// What `other` does otherwise than `first`, in the order of reports. Scores that agree within a
/// hundredth are left out.
///
/// ```
/// use easeoff_sim::run::Method;
/// use easeoff_sim::score::{LURCH, RUN_ON, ScoreRow};
/// use easeoff_sim::study::compare::variants;
/// use easeoff_sim::study::difference::differences;
/// let mut scenario = easeoff_sim::files::demo::scenario("let-off").unwrap();
/// scenario.driver.duration_s = 5.0;
/// let mut hard = scenario.clone();
/// hard.tune.drag.onset_ms = 0.0;
/// let runs = variants(vec![("soft".into(), scenario), ("hard".into(), hard)], Method::default()).unwrap();
/// let found = differences(&runs[0].scores, &runs[1].scores);
/// let of = |score: &ScoreRow| found.iter().find(|one| one.score == score).unwrap();
/// assert_eq!((of(&LURCH).better, of(&RUN_ON).better), (Some(false), Some(true)));
/// assert!(of(&RUN_ON).words.ends_with("cm earlier"));
/// ```
pub fn differences(first: &Scores, other: &Scores) -> Vec<Difference> {
    let said = |row: &&'static ScoreRow| Told { row, first, other }.said();
    SCORES.iter().filter_map(said).collect()
}

/// As [`differences`], of two runs. Where their let-offs neither begin alike nor could be laid alike, the scores of the
/// stop are left out, and the second is why.
pub fn between(first: &Variant, other: &Variant) -> (Vec<Difference>, Option<String>) {
    let mut found = differences(&first.scores, &other.scores);
    let laid = !first.run.driven.foreign && first.scenario.rig == other.scenario.rig;
    let apart = why_not_alike(&first.run, &other.run).filter(|_| !laid);
    if apart.is_some() {
        found.retain(|one| !of_let_off(one.score));
    }
    (found, apart)
}

/// One score of two runs, about to be said.
struct Told<'s> {
    row: &'static ScoreRow,
    first: &'s Scores,
    other: &'s Scores,
}

impl Told<'_> {
    fn said(&self) -> Option<Difference> {
        let said = &self.row.said;
        let (words, more) = match (self.first.value(self.row), self.other.value(self.row)) {
            (Value::Is(before), Value::Is(after)) => {
                let apart = (after - before).abs();
                if apart <= WORTH_SAYING * before.abs().max(after.abs()) || apart < 1.0e-6 {
                    return None;
                }
                let more = after > before;
                let amount = match said.kind {
                    Times(does, not) => match ratio(before, after) {
                        Ratio::Of(ratio) => times(ratio),
                        Ratio::Stops => return Some(self.differs(not.into(), more)),
                        Ratio::Begins => {
                            let begins = format!("{does}, which the first does not");
                            return Some(self.differs(begins, more));
                        }
                    },
                    // What rounds to nothing is not worth a sentence.
                    Differs(factor, _) if digits(apart * factor) == "0" => return None,
                    Differs(..) => self.amount(apart),
                };
                (if more { said.more } else { said.less }.replace("{}", &amount), more)
            }
            (Value::Is(before), Value::Never) => {
                let before = self.amount(before);
                (format!("never {}, instead of after {before}", said.happens?), true)
            }
            (Value::Never, Value::Is(after)) => {
                (format!("{} at all, after {}", said.happens?, self.amount(after)), false)
            }
            _ => return None,
        };
        Some(self.differs(words, more))
    }

    fn differs(&self, words: String, more: bool) -> Difference {
        let better = self.row.meaning.better.with_more().map(|with_more| with_more == more);
        Difference { score: self.row, words, better }
    }

    fn amount(&self, value: f64) -> String {
        match self.row.said.kind {
            Differs(factor, unit) => format!("{} {unit}", digits(value * factor)),
            Times(..) => digits(value),
        }
    }
}

/// How many times as much, where that is a number to read.
#[derive(Clone, Copy)]
enum Ratio {
    Of(f64),
    /// So little is left that it would be told as 0 times.
    Stops,
    /// The same the other way about.
    Begins,
}

fn ratio(before: f64, after: f64) -> Ratio {
    match () {
        () if digits((after / before).abs()) == "0" => Ratio::Stops,
        () if digits((before / after).abs()) == "0" => Ratio::Begins,
        () => Ratio::Of(after / before),
    }
}

/// "half", "twice", "a third", or the number.
fn times(ratio: f64) -> String {
    const NAMED: [(f64, &str); 7] = [
        (0.25, "a quarter"),
        (1.0 / 3.0, "a third"),
        (0.5, "half"),
        (2.0 / 3.0, "two thirds"),
        (2.0, "twice"),
        (3.0, "three times"),
        (4.0, "four times"),
    ];
    let near = NAMED.iter().find(|(value, _)| (ratio / value - 1.0).abs() < 0.06);
    near.map_or_else(|| format!("{} times", digits(ratio)), |(_, words)| (*words).into())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::find;

    fn scores(name: &str, value: Value) -> Scores {
        let list = vec![find(name).unwrap().meaning.is(value)];
        Scores { list, let_off: None, load: None, never_moved: None, creep_fault: None }
    }

    fn words(name: &str, before: Value, after: Value) -> Option<(String, Option<bool>)> {
        let found = differences(&scores(name, before), &scores(name, after));
        found.into_iter().next().map(|one| (one.words, one.better))
    }

    #[test]
    fn differences_are_said_with_their_unit_and_whether_they_are_better() {
        let is = Value::Is;
        for (name, before, after, said, better) in [
            ("run-on", is(0.30), is(0.42), "stops 12.0 cm later", Some(false)),
            ("lurch", is(30.0), is(10.0), "lurches a third as hard", Some(true)),
            ("lurch", is(10.0), is(17.0), "lurches 1.70 times as hard", Some(false)),
            ("stop jolt", is(9.0), is(0.0), "does not nod at the end", Some(true)),
            ("stop jolt", is(9.0), is(0.004), "does not nod at the end", Some(true)),
            ("lurch", is(0.0), is(9.0), "lurches, which the first does not", Some(false)),
            ("creep", is(1.0), is(5.0), "creeps 4.00 mm/s faster on the slope", Some(false)),
            (
                "speed drop",
                is(0.6),
                is(0.1),
                "loses 50.0 percentage points less speed under load",
                None,
            ),
            (
                "tip margin",
                is(0.5),
                is(0.625),
                "keeps 12.5 percentage points more load on its lighter axle",
                Some(true),
            ),
            (
                "notice time",
                is(1.2),
                Value::Never,
                "never is noticed, instead of after 1.20 s",
                Some(false),
            ),
            ("run-on", Value::Never, is(0.5), "stops at all, after 50.0 cm", Some(true)),
            (
                "heat time",
                is(90.0),
                Value::Never,
                "never gets too hot, instead of after 90.0 s",
                Some(true),
            ),
        ] {
            assert_eq!(words(name, before, after), Some((said.into(), better)), "{name}");
        }
        assert_eq!(words("run-on", is(0.300), is(0.302)), None);
        // 0 mm/s faster is no faster.
        assert_eq!(words("creep", is(0.000_01), is(0.000_02)), None);
        assert_eq!(words("lurch", Value::NotInThisRun, is(3.0)), None);
        // Said with the run-on already.
        assert_eq!(words("stop time", is(1.0), Value::Never), None);
    }
}
