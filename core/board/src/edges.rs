//! Speed by counted edges: the time between edges gives it; while none comes it is at most what the
//! wait allows, and after half a second the wheels stand.
//!
//! The same rule as in the simulator's sensor.

use easeoff_core::{Command, Duty, Speed};

/// Wheels without an edge for this long stand \[us\].
const STANDS_AFTER_US: u32 = 500_000;

/// What an interrupt keeps: how many edges came, and when the last did. Both wrap.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct EdgeCount {
    /// Edges since power-on.
    pub count: u32,
    /// When the last came \[us\].
    pub last_us: u32,
}

impl EdgeCount {
    /// Notes an edge. For an interrupt: bounded, no float, no panic.
    pub fn note(&mut self, now_us: u32) {
        self.count = self.count.wrapping_add(1);
        self.last_us = now_us;
    }
}

/// A wheel with edges, made ready.
#[derive(Clone, Copy, Debug)]
pub struct EdgeSpeed {
    /// \[rad us/s\], with 16 fraction bits: the angle between edges times a million.
    spacing: u64,
}

/// What it remembers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct EdgeState {
    before: EdgeCount,
    started: bool,
    size: u32,
    stands: bool,
    backward: bool,
}

impl EdgeSpeed {
    /// `per_turn` edges of one kind (rising, say) pass in a turn of the wheel; `None` for 0.
    pub fn new(per_turn: u16) -> Option<Self> {
        // 2 pi * 2^16 * 1e6, rounded.
        const TURN: u64 = 411_774_816_760;
        TURN.checked_div(u64::from(per_turn)).map(|spacing| Self { spacing })
    }

    /// The speed now. One track of edges does not tell the direction: it is taken to be the one the
    /// motor was last told to drive, `commanded`.
    ///
    /// ```
    /// use easeoff_board::{EdgeCount, EdgeSpeed, EdgeState};
    /// use easeoff_core::Command;
    /// let (wheel, mut state) = (EdgeSpeed::new(12).unwrap(), EdgeState::default());
    /// let mut edges = EdgeCount::default();
    /// let mut speed = 0.0;
    /// for ms in 0..500_u32 {
    ///     if ms % 20 == 0 {
    ///         edges.note(ms * 1_000); // an edge every 20 ms: 2 pi / 12 / 0.02 s
    ///     }
    ///     speed = wheel.step(&mut state, edges, ms * 1_000, Command::Coast).to_f32();
    /// }
    /// assert!((speed - 26.18).abs() < 0.01);
    /// ```
    pub fn step(
        &self,
        state: &mut EdgeState,
        edges: EdgeCount,
        now_us: u32,
        commanded: Command,
    ) -> Speed {
        let duty = commanded.duty();
        if duty != Duty::ZERO {
            state.backward = duty < Duty::ZERO;
        }
        if !state.started {
            (state.started, state.stands, state.before) = (true, true, edges);
        }
        let passed = edges.count.wrapping_sub(state.before.count);
        if passed == 0 {
            // An interrupt may come between reading the clock and reading the edges.
            let waited = now_us.wrapping_sub(edges.last_us).cast_signed().max(1).unsigned_abs();
            state.stands |= waited > STANDS_AFTER_US;
            state.size = if state.stands { 0 } else { state.size.min(self.over(1, waited)) };
        } else {
            let waited = edges.last_us.wrapping_sub(state.before.last_us);
            // The first edge after a stand: there was no time to compare with.
            state.size = if state.stands || waited > STANDS_AFTER_US {
                self.over(1, STANDS_AFTER_US)
            } else {
                self.over(passed, waited)
            };
            (state.before, state.stands) = (edges, false);
        }
        let bits = i32::try_from(state.size).unwrap_or(i32::MAX);
        Speed::from_bits(if state.backward { bits.saturating_neg() } else { bits })
    }

