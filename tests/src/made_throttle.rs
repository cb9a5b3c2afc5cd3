//! Throttles whose truth is known, and recordings of them.

/// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
pub struct Random(
    /// The seed, and then the state.
    pub u64,
);

impl Random {
    /// From 0 to below 1, all alike.
    pub fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From `low` to below `high`, all alike.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }

    /// Normally distributed, with a deviation of 1: Box and Muller 1958.
    pub fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.even()));
        radius * libm::cos(std::f64::consts::TAU * self.even())
    }
}

/// A throttle, its radio, and how it is recorded.
#[derive(Clone, Debug)]
pub struct Truth {
    /// The pulse at the low end \[us\].
    pub low_us: f64,
    /// The pulse when let go \[us\].
    pub neutral_us: f64,
    /// The pulse at the high end \[us\].
    pub high_us: f64,
    /// Whether low and high are exchanged.
    pub reversed: bool,
    /// The deviation of each width \[us\].
    pub noise_us: f64,
    /// How far widths drift over the recording \[us\].
    pub drift_us: f64,
    /// From pulse to pulse \[s\].
    pub period_s: f64,
    /// The most by which a pulse comes early or late \[s\].
    pub jitter_s: f64,
    /// The share of pulses that do not arrive, 0 to 1.
    pub missing_share: f64,
    /// The share of pulses that are off by `glitch_us`, 0 to 1.
    pub glitch_share: f64,
    /// By how much such a pulse is off \[us\].
    pub glitch_us: f64,
    /// Widths are recorded in this step \[us\].
    pub step_us: f64,
    /// Where the throttle goes, and for how long it stays: -1 low, 0 neutral, 1 high.
    pub script: Vec<(f64, f64)>,
}

impl Default for Truth {
    fn default() -> Self {
        Self {
            low_us: 1_012.0,
            neutral_us: 1_507.0,
            high_us: 1_978.0,
            reversed: false,
            noise_us: 1.0,
            drift_us: 0.0,
            period_s: 0.02,
            jitter_s: 0.0,
            missing_share: 0.0,
            glitch_share: 0.0,
            glitch_us: -1_200.0,
            step_us: 1.0,
            script: vec![(0.0, 3.0), (1.0, 3.0), (-1.0, 3.0), (0.0, 3.0)],
        }
    }
}

/// What was recorded, and what was left out of it or put into it.
pub struct Recorded {
    /// Time \[s\] and width \[us\] of each pulse.
    pub samples: Vec<[f64; 2]>,
    /// How many pulses did not arrive.
    pub missing: usize,
    /// In how many gaps.
    pub gaps: usize,
    /// How many pulses were off.
    pub wild: usize,
}

impl Truth {
    /// Any throttle that is still sound.
    pub fn random(random: &mut Random) -> Self {
        let neutral_us = random.within(1_400.0, 1_600.0);
        let period_s = random.within(0.005, 0.025);
        Self {
            low_us: neutral_us - random.within(250.0, 550.0),
            neutral_us,
            high_us: neutral_us + random.within(250.0, 550.0),
            reversed: random.even() < 0.5,
            noise_us: random.within(0.0, 1.2),
            period_s,
            jitter_s: period_s * random.within(0.0, 0.08),
            missing_share: random.within(0.0, 0.1),
            step_us: [0.0, 0.125, 1.0][(3.0 * random.even()) as usize],
            ..Self::default()
        }
    }

    /// The pulse at a place between -1 and 1 \[us\].
    pub fn width_us(&self, place: f64) -> f64 {
        let place = if self.reversed { -place } else { place };
        let to = if place < 0.0 { self.low_us } else { self.high_us };
        self.neutral_us + place.abs() * (to - self.neutral_us)
    }

    /// Where the throttle is: it takes 0.4 s from place to place.
    pub fn place(&self, time_s: f64) -> f64 {
        let (mut from, mut left) = (self.script[0].0, time_s);
        for (to, stays_s) in &self.script {
            if left < 0.4 && from != *to {
                return from + (to - from) * left / 0.4;
            }
            left -= stays_s + if from == *to { 0.0 } else { 0.4 };
            if left < 0.0 {
                return *to;
            }
            from = *to;
        }
        from
    }

    /// The script, recorded.
    pub fn record(&self, random: &mut Random) -> Recorded {
        let moves = self.script.windows(2).filter(|pair| pair[0].0 != pair[1].0).count();
        let stays: f64 = self.script.iter().map(|(_, stays)| stays).sum();
        let total_s = stays + 0.4 * moves as f64;
        let count = (total_s / self.period_s) as usize;
        let mut recorded = Recorded { samples: Vec::new(), missing: 0, gaps: 0, wild: 0 };
        let mut in_gap = false;
        for frame in 0..count {
            // The first and the last arrive: what is missing outside of them nobody can see.
            let inner = frame > 0 && frame + 1 < count;
            if inner && random.even() < self.missing_share {
                recorded.missing += 1;
                recorded.gaps += usize::from(!in_gap);
                in_gap = true;
                continue;
            }
            in_gap = false;
            let sent_s = frame as f64 * self.period_s;
            let mut us = self.width_us(self.place(sent_s)) + self.drift_us * sent_s / total_s;
            us += self.noise_us * random.normal();
            if self.step_us > 0.0 {
                us = libm::rint(us / self.step_us) * self.step_us;
            }
            if random.even() < self.glitch_share {
                recorded.wild += 1;
                us += self.glitch_us;
            }
            let jitter = self.jitter_s * random.within(-1.0, 1.0);
            recorded.samples.push([0.1 + sent_s + jitter, us]);
        }
        recorded
    }
}

/// The file of such samples.
pub fn table(samples: &[[f64; 2]]) -> String {
    let rows: String = samples.iter().map(|[time, us]| format!("{time:.6},{us}\n")).collect();
    format!("time_s,pulse_us\n{rows}")
}
