//! What one run does otherwise than another, score by score, in plain words.

use crate::digits::digits;
use crate::score::{Scores, Value};

/// Which way a score is better. Where a gain here costs something there it is said neutrally.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Better {
    Less,
    More,
    Depends,
}

/// How a score's difference is said: with more of it, with less of it.
struct Saying {
    score: &'static str,
    better: Better,
    kind: Kind,
    more: &'static str,
    less: &'static str,
}

/// What the number in the sentence is.
#[derive(Clone, Copy)]
enum Kind {
    /// The difference in the score's unit times this, with these words for the unit.
    Differs(f64, &'static str),
    /// The ratio of the two; what is said of one that does it, and of one that does not.
    Times(&'static str, &'static str),
}

macro_rules! says {
    ($($score:literal $better:ident $kind:expr, $more:literal / $less:literal;)*) => {
        &[$(Saying { score: $score, better: Better::$better, kind: $kind, more: $more, less: $less },)*]
    };
}

use Kind::{Differs, Times};

const SAYINGS: &[Saying] = says! {
    "lurch" Less Times("lurches", "does not lurch"), "lurches {} as hard" / "lurches {} as hard";
    "stop jolt" Less Times("nods at the end", "does not nod at the end"), "nods {} as hard at the end" / "nods {} as hard at the end";
    "peak deceleration" Depends Differs(1.0, "m/s\u{b2}"), "slows down by up to {} harder" / "slows down by up to {} softer";
    "run-on" Less Differs(100.0, "cm"), "stops {} later" / "stops {} earlier";
    "stop time" Less Differs(1.0, "s"), "takes {} longer to stop" / "takes {} less to stop";
    "slip" Less Differs(100.0, "percentage points"), "slips for {} more of the let-off" / "slips for {} less of the let-off";
    "creep" Less Differs(1.0, "mm/s"), "creeps {} faster on the slope" / "creeps {} slower on the slope";
    "roll-away" Less Differs(100.0, "cm"), "rolls away {} farther in 5 s on the slope" / "rolls away {} less in 5 s on the slope";
    "tip margin" More Differs(100.0, "percentage points"), "keeps {} more load on its lighter axle" / "keeps {} less load on its lighter axle";
    "sag" Depends Differs(100.0, "percentage points"), "loses {} more speed under load" / "loses {} less speed under load";
    "mask" Less Differs(100.0, "percentage points"), "hides {} more of the load from the driver" / "hides {} less of the load from the driver";
    "notice time" Less Differs(1.0, "s"), "is noticed {} later" / "is noticed {} sooner";
    "hidden torque" Less Differs(1.0, "N m"), "winds up {} more before anybody notices" / "winds up {} less before anybody notices";
    "hidden heat" Less Differs(1.0, "J"), "puts {} more heat into the winding unseen" / "puts {} less heat into the winding unseen";
    "strain" Less Differs(100.0, "% of the rating"), "strains the drive line {} more" / "strains the drive line {} less";
    "heat time" More Differs(1.0, "s"), "is too hot {} later" / "is too hot {} sooner";
};

/// Whether less of a score is better; `None` where that depends.
pub fn less_is_better(score: &str) -> Option<bool> {
    match SAYINGS.iter().find(|saying| saying.score == score)?.better {
        Better::Less => Some(true),
        Better::More => Some(false),
        Better::Depends => None,
    }
}

/// What was found, a line each, with whether it is for the better.
pub fn sentences(found: &[Difference]) -> Vec<String> {
    if found.is_empty() {
        return vec!["does the same within a hundredth".into()];
    }
    let mark = |better| match better {
        Some(true) => "better",
        Some(false) => "worse",
        None => "as you like it",
    };
    found.iter().map(|one| format!("{} ({})", one.words, mark(one.better))).collect()
}

/// Differences smaller than this share of the larger are not worth a sentence.
const WORTH_SAYING: f64 = 0.01;

/// One score of two runs.
#[derive(Clone, Debug)]
pub struct Difference {
    /// The score's name.
    pub score: &'static str,
    /// What the second run does, as the end of a sentence.
    pub words: String,
    /// Whether the second is better at it; `None` where that depends.
    pub better: Option<bool>,
}

/// What `other` does otherwise than `first`, in the order of reports. Scores that agree within a
/// hundredth are left out.
///
/// ```
/// use crate::study::compare::variants;
/// use crate::study::difference::differences;
/// let mut scenario = crate::files::demo::scenario("let-off").unwrap();
/// scenario.hand.duration_s = 5.0;
/// let mut hard = scenario.clone();
/// hard.tune.drag.onset_ms = 0.0;
/// let runs = variants(vec![("soft".into(), scenario), ("hard".into(), hard)], 12.0, 0.25e-3).unwrap();
/// let found = differences(&runs[0].scores, &runs[1].scores);
/// let of = |name| found.iter().find(|one| one.score == name).unwrap();
/// assert_eq!((of("lurch").better, of("run-on").better), (Some(false), Some(true)));
/// assert!(of("run-on").words.ends_with("cm earlier"));
/// ```
pub fn differences(first: &Scores, other: &Scores) -> Vec<Difference> {
    SAYINGS.iter().filter_map(|saying| saying.said(first, other)).collect()
}

impl Saying {
    fn said(&self, first: &Scores, other: &Scores) -> Option<Difference> {
        let (before, after) = (first.value(self.score), other.value(self.score));
        let (words, more) = match (before, after) {
            (Value::Is(before), Value::Is(after)) => {
                let apart = (after - before).abs();
                if apart <= WORTH_SAYING * before.abs().max(after.abs()) || apart < 1.0e-6 {
                    return None;
                }
                let more = after > before;
                let amount = match self.kind {
                    Times(does, not) => match ratio(before, after) {
                        Ratio::Of(ratio) => times(ratio),
                        Ratio::Stops => return self.differs(not.into(), more),
                        Ratio::Begins => {
                            return self.differs(format!("{does}, which the first does not"), more);
                        }
                    },
                    // What rounds to nothing is not worth a sentence.
                    Differs(factor, _) if digits(apart * factor) == "0" => return None,
                    Differs(..) => self.amount(apart),
                };
                (if more { self.more } else { self.less }.replace("{}", &amount), more)
            }
            // Said with the run-on already.
            (Value::Never, _) | (_, Value::Never) if self.score == "stop time" => return None,
            (Value::Is(before), Value::Never) => (self.no_more(before), true),
            (Value::Never, Value::Is(after)) => (self.at_all(after), false),
            _ => return None,
        };
        self.differs(words, more)
    }

