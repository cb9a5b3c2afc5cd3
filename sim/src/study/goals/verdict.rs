//! What a search's tries say: what holds the best one back, how sure it is, and which limit cannot be kept.

use std::collections::BTreeSet;

use super::aim::{Aim, Keep};
use super::measure::Dimension;
use super::search::{Found, Tried};
use crate::digits::{digits, exact_digits};
use crate::score::ScoreRow;
use crate::study::sweep::as_value;

/// What the tries say.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Whether there is a try that keeps every limit.
    pub met: bool,
    /// Limits that hold the best one back: a try is better that breaks only them.
    pub binding: Vec<usize>,
    /// Dimensions in which the best one is at an end of what may be varied.
    pub at_end: Vec<usize>,
    /// Least and most of the score among the tries beside the best one that keep every limit.
    pub alongside: [f64; 2],
    /// A try beside the best one in which a score never comes or the run fails: an edge.
    pub edge: Option<usize>,
    /// No run has the score that is to be best, and this is what all have instead.
    pub absent: Option<&'static str>,
    /// For each limit the value that comes nearest to it or keeps it best, of all tries; no number without any.
    pub nearest: Vec<f64>,
}

/// Beside the best, in spacings: its neighbours, which rounding may have moved.
const NEAR: f64 = 1.6;

/// Looks at the tries.
pub fn verdict(found: &Found, dimensions: &[Dimension], aim: &Aim, keeps: &[Keep]) -> Verdict {
    let best = &found.tried[found.best];
    let near = |tried: &&Tried| {
        let apart = tried.at.iter().zip(&best.at).zip(&found.spacing);
        apart.zip(dimensions).all(|(((a, b), spacing), dimension)| {
            let reach = match dimension.kind {
                super::Kind::Any => *spacing,
                super::Kind::Whole => spacing.max(1.0),
                // Words have no neighbours.
                super::Kind::List(_) => 0.0,
            };
            (a - b).abs() <= NEAR * reach
        })
    };
    let alongside: Vec<&Tried> = found.tried.iter().filter(near).collect();
    // What never comes is as late as one could wish, where late is good.
    let wished = std::iter::once(!aim.smallest).chain(keeps.iter().map(|keep| !keep.at_most));
    let wished: Vec<bool> = wished.collect();
    let over_the_edge = |tried: &Tried| {
        let mut values = tried.values.iter().zip(&wished);
        tried.values.is_empty()
            || values.any(|(value, wished)| value.is_nan() || value.is_infinite() && !wished)
    };
    let edge = (0..found.tried.len()).filter(|&index| index != found.best).find(|&index| {
        best.merit.keeps_all() && near(&&found.tried[index]) && over_the_edge(&found.tried[index])
    });
    let broken = |tried: &Tried| -> Vec<usize> {
        let kept = tried.values.iter().skip(1).zip(keeps).enumerate();
        kept.filter(|(_, (value, keep))| keep.excess(**value) > 0.0)
            .map(|(index, _)| index)
            .collect()
    };
    // Scores have steps, so it need not be a neighbour that is better.
    let better = found.tried.iter().filter(|tried| {
        best.merit.keeps_all() && !tried.values.is_empty() && tried.merit.score < best.merit.score
    });
    let broken: Vec<Vec<usize>> = better.map(broken).filter(|limits| !limits.is_empty()).collect();
    let fewest = broken.iter().map(Vec::len).min().unwrap_or(0);
    let binding: BTreeSet<usize> =
        broken.into_iter().filter(|limits| limits.len() == fewest).flatten().collect();
    let good = alongside.iter().filter(|tried| tried.merit.keeps_all());
    let scores =
        good.map(|tried| if aim.smallest { tried.merit.score } else { -tried.merit.score });
    let alongside = scores.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], score| {
        [low.min(score), high.max(score)]
    });
    let at_end = (0..dimensions.len()).filter(|&index| {
        let (dimension, at) = (&dimensions[index], best.at[index]);
        !matches!(dimension.kind, super::Kind::List(_))
            && (at == dimension.from || at == dimension.to)
    });
    let nearest = (0..keeps.len()).map(|index| {
        let values = found.tried.iter().filter_map(|tried| tried.values.get(index + 1));
        values.fold(f64::NAN, |nearest, value| keeps[index].nearer(nearest, *value))
    });
    let aims = found.tried.iter().filter_map(|tried| tried.values.first());
    let absent = match aims.fold([0, 0], |[there, never], value| {
        [there + usize::from(value.is_finite()), never + usize::from(value.is_infinite())]
    }) {
        [0, 0] => Some("this course and driver have nothing to measure it on"),
        [0, _] if aim.smallest => Some("it never comes"),
        _ => None,
    };
    Verdict {
        absent,
        met: best.merit.keeps_all(),
        binding: binding.into_iter().collect(),
        at_end: at_end.collect(),
        alongside,
        edge,
        nearest: nearest.collect(),
    }
}

