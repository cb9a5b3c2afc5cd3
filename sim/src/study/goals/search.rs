//! The search: a grid over everything, then finer grids round the best places.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use super::aim::{Aim, Keep, Merit};
use super::measure::{Dimension, Kind};
use crate::study::sweep::digits;

/// How long to go on.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Runs, about; the grid that is begun is finished.
    pub runs: usize,
    /// Spacing at which it is good enough, in parts of a dimension's range.
    pub spacing: f64,
}

/// One try.
#[derive(Clone, Debug)]
pub struct Tried {
    /// Where, a number per dimension.
    pub at: Vec<f64>,
    /// The aim's score, then one for each limit; empty where the run failed.
    pub values: Vec<f64>,
    /// How good that is.
    pub merit: Merit,
    /// In which grid it came up, from 0.
    pub grid: usize,
}

/// What a search found.
#[derive(Clone, Debug)]
pub struct Found {
    /// Every try, in order.
    pub tried: Vec<Tried>,
    /// The best of them.
    pub best: usize,
    /// Other places that were gone into, each with the best that was found there.
    pub others: Vec<usize>,
    /// Spacing of the last grid round the best, one for each dimension; 0 where nothing was left out.
    pub spacing: Vec<f64>,
    /// It ended because of the number of runs.
    pub cut_short: bool,
}

/// Places that are gone into.
const PLACES: usize = 3;
/// Finer grids in each of them before the best is chosen.
const LOOKS: usize = 2;
/// A finer grid reaches so many spacings of the coarser one to each side.
const REACH: f64 = 1.5;

/// Points of the first grid, over everything.
pub fn first_grid(dimensions: &[Dimension]) -> usize {
    let all = Window::all(dimensions);
    let counts = (0..dimensions.len()).map(|index| values(dimensions, index, &all).0.len());
    counts.fold(1, usize::saturating_mul)
}

/// Searches. `answer` gives, for each place, the aim's score and one for each limit, or `Err` where the run fails.
///
/// # Errors
/// What `answer` says when it does not want to go on.
pub fn search<E>(
    dimensions: &[Dimension],
    aim: &Aim,
    keeps: &[Keep],
    limits: Limits,
    answer: impl FnMut(&[Vec<f64>]) -> Result<Vec<Result<Vec<f64>, String>>, E>,
) -> Result<Found, E> {
    let mut at_work = AtWork {
        dimensions,
        aim,
        keeps,
        answer,
        tried: Vec::new(),
        known: BTreeMap::new(),
        grids: 0,
    };
    let coarse = at_work.grid(&Window::all(dimensions))?;
    let mut places: Vec<Place> = at_work
        .peaks(&coarse)
        .into_iter()
        .take(PLACES)
        .map(|best| Place { best, spacing: coarse.spacing.clone(), gone_into: false })
        .collect();
    let mut cut_short = false;
    // A look into each place, then to the end in the best one; and should that be beaten, in the one that beat it.
    for place in &mut places {
        for _ in 0..LOOKS {
            at_work.refine(place, &limits, &mut cut_short)?;
        }
    }
    loop {
        places.sort_by(|a, b| at_work.order(a.best, b.best));
        let Some(first) = places.first_mut() else { break };
        if at_work.fine_enough(first, &limits) || cut_short {
            break;
        }
        at_work.refine(first, &limits, &mut cut_short)?;
    }
    let first = places.remove(0);
    // Two may have met, with each other or with the best.
    let mut others = Vec::new();
    for place in places.iter().filter(|place| place.gone_into) {
        if place.best != first.best && !others.contains(&place.best) {
            others.push(place.best);
        }
    }
    Ok(Found { best: first.best, others, spacing: first.spacing, tried: at_work.tried, cut_short })
}

/// A part of the range.
struct Window {
    centre: Vec<f64>,
    half: Vec<f64>,
}

impl Window {
    /// All of it.
    fn all(dimensions: &[Dimension]) -> Self {
        Self {
            centre: dimensions.iter().map(|d| (d.from + d.to) / 2.0).collect(),
            half: dimensions.iter().map(|d| (d.to - d.from) / 2.0).collect(),
        }
    }
}

/// Values along a dimension within a window, and their spacing.
fn values(dimensions: &[Dimension], index: usize, window: &Window) -> (Vec<f64>, f64) {
    let dimension = &dimensions[index];
    let count = match dimensions.len() {
        1 => 17,
        2 => 9,
        3 => 7,
        _ => 5,
    };
    let (centre, half) = (window.centre[index], window.half[index]);
    let from = (centre - half).max(dimension.from);
    let to = (centre + half).min(dimension.to);
    if let Kind::List(list) = &dimension.kind {
        // All at first; round a place only its own.
        let whole = 2.0 * half >= dimension.to - dimension.from;
        let values = if whole { (0..list.len()).map(|i| i as f64).collect() } else { vec![centre] };
        return (values, 0.0);
    }
    if matches!(dimension.kind, Kind::Whole) {
        let (from, to) = (from.ceil(), to.floor());
        if to - from < count as f64 {
            let values = (0..=(to - from) as usize).map(|step| from + step as f64);
            return (values.collect(), 0.0);
        }
    }
    let spacing = (to - from) / (count - 1) as f64;
    let mut values: Vec<f64> =
        (0..count).map(|step| dimension.tidy(from + step as f64 * spacing)).collect();
    values.dedup();
    (values, spacing)
}

