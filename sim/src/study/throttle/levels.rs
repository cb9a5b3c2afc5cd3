//! Where the throttle stood still, seen over the whole recording.

use easeoff_core::CalibratorSettings;

use super::frames::{change_to_change_us, resolution_us};
use super::robust::{deviation_of_90, median, median_within, quantile};

/// A stretch begins with so many pulses, of which one may be wild.
const BEGIN: usize = 10;
/// So many wild pulses in a row are passed over.
const STRAYS: usize = 2;
/// A shorter stretch is a pause of the hand \[s\].
const LEAST_S: f64 = 0.5;
/// Silence ends a stretch \[s\].
const SILENCE_S: f64 = 1.0;
/// The dead band is never recommended smaller \[us\]; the board's calibrator has the same bound.
const LEAST_DEAD_BAND_US: f64 = 8.0;

/// A place at which the throttle stood.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Level {
    /// The median of its pulses \[us\].
    pub us: f64,
    /// With 95 % the true median lies this near \[us\], if the noise is normal.
    pub within_us: f64,
    /// Pulses it is the median of.
    pub pulses: usize,
    /// How long the throttle stood there \[s\].
    pub held_s: f64,
}

/// The throttle let go.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Rest {
    /// Neutral.
    pub level: Level,
    /// The pulses \[us\].
    #[serde(skip)]
    pub widths_us: Vec<f64>,
    /// The pulses less the median of their own stretch \[us\].
    #[serde(skip)]
    pub residuals_us: Vec<f64>,
    /// The width within which 90 % of these lie \[us\].
    pub noise_us: f64,
    /// From the first fifth of the pulses at rest to the last, by their medians \[us\].
    pub drift_us: f64,
    /// Whether the recording ends at rest.
    pub at_the_end: bool,
}

/// What a dead band around some neutral would have to be.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct DeadBand {
    /// How far from neutral 99 of 100 pulses at rest stay \[us\], drift included.
    pub reach_us: f64,
    /// `max(2 * reach, 8)`, up to the next whole one \[us\].
    pub us: f64,
    /// Pulses at rest outside that.
    pub outside: usize,
}

impl Rest {
    /// The dead band around `neutral_us`.
    pub fn dead_band(&self, neutral_us: f64) -> DeadBand {
        let distances: Vec<f64> =
            self.widths_us.iter().map(|width| (width - neutral_us).abs()).collect();
        let reach_us = quantile(&distances, 0.99).unwrap_or(0.0);
        let us = libm::ceil((2.0 * reach_us).max(LEAST_DEAD_BAND_US));
        let outside = distances.iter().filter(|distance| **distance > us).count();
        DeadBand { reach_us, us, outside }
    }
}

/// A stretch of time in which the throttle stood.
#[derive(Clone, Copy, Debug)]
pub struct Stretch {
    /// Its first pulse.
    pub from: usize,
    /// One after its last.
    pub to: usize,
    /// The median of its pulses \[us\].
    pub us: f64,
}

/// What the whole recording shows.
#[derive(Clone, Debug, Default, serde::Serialize)]
pub struct Levels {
    /// Half the width that still counts as standing \[us\].
    pub half_us: f64,
    /// The finest step between two widths \[us\].
    pub resolution_us: f64,
    /// Noise from pulse to pulse, as a standard deviation \[us\].
    pub change_us: f64,
    /// The throttle let go: where it stood first, and every later stretch near there.
    pub rest: Option<Rest>,
    /// The outermost place with a shorter pulse.
    pub low: Option<Level>,
    /// The outermost place with a longer pulse.
    pub high: Option<Level>,
    /// The shortest and the longest pulse the throttle passed, single wild ones left out \[us\].
    pub passed_us: Option<(f64, f64)>,
}

impl Levels {
    /// Of plausible pulses in order of their time.
    pub fn of(samples: &[[f64; 2]], settings: &CalibratorSettings) -> Self {
        let widths: Vec<f64> = samples.iter().map(|[_, us]| *us).collect();
        let change_us = change_to_change_us(samples);
        // Four deviations to either side hold all but 6 of 100,000 normal pulses.
        let half_us = (f64::from(settings.spread_us) / 2.0).max(4.0 * change_us);
        let stretches = steady(samples, half_us);
        let mut levels =
            Self { half_us, change_us, resolution_us: resolution_us(&widths), ..Self::default() };
        levels.passed_us = passed(&widths);
        let Some(first) = stretches.first() else { return levels };
        let near = f64::from(settings.least_travel_us) / 2.0;
        let (rests, pushed): (Vec<Stretch>, Vec<Stretch>) =
            stretches.iter().partition(|stretch| (stretch.us - first.us).abs() <= near);
        let rest = levels.rest_of(samples, &rests, stretches.last());
        let travel = f64::from(settings.least_travel_us);
        let beyond = |sign: f64| -> Option<Level> {
            let out = |stretch: &Stretch| sign * (stretch.us - rest.level.us);
            let most = pushed.iter().map(out).fold(0.0, f64::max);
            let there: Vec<Stretch> =
                pushed.iter().filter(|s| out(s) >= most - 2.0 * half_us).copied().collect();
            (most >= travel).then(|| levels.level_of(samples, &there))
        };
        (levels.low, levels.high) = (beyond(-1.0), beyond(1.0));
        levels.rest = Some(rest);
        levels
    }