/// A try's place in words.
pub fn place(dimensions: &[Dimension], at: &[f64]) -> String {
    let pairs = dimensions.iter().zip(at);
    let pairs: Vec<String> = pairs
        .map(|(dimension, at)| format!("{} {}", dimension.key, dimension.describe(*at)))
        .collect();
    pairs.join(", ")
}

/// The verdict in sentences.
pub fn sentences(
    found: &Found,
    verdict: &Verdict,
    dimensions: &[Dimension],
    aim: &Aim,
    keeps: &[Keep],
) -> Vec<String> {
    let best = &found.tried[found.best];
    let mut said = Vec::new();
    let amount = |score: &ScoreRow, value: f64| score.meaning.amount(as_value(value));
    let reached = |score: &ScoreRow, value: Option<&f64>| {
        value.map_or("a run that failed".into(), |value| amount(score, *value))
    };
    let aimed = aim.score.meaning.name;
    let place_of_best = place(dimensions, &best.at);
    if verdict.met {
        let word = if aim.smallest { "Smallest" } else { "Largest" };
        let score = reached(aim.score, best.values.first());
        said.push(format!("{word} {aimed}: {score}, with {place_of_best}."));
    } else if let Some(why) = verdict.absent {
        said.push(format!("None of {} runs has a {aimed}: {why}.", found.tried.len()));
    } else {
        said.push(format!("No try of {} keeps every limit.", found.tried.len()));
    }
    for (index, keep) in keeps.iter().enumerate() {
        let limit = keep.describe();
        let value = best.values.get(index + 1);
        let (excess, nearest) =
            (value.map_or(f64::INFINITY, |v| keep.excess(*v)), verdict.nearest[index]);
        if verdict.met {
            let holds =
                if verdict.binding.contains(&index) { "; this limit holds it back" } else { "" };
            said.push(format!("{limit}: it is {}{holds}.", reached(keep.score, value)));
        } else if keep.excess(nearest) > 0.0 {
            let short = keep.excess(nearest);
            let by = if short.is_finite() {
                format!(", beyond the limit by {}", amount(keep.score, short))
            } else {
                String::new()
            };
            said.push(format!(
                "{limit} cannot be kept by itself: what comes nearest anywhere is {}{by}.",
                amount(keep.score, nearest)
            ));
        } else if excess > 0.0 {
            let by = if excess.is_finite() {
                format!(", {} beyond it", amount(keep.score, excess))
            } else {
                String::new()
            };
            said.push(format!(
                "{limit} can be kept by itself (up to {}), but not with the others: where all come nearest it is {}{by}.",
                amount(keep.score, nearest),
                reached(keep.score, value)
            ));
        } else {
            said.push(format!(
                "{limit} is kept where all come nearest: {}.",
                reached(keep.score, value)
            ));
        }
    }
    if !verdict.met && verdict.absent.is_none() {
        said.push(format!("All come nearest with {place_of_best}."));
    }
    said.extend(doubt(found, verdict, dimensions, aim.score));
    said
}