    /// So many edges in so much time, as [`Speed`]'s bits.
    fn over(&self, passed: u32, waited_us: u32) -> u32 {
        let turned = self.spacing.saturating_mul(u64::from(passed));
        let bits = turned.checked_div(u64::from(waited_us)).unwrap_or(u64::from(u32::MAX));
        u32::try_from(bits).unwrap_or(u32::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    struct Bench {
        wheel: EdgeSpeed,
        state: EdgeState,
        edges: EdgeCount,
        per_turn: f64,
        angle: f64,
        now_us: u32,
    }

    impl Bench {
        fn new(per_turn: u16, now_us: u32) -> Self {
            Self {
                wheel: EdgeSpeed::new(per_turn).unwrap(),
                state: EdgeState::default(),
                edges: EdgeCount::default(),
                per_turn: per_turn.into(),
                angle: 0.0,
                now_us,
            }
        }

        /// Turns at a speed for some milliseconds; the last reading.
        fn turn(&mut self, rad_s: f64, ms: u32, commanded: Command) -> f64 {
            let mut reading = 0.0;
            for _ in 0..ms {
                for _ in 0..1_000 {
                    let before = (self.angle * self.per_turn / TAU).floor();
                    self.angle += rad_s * 1e-6;
                    if (self.angle * self.per_turn / TAU).floor() > before {
                        self.edges.note(self.now_us);
                    }
                    self.now_us = self.now_us.wrapping_add(1);
                }
                let speed = self.wheel.step(&mut self.state, self.edges, self.now_us, commanded);
                reading = speed.to_f32().into();
            }
            reading
        }
    }

    #[test]
    fn a_steady_wheel_is_read_within_a_microsecond_per_edge() {
        for rad_s in [2.0, 7.3, 40.0, 150.0] {
            let mut bench = Bench::new(12, 0);
            let reading = bench.turn(rad_s, 1_500, Command::Coast);
            let between_us = TAU / 12.0 / rad_s * 1e6;
            assert!((reading / rad_s - 1.0).abs() < 1.5 / between_us, "{rad_s}: {reading}");
        }
    }

    /// The clock wraps after 71 minutes; a speed must not notice.
    #[test]
    fn the_clock_may_wrap() {
        let mut bench = Bench::new(12, u32::MAX - 400_000);
        for _ in 0..8 {
            let reading = bench.turn(20.0, 100, Command::Coast);
            assert!(bench.edges.count < 3 || (reading - 20.0).abs() < 0.01, "{reading}");
        }
    }

    #[test]
    fn a_wheel_that_stops_reads_less_and_less_and_then_nothing() {
        let mut bench = Bench::new(12, 5);
        let mut before = bench.turn(20.0, 300, Command::Coast);
        assert!((before - 20.0).abs() < 0.01);
        for _ in 0..600 {
            let reading = bench.turn(0.0, 1, Command::Coast);
            assert!(reading <= before && reading >= 0.0);
            before = reading;
        }
        assert_eq!(before, 0.0);
        // Much later, also after the clock has wrapped, it still stands.
        bench.now_us = bench.now_us.wrapping_add(u32::MAX / 2 + 9);
        assert_eq!(bench.turn(0.0, 1, Command::Coast), 0.0);
        let reading = bench.turn(20.0, 30, Command::Coast);
        assert!(reading > 0.0 && reading <= 20.1, "{reading}");
    }

    #[test]
    fn the_direction_is_the_last_one_driven() {
        let mut bench = Bench::new(12, 5);
        let back = Command::Drive { duty: Duty::LOWEST };
        assert!(bench.turn(20.0, 300, back) < -19.9);
        assert!(bench.turn(20.0, 300, Command::Coast) < -19.9);
        let ahead = Command::Drive { duty: Duty::HIGHEST };
        assert!(bench.turn(20.0, 300, ahead) > 19.9);
        assert!(EdgeSpeed::new(0).is_none());
    }
}