    fn level_of(&self, samples: &[[f64; 2]], stretches: &[Stretch]) -> Level {
        let widths: Vec<f64> = pulses(samples, stretches).collect();
        let us = median(&widths).unwrap_or(0.0);
        let width = between(&widths, 0.05, 0.95);
        let scatter = median_within(deviation_of_90(width), widths.len());
        let held = |stretch: &Stretch| samples[stretch.to - 1][0] - samples[stretch.from][0];
        Level {
            us,
            // A reading in steps is no better known than half a step.
            within_us: scatter.max(self.resolution_us / 2.0),
            pulses: widths.len(),
            held_s: stretches.iter().map(held).sum(),
        }
    }

    fn rest_of(&self, samples: &[[f64; 2]], rests: &[Stretch], last: Option<&Stretch>) -> Rest {
        let level = self.level_of(samples, rests);
        let widths: Vec<f64> = pulses(samples, rests).collect();
        let own = |stretch: &Stretch| {
            let us = stretch.us;
            samples[stretch.from..stretch.to].iter().map(move |[_, width]| width - us)
        };
        let residuals_us: Vec<f64> = rests.iter().flat_map(own).collect();
        let fifth = (widths.len() / 5).max(1);
        let ends = [&widths[..fifth], &widths[widths.len() - fifth..]].map(median);
        Rest {
            level,
            noise_us: between(&residuals_us, 0.05, 0.95),
            residuals_us,
            drift_us: ends[1].unwrap_or(0.0) - ends[0].unwrap_or(0.0),
            widths_us: widths,
            at_the_end: last.zip(rests.last()).is_some_and(|(last, rest)| last.from == rest.from),
        }
    }
}

fn pulses<'s>(samples: &'s [[f64; 2]], stretches: &'s [Stretch]) -> impl Iterator<Item = f64> + 's {
    stretches.iter().flat_map(|s| samples[s.from..s.to].iter().map(|[_, us]| *us))
}

fn between(values: &[f64], low: f64, high: f64) -> f64 {
    quantile(values, high).zip(quantile(values, low)).map_or(0.0, |(high, low)| high - low)
}

/// Extremes of the middle one of each three pulses in a row.
fn passed(widths: &[f64]) -> Option<(f64, f64)> {
    let middle: Vec<f64> = widths.windows(3).filter_map(median).collect();
    Some((quantile(&middle, 0.0)?, quantile(&middle, 1.0)?))
}

/// Stretches within `half_us` of the median of their first pulses, in order.
///
/// What is tied to the first pulses does not follow a slow drift: a new stretch then begins.
pub fn steady(samples: &[[f64; 2]], half_us: f64) -> Vec<Stretch> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(begin) = samples.get(from..from + BEGIN) {
        let widths: Vec<f64> = begin.iter().map(|[_, us]| *us).collect();
        let anchor = median(&widths).unwrap_or(0.0);
        let near = |us: f64| (us - anchor).abs() <= half_us;
        if widths.iter().filter(|us| near(**us)).count() < BEGIN - 1 || !near(widths[0]) {
            from += 1;
            continue;
        }
        let (mut last, mut strays) = (from, 0);
        for place in from..samples.len() {
            let [time, us] = samples[place];
            if place > from && time - samples[place - 1][0] > SILENCE_S {
                break;
            }
            if near(us) {
                (last, strays) = (place, 0);
            } else {
                strays += 1;
            }
            if strays > STRAYS {
                break;
            }
        }
        if samples[last][0] - samples[from][0] >= LEAST_S {
            let widths: Vec<f64> = samples[from..=last].iter().map(|[_, us]| *us).collect();
            found.push(Stretch { from, to: last + 1, us: median(&widths).unwrap_or(anchor) });
            from = last + 1;
        } else {
            // By halves, so that rows without any time between them do not take for ever.
            from += ((last - from) / 2).max(1);
        }
    }
    found
}