/// How sure it is.
fn doubt(
    found: &Found,
    verdict: &Verdict,
    dimensions: &[Dimension],
    score: &ScoreRow,
) -> Vec<String> {
    let mut said = Vec::new();
    let amount = |value: f64| score.meaning.amount(as_value(value));
    let spacing: Vec<String> = dimensions
        .iter()
        .zip(&found.spacing)
        .filter(|(_, spacing)| **spacing > 0.0)
        .map(|(dimension, spacing)| format!("{} in {}", exact_digits(*spacing), dimension.short()))
        .collect();
    let spacing = if spacing.is_empty() {
        "every value there is was tried".to_owned()
    } else {
        format!("the last tries stand {} apart", spacing.join(", "))
    };
    let [low, high] = verdict.alongside;
    let spread = if low < high && digits(low) != digits(high) {
        format!(
            "; those beside the best that keep the limits give {} to {}",
            digits(low),
            amount(high)
        )
    } else {
        String::new()
    };
    said.push(format!("How sure: {} runs, {spacing}{spread}.", found.tried.len()));
    if let Some(edge) = verdict.edge {
        said.push(format!(
            "It stands at an edge: right beside it, with {}, a score never comes, or the run fails. Keep away from it by \
             more than your rig's numbers are uncertain.",
            place(dimensions, &found.tried[edge].at)
        ));
    }
    for other in &found.others {
        let tried = &found.tried[*other];
        let score = tried.values.first().map_or("nothing".into(), |value| amount(*value));
        let kept = if tried.merit.keeps_all() { "" } else { ", with a limit broken" };
        said.push(format!(
            "Another place was gone into, {}: {score}{kept}.",
            place(dimensions, &tried.at)
        ));
    }
    for index in &verdict.at_end {
        said.push(format!(
            "{} is at an end of what it may be, {} to {}: a wider range, where the key allows one, may do better.",
            dimensions[*index].key,
            dimensions[*index].describe(dimensions[*index].from),
            dimensions[*index].describe(dimensions[*index].to)
        ));
    }
    if found.cut_short {
        said.push("It ended because of the number of runs; --runs allows more.".into());
    }
    said
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests panic")]

    use super::*;
    use crate::score::STOP_JOLT;
    use crate::study::goals::{Kind, Limits, search};

    fn reported(keeps: &[&str]) -> (Verdict, String) {
        told_up_to(f64::INFINITY, keeps)
    }

    /// Beyond `edge` the limits' scores never come.
    fn told_up_to(edge: f64, keeps: &[&str]) -> (Verdict, String) {
        let line = [Dimension { key: "tune.x".into(), from: 0.0, to: 10.0, kind: Kind::Any }];
        let aim = Aim { score: &STOP_JOLT, smallest: true };
        let keeps: Vec<Keep> = keeps.iter().map(|keep| Keep::parse(keep).unwrap()).collect();
        // Both limits are on x itself.
        let kept = |at: f64| if at > edge { f64::INFINITY } else { at };
        let answer = |places: &[Vec<f64>]| {
            let values = |at: &Vec<f64>| {
                Ok([-at[0]].into_iter().chain(keeps.iter().map(|_| kept(at[0]))).collect())
            };
            Ok::<_, ()>(places.iter().map(values).collect())
        };
        let limits = Limits { runs: 1_000, spacing: 1.0e-3 };
        let found = search(&line, &aim, &keeps, limits, answer).unwrap();
        let verdict = verdict(&found, &line, &aim, &keeps);
        let said = sentences(&found, &verdict, &line, &aim, &keeps).join("\n");
        (verdict, said)
    }

    #[test]
    fn what_holds_it_back_is_named_and_what_does_not_is_not() {
        let (found, said) = reported(&["run-on<=4", "roll-away<=9"]);
        assert!(found.met && found.binding == [0], "{found:?}");
        assert!(said.contains("run-on <= 4 m: it is 4.00 m; this limit holds it back"), "{said}");
        let (found, said) = reported(&["run-on<=11"]);
        assert!(found.binding.is_empty() && found.at_end == [0], "{found:?}");
        assert!(said.contains("a wider range, where the key allows one, may do better"), "{said}");
    }

    #[test]
    fn an_edge_beside_it_is_warned_of() {
        let (found, said) = told_up_to(6.0, &["run-on<=9"]);
        assert!(found.met && said.contains("It stands at an edge"), "{said}");
        let (found, said) = told_up_to(6.0, &["run-on<=5"]);
        assert!(found.edge.is_none() && !said.contains("edge"), "{said}");
    }

    #[test]
    fn what_cannot_be_met_is_told_with_the_amount() {
        let (found, said) = reported(&["run-on>=12"]);
        assert!(!found.met);
        assert!(said.contains("run-on >= 12 m cannot be kept by itself: what comes nearest anywhere is 10.0 m, beyond the limit by 2.00 m"), "{said}");
        let (_, said) = reported(&["run-on<=3", "roll-away>=5"]);
        assert!(
            said.contains(
                "roll-away >= 5 m can be kept by itself (up to 10.0 m), but not with the others"
            ),
            "{said}"
        );
        assert!(said.contains("2.00 m beyond it"), "{said}");
    }
}