    fn differs(&self, words: String, more: bool) -> Option<Difference> {
        let better = match self.better {
            Better::Less => Some(!more),
            Better::More => Some(more),
            Better::Depends => None,
        };
        Some(Difference { score: self.score, words, better })
    }

    /// What happened and does not any more.
    fn no_more(&self, before: f64) -> String {
        format!("never {}, instead of after {}", self.happens(), self.amount(before))
    }

    /// What did not happen before.
    fn at_all(&self, after: f64) -> String {
        format!("{} at all, after {}", self.happens(), self.amount(after))
    }

    /// The words for scores of things that may never happen.
    fn happens(&self) -> &'static str {
        match self.score {
            "notice time" => "is noticed",
            "heat time" => "gets too hot",
            _ => "stops",
        }
    }

    fn amount(&self, value: f64) -> String {
        match self.kind {
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
    use crate::score::Score;

    fn scores(list: &[(&'static str, Value)]) -> Scores {
        let score = |(name, value): &(&'static str, Value)| Score {
            name,
            value: *value,
            unit: "-",
            definition: "",
        };
        Scores {
            list: list.iter().map(score).collect(),
            let_off: None,
            load: None,
            creep_fault: None,
        }
    }

    fn words(name: &'static str, before: Value, after: Value) -> Option<(String, Option<bool>)> {
        let found = differences(&scores(&[(name, before)]), &scores(&[(name, after)]));
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
            ("sag", is(0.6), is(0.1), "loses 50.0 percentage points less speed under load", None),
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
    }

    /// A score that is added must be given its words here.
    #[test]
    fn every_score_has_its_words() {
        let mut scenario = crate::files::demo::scenario("snag").unwrap();
        scenario.hand.duration_s = 1.0;
        let step = crate::run::DEFAULT_STEP_S;
        let run = crate::run::simulate(&scenario, step).unwrap();
        let scores = crate::score::scores(&scenario, &run, 12.0, step).unwrap();
        let named: Vec<&str> = SAYINGS.iter().map(|saying| saying.score).collect();
        let listed: Vec<&str> = scores.list.iter().map(|score| score.name).collect();
        assert_eq!(named, listed);
    }
}
