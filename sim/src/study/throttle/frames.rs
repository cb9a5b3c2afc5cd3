//! When the radio's frames came, and which did not.

use super::robust::{median, quantile};

/// Fewer gaps than this say nothing about the period.
const LEAST_GAPS: usize = 10;

/// A gap this near to a whole number of periods counts as even.
const EVEN: f64 = 0.2;

/// The radio's frames.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Frames {
    /// Time from frame to frame \[ms\]: the mean of the gaps without a missing frame.
    pub period_ms: f64,
    /// The width within which 90 % of these gaps lie \[ms\].
    pub jitter_ms: f64,
    /// Frames that did not come between the first and the last.
    pub missing: usize,
    /// In so many gaps.
    pub gaps: usize,
    /// The longest time without a frame \[ms\].
    pub longest_ms: f64,
    /// Share of the gaps that are whole numbers of periods within a fifth of one. Near 1 the count
    /// of missing frames is sure.
    pub even: f64,
}

impl Frames {
    /// Of frames at these rising times \[s\]; `None` of too few.
    ///
    /// The first guess at the period is the gap that a fifth of all gaps do not reach, so that even two
    /// missing frames in three do not double it.
    ///
    /// ```
    /// use easeoff_sim::study::throttle::frames::Frames;
    /// let times: Vec<f64> = (0..49).filter(|k| k % 9 != 4).map(|k| 0.02 * f64::from(k)).collect();
    /// let frames = Frames::of(&times).unwrap();
    /// assert!((frames.period_ms - 20.0).abs() < 1e-6);
    /// assert_eq!((frames.missing, frames.gaps), (5, 5));
    /// ```
    pub fn of(times_s: &[f64]) -> Option<Self> {
        let gaps: Vec<f64> =
            times_s.windows(2).map(|pair| pair[1] - pair[0]).filter(|gap| *gap > 0.0).collect();
        if gaps.len() < LEAST_GAPS {
            return None;
        }
        let mut period = quantile(&gaps, 0.2)?;
        let mut single = Vec::new();
        // Twice, because the first guess lies low where the frames jitter.
        for _ in 0..2 {
            let one = |gap: &&f64| (0.5..1.5).contains(&(**gap / period));
            single = gaps.iter().filter(one).copied().collect();
            period = single.iter().sum::<f64>() / single.len().max(1) as f64;
        }
        let periods = |gap: &f64| libm::rint(gap / period).max(1.0);
        let missing = gaps.iter().map(|gap| periods(gap) as usize - 1);
        let even = gaps.iter().filter(|gap| (*gap / period - periods(gap)).abs() <= EVEN).count();
        Some(Self {
            period_ms: 1_000.0 * period,
            jitter_ms: 1_000.0 * (quantile(&single, 0.95)? - quantile(&single, 0.05)?),
            missing: missing.clone().sum(),
            gaps: missing.filter(|count| *count > 0).count(),
            longest_ms: 1_000.0 * quantile(&gaps, 1.0)?,
            even: even as f64 / gaps.len() as f64,
        })
    }

    /// Share of the frames that did not come.
    pub fn missing_share(&self, arrived: usize) -> f64 {
        self.missing as f64 / (self.missing + arrived).max(1) as f64
    }
}

/// Each pulse's time \[s\] with the time since the one before it \[ms\].
pub fn waits(samples: &[[f64; 2]]) -> Vec<(f64, f64)> {
    samples.windows(2).map(|pair| (pair[1][0], 1_000.0 * (pair[1][0] - pair[0][0]))).collect()
}

/// The finest step in which pulse widths were recorded \[us\]; 0 where all are the same.
pub(crate) fn resolution_us(widths: &[f64]) -> f64 {
    let mut sorted = widths.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let steps: Vec<f64> =
        sorted.windows(2).map(|pair| pair[1] - pair[0]).filter(|step| *step > 1.0e-6).collect();
    quantile(&steps, 0.0).unwrap_or(0.0)
}

/// The median change from pulse to pulse as a standard deviation \[us\]: noise that is seen through
/// the throttle's motion. For normal noise the difference of two has sqrt 2 of its deviation, and
/// the median size of that is 0.6745 deviations.
pub(crate) fn change_to_change_us(samples: &[[f64; 2]]) -> f64 {
    let changes: Vec<f64> =
        samples.windows(2).map(|pair| (pair[1][1] - pair[0][1]).abs()).collect();
    median(&changes).unwrap_or(0.0) / (0.674_5 * std::f64::consts::SQRT_2)
}