/// A place that is gone into: the best try there, and the spacing of the last grid round it.
struct Place {
    best: usize,
    spacing: Vec<f64>,
    gone_into: bool,
}

/// The tries of a grid, by their digits.
struct Grid {
    indices: Vec<usize>,
    counts: Vec<usize>,
    spacing: Vec<f64>,
}

struct AtWork<'w, A> {
    dimensions: &'w [Dimension],
    aim: &'w Aim,
    keeps: &'w [Keep],
    answer: A,
    tried: Vec<Tried>,
    known: BTreeMap<Vec<u64>, usize>,
    grids: usize,
}

impl<E, A> AtWork<'_, A>
where
    A: FnMut(&[Vec<f64>]) -> Result<Vec<Result<Vec<f64>, String>>, E>,
{
    /// Tries a grid over a window; what is known is not run again.
    fn grid(&mut self, window: &Window) -> Result<Grid, E> {
        let axes: Vec<(Vec<f64>, f64)> = (0..self.dimensions.len())
            .map(|index| values(self.dimensions, index, window))
            .collect();
        let counts: Vec<usize> = axes.iter().map(|(values, _)| values.len()).collect();
        let points = (0..counts.iter().product()).map(|point: usize| {
            let digits = digits(point, &counts);
            axes.iter().zip(digits).map(|((values, _), digit)| values[digit]).collect::<Vec<f64>>()
        });
        let points: Vec<Vec<f64>> = points.collect();
        let key = |at: &[f64]| at.iter().map(|value| value.to_bits()).collect::<Vec<u64>>();
        let new: Vec<Vec<f64>> =
            points.iter().filter(|at| !self.known.contains_key(&key(at))).cloned().collect();
        let answers = (self.answer)(&new)?;
        for (at, answer) in new.into_iter().zip(answers) {
            let values = answer.unwrap_or_default();
            let merit = Merit::of(self.aim, self.keeps, &values);
            self.known.insert(key(&at), self.tried.len());
            self.tried.push(Tried { at, values, merit, grid: self.grids });
        }
        self.grids += 1;
        let indices = points.iter().map(|at| self.known[&key(at)]).collect();
        Ok(Grid {
            indices,
            counts,
            spacing: axes.into_iter().map(|(_, spacing)| spacing).collect(),
        })
    }

    /// A finer grid round a place, which moves there if that is better.
    fn refine(&mut self, place: &mut Place, limits: &Limits, cut: &mut bool) -> Result<(), E> {
        if self.fine_enough(place, limits) {
            return Ok(());
        }
        if self.tried.len() >= limits.runs {
            *cut = true;
            return Ok(());
        }
        let window = Window {
            centre: self.tried[place.best].at.clone(),
            half: place.spacing.iter().map(|spacing| REACH * spacing).collect(),
        };
        let grid = self.grid(&window)?;
        let indices = grid.indices.into_iter().chain([place.best]);
        if let Some(best) = indices.min_by(|a, b| self.order(*a, *b)) {
            place.best = best;
        }
        place.spacing = grid.spacing;
        place.gone_into = true;
        Ok(())
    }

    fn fine_enough(&self, place: &Place, limits: &Limits) -> bool {
        self.dimensions
            .iter()
            .zip(&place.spacing)
            .all(|(d, spacing)| *spacing <= limits.spacing * (d.to - d.from))
    }

    /// Better first; of equals the earlier.
    fn order(&self, a: usize, b: usize) -> Ordering {
        self.tried[a].merit.order(&self.tried[b].merit).then(a.cmp(&b))
    }

    /// The tries of a grid that no neighbour beats, the best first; of a plain of equals the first.
    fn peaks(&self, grid: &Grid) -> Vec<usize> {
        // By -1, 0 or 1 along each dimension.
        let (thirds, sides) = (vec![3; grid.counts.len()], 3_usize.pow(grid.counts.len() as u32));
        let beaten = |point: usize| {
            let own = digits(point, &grid.counts);
            (0..sides).any(|side| {
                let steps = digits(side, &thirds);
                let mut axes = own.iter().zip(steps).zip(&grid.counts);
                let other = axes.try_fold(0, |other, ((own, step), count)| {
                    let digit = (own + step).checked_sub(1).filter(|digit| digit < count)?;
                    Some(other * count + digit)
                });
                other.is_some_and(|other| {
                    self.order(grid.indices[other], grid.indices[point]).is_lt()
                })
            })
        };
        let mut peaks: Vec<usize> = (0..grid.indices.len())
            .filter(|&point| !beaten(point))
            .map(|point| grid.indices[point])
            .collect();
        peaks.sort_by(|a, b| self.order(*a, *b));
        peaks
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests panic")]

    use super::*;
    use crate::score::LURCH;

    fn dimension(from: f64, to: f64) -> Dimension {
        Dimension { key: "x".into(), from, to, kind: Kind::Any }
    }

    fn found(
        dimensions: &[Dimension],
        keeps: &[&str],
        values: impl Fn(&[f64]) -> Vec<f64>,
    ) -> Found {
        let aim = Aim { score: &LURCH, smallest: true };
        let keeps: Vec<Keep> = keeps.iter().map(|keep| Keep::parse(keep).unwrap()).collect();
        let limits = Limits { runs: 3_000, spacing: 1.0e-3 };
        let answer = |places: &[Vec<f64>]| {
            Ok::<_, ()>(places.iter().map(|at| Ok(values(at))).collect::<Vec<_>>())
        };
        search(dimensions, &aim, &keeps, limits, answer).unwrap()
    }

    /// Least of (x - 3)^2 + (y - 2)^2 with x + y <= 4: at (2.5, 1.5), 0.5 (Lagrange: both gradients point along
    /// (1, 1)).
    #[test]
    fn a_slanted_limit_is_met_where_algebra_says() {
        let plane = [dimension(0.0, 7.0), dimension(-1.0, 6.0)];
        let bowl = |at: &[f64]| {
            let [x, y] = [at[0], at[1]];
            vec![(x - 3.0) * (x - 3.0) + (y - 2.0) * (y - 2.0), x + y]
        };
        let result = found(&plane, &["run-on<=4"], bowl);
        let best = &result.tried[result.best];
        assert!(best.merit.keeps_all() && !result.cut_short);
        // Half a spacing off the limit at most, and flat along it.
        assert!((best.values[0] - 0.5).abs() < 0.02, "{best:?}");
        assert!((best.at[0] - 2.5).abs() < 0.1 && (best.at[1] - 1.5).abs() < 0.1, "{best:?}");
        assert!(result.spacing.iter().all(|spacing| *spacing <= 7.0e-3), "{result:?}");
    }

    /// 1 - cos of 3 x has its zeros at 2 pi k / 3; the small slope makes the middle one, k = 0, the least by 0.07 each.
    #[test]
    fn of_several_valleys_the_deepest_is_found() {
        let line = [dimension(-4.0, 4.5)];
        let waves = |at: &[f64]| vec![1.0 - libm::cos(3.0 * at[0]) + 0.035 * at[0].abs()];
        let result = found(&line, &[], waves);
        assert!(result.tried[result.best].at[0].abs() < 0.01, "{result:?}");
        assert!(!result.others.is_empty());
    }

    #[test]
    fn limits_that_cannot_be_met_bring_what_comes_nearest() {
        let line = [dimension(0.0, 10.0)];
        // x <= 3 and x >= 5: in parts of the limits, x = 5 is beyond by 2/3 and x = 3 by 2/5.
        let result = found(&line, &["run-on<=3", "roll-away>=5"], |at| vec![1.0, at[0], at[0]]);
        let best = &result.tried[result.best];
        assert!(!best.merit.keeps_all());
        assert!((best.at[0] - 3.0).abs() < 0.02, "{best:?}");
    }

    #[test]
    fn whole_numbers_and_lists_are_tried_as_such() {
        let list = Kind::List(["a", "b", "c"].map(toml_edit::Value::from).to_vec());
        let both = [
            Dimension { kind: Kind::Whole, ..dimension(10.0, 60.0) },
            Dimension { kind: list, ..dimension(0.0, 2.0) },
        ];
        assert_eq!(first_grid(&both), 9 * 3);
        let few = [Dimension { kind: Kind::Whole, ..dimension(10.0, 14.0) }];
        assert_eq!(first_grid(&few), 5, "there are no more whole numbers");
        let far = |at: &[f64]| vec![(at[0] - 41.3).abs() + (at[1] - 1.0).abs()];
        let result = found(&both, &[], far);
        assert!(result.tried.iter().all(|tried| tried.at.iter().all(|x| x.fract() == 0.0)));
        assert_eq!(result.tried[result.best].at, [41.0, 1.0]);
        assert_eq!(result.spacing, [0.0, 0.0]);
    }

    #[test]
    fn the_number_of_runs_is_kept_and_nothing_runs_twice() {
        let space = [dimension(0.0, 1.0), dimension(0.0, 1.0), dimension(0.0, 1.0)];
        let limits = Limits { runs: 500, spacing: 1.0e-4 };
        let mut asked = std::collections::BTreeSet::new();
        let answer = |places: &[Vec<f64>]| {
            for at in places {
                assert!(asked.insert(format!("{at:?}")), "{at:?} runs twice");
            }
            Ok::<_, ()>(places.iter().map(|at| Ok(vec![at.iter().sum()])).collect())
        };
        let aim = Aim { score: &LURCH, smallest: true };
        let result = search(&space, &aim, &[], limits, answer).unwrap();
        assert!(result.cut_short && (500..500 + 343).contains(&result.tried.len()));
        assert_eq!(result.tried[result.best].at, [0.0; 3]);
    }
}
