//! Real time in whole controller ticks, exact to the nanosecond.

/// A window that was away for longer than this goes on from where it was \[s\]: catching up a minute at
/// once would be a drive that nobody saw.
pub const MOST_BEHIND_S: f64 = 0.1;
/// Slow motion is so many times slower.
pub const SLOWER: u64 = 4;

/// How many ticks are due.
#[derive(Clone, Copy, Debug)]
pub struct Pace {
    tick_hz: u64,
    /// When it last looked \[ns\].
    last_ns: Option<u64>,
    /// Time not yet given out, in nanoseconds times ticks per second times [`SLOWER`].
    owed: u64,
    /// A quarter of the speed.
    pub slow: bool,
    /// Time that was let go because the window was away \[s\].
    pub let_go_s: f64,
}

impl Pace {
    /// For so many ticks per second.
    pub fn new(tick_hz: u16) -> Self {
        Self { tick_hz: tick_hz.into(), last_ns: None, owed: 0, slow: false, let_go_s: 0.0 }
    }

    /// The ticks due at `now_s` on a clock that never goes back, since it was last asked; bounded by
    /// [`MOST_BEHIND_S`].
    pub fn due(&mut self, now_s: f64) -> u32 {
        let now_ns = (now_s.max(0.0) * 1.0e9).round() as u64;
        let passed = now_ns.saturating_sub(self.last_ns.unwrap_or(now_ns));
        self.last_ns = Some(now_ns);
        let most = (MOST_BEHIND_S * 1.0e9) as u64;
        self.let_go_s += passed.saturating_sub(most) as f64 / 1.0e9;
        let share = if self.slow { 1 } else { SLOWER };
        self.owed += passed.min(most) * self.tick_hz * share;
        let tick = 1_000_000_000 * SLOWER;
        let due = self.owed / tick;
        self.owed %= tick;
        due as u32
    }

    /// Lets the time up to `now_s` go by without a tick: the drive is paused.
    pub fn rest(&mut self, now_s: f64) {
        self.last_ns = Some((now_s.max(0.0) * 1.0e9).round() as u64);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_minutes_of_uneven_frames_give_every_tick_once() {
        for hz in [100, 1_000, 1_234, 8_000] {
            let (mut pace, mut now_s, mut ticks) = (Pace::new(hz), 0.0, 0_u64);
            pace.due(now_s);
            let mut frames = 0_u32;
            while now_s < 600.0 {
                now_s += [0.016_6, 0.007, 0.033, 0.000_1, 0.09][frames as usize % 5];
                frames += 1;
                ticks += u64::from(pace.due(now_s));
            }
            let exact = now_s * f64::from(hz);
            assert!((ticks as f64 - exact).abs() <= 1.0 + 1.0e-6, "{ticks} of {exact}");
            assert_eq!(pace.let_go_s, 0.0);
        }
    }

    #[test]
    fn catching_up_is_bounded_and_slow_motion_is_a_quarter() {
        let mut pace = Pace::new(1_000);
        assert_eq!(pace.due(5.0), 0, "the first look only starts the clock");
        assert_eq!(pace.due(65.0), 100);
        assert!((pace.let_go_s - 59.9).abs() < 1e-9);
        pace.slow = true;
        assert_eq!((0..100).map(|n| pace.due(65.0 + 0.01 * f64::from(n + 1))).sum::<u32>(), 250);
        pace.rest(90.0);
        assert_eq!(pace.due(90.004), 1);
        assert_eq!(pace.due(80.0), 0, "a clock that went back gives nothing");
    }
}
