//! A driver model that looks and reacts, and keeps a pace.
//!
//! A trained human operator behaves so that he and what he controls together are nearly
//!
//! ```text
//! Y_p Y_c = omega_c e^(-tau s) / s          near the crossover omega_c
//! ```
//!
//! (the crossover model: McRuer and Jex, IEEE Trans. Human Factors in Electronics 8, 1967; typical `tau`
//! 0.1 to 0.3 s and `omega_c` of a few rad/s second hand). To a rig that answers the throttle
//! with `v_full / (T s + 1)` such a driver is
//!
//! ```text
//! throttle = omega_c / v_full (T e + integral of e),   tau later,   e = pace - seen speed
//! ```
//!
//! He sees a change of speed only once it is more than the Weber fraction (7 %: De Bruyn and Orban,
//! Vision Research 28, 1988).
//!
//! One who spares the rig gives it, try by try, no more throttle than its pace took when it had reached it, and
//! lets go when it falls short of that pace: by what he sees, so a speed hold that keeps the speed keeps him from
//! it.

use std::collections::VecDeque;

use easeoff_plant::interpolate::straight;
use serde::Serialize;

/// Changes of speed that nobody sees, however slow it is \[m/s\]; assumed.
const UNSEEN_M_S: f64 = 0.01;
/// A rig that has come this near to its pace has reached it.
const REACHED: f64 = 0.9;

/// What kind of driver, told what.
#[derive(Clone, Debug, Serialize)]
pub struct HumanData {
    /// The pace \[m/s\] over place along the course \[m\], in straight lines.
    pub pace_m_s: Vec<[f64; 2]>,
    /// When the driver begins \[s\].
    pub from_s: f64,
    /// Crossover frequency: how hard the driver tries \[rad/s\].
    pub crossover_rad_s: f64,
    /// From seeing to moving \[s\].
    pub delay_s: f64,
    /// Share by which the speed must change to be seen.
    pub weber: f64,
    /// Speed that the driver expects of full throttle \[m/s\].
    pub full_speed_m_s: f64,
    /// How long the driver expects the rig to take to follow \[s\].
    pub lag_s: f64,
    /// What the driver is told to do.
    pub aim: Aim,
}

/// What matters to the driver.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Aim {
    /// Keeps the pace with whatever throttle it takes.
    KeepPace,
    /// Adds no throttle once the pace is reached; lets go when the rig falls short of it, waits, and
    /// tries again.
    SpareRig {
        /// Share of the pace that it may fall short.
        short: f64,
        /// How long he waits \[s\].
        rest_s: f64,
    },
}

/// A driver made ready for one tick length.
#[derive(Clone, Debug)]
pub struct Human {
    data: HumanData,
    tick_s: f64,
    delay_ticks: usize,
}

/// What goes on in the driver's mind.
#[derive(Clone, Debug, Default)]
pub struct HumanState {
    seen_m_s: f64,
    /// Integral of the error \[m\].
    wanting_m: f64,
    /// Whether the pace has been reached, by one who spares the rig ...
    reached: bool,
    /// ... and the throttle that it took.
    most: f64,
    rests_until_s: f64,
    /// Throttle decided on, on its way to the hand.
    decided: VecDeque<f64>,
}

impl Human {
    /// For ticks of `tick_s`.
    pub fn new(data: &HumanData, tick_s: f64) -> Self {
        let delay_ticks = (data.delay_s / tick_s).round() as usize;
        Self { data: data.clone(), tick_s, delay_ticks }
    }

    /// The throttle in a tick, 0 to 1, with the rig's speed and place as they are.
    pub fn step(&self, state: &mut HumanState, time_s: f64, place_m: f64, speed_m_s: f64) -> f64 {
        let least = (self.data.weber * state.seen_m_s.abs()).max(self.unseen_m_s());
        if (speed_m_s - state.seen_m_s).abs() >= least {
            state.seen_m_s = speed_m_s;
        }
        let pace_m_s = straight(&self.data.pace_m_s, place_m);
        let decided = if time_s < self.data.from_s || self.rests(state, time_s, pace_m_s) {
            state.wanting_m = 0.0;
            0.0
        } else {
            self.pursue(state, pace_m_s)
        };
        state.decided.push_back(decided);
        if state.decided.len() <= self.delay_ticks {
            return 0.0;
        }
        state.decided.pop_front().unwrap_or(0.0)
    }

    /// An eye without a Weber fraction sees everything.
    fn unseen_m_s(&self) -> f64 {
        if self.data.weber > 0.0 { UNSEEN_M_S } else { 0.0 }
    }

    fn rests(&self, state: &mut HumanState, time_s: f64, pace_m_s: f64) -> bool {
        let Aim::SpareRig { short, rest_s } = self.data.aim else { return false };
        state.reached |= state.seen_m_s > REACHED * pace_m_s;
        if state.reached && state.seen_m_s < (1.0 - short) * pace_m_s {
            state.reached = false;
            state.rests_until_s = time_s + rest_s;
        }
        time_s < state.rests_until_s
    }

    fn pursue(&self, state: &mut HumanState, pace_m_s: f64) -> f64 {
        let HumanData { crossover_rad_s, full_speed_m_s, lag_s, .. } = self.data;
        let error_m_s = pace_m_s - state.seen_m_s;
        let throttle =
            |wanting_m: f64| crossover_rad_s / full_speed_m_s * (lag_s * error_m_s + wanting_m);
        let wanting_m = state.wanting_m + error_m_s * self.tick_s;
        // At an end of the throttle's travel nobody wants ever more of it.
        let winds_up = (throttle(wanting_m) > 1.0 && error_m_s > 0.0)
            || (throttle(wanting_m) < 0.0 && error_m_s < 0.0);
        if !winds_up {
            state.wanting_m = wanting_m;
        }
        let wish = throttle(state.wanting_m).clamp(0.0, 1.0);
        if !state.reached {
            state.most = wish;
        }
        wish.min(state.most)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn data() -> HumanData {
        HumanData {
            pace_m_s: vec![[0.0, 1.0]],
            from_s: 0.0,
            crossover_rad_s: 2.0,
            delay_s: 0.2,
            weber: 0.0,
            full_speed_m_s: 2.0,
            lag_s: 0.3,
            aim: Aim::KeepPace,
        }
    }

    const TICK_S: f64 = 1.0e-3;

    /// The speeds of a rig that is just what the driver expects, from the pace with a small push.
    fn speeds(data: &HumanData, seconds: f64) -> Vec<f64> {
        let driver = Human::new(data, TICK_S);
        let (mut state, mut speed) = (HumanState::default(), 1.0);
        // As if it had kept the pace for long.
        state.seen_m_s = speed;
        state.wanting_m = 0.5 * data.full_speed_m_s / data.crossover_rad_s;
        state.decided = vec![0.5; driver.delay_ticks].into();
        let ticks = (seconds / TICK_S) as u32;
        (0..ticks)
            .map(|tick| {
                let throttle = driver.step(&mut state, f64::from(tick) * TICK_S, 0.0, speed);
                let push = if tick < 50 { 0.1 } else { 0.0 };
                speed += TICK_S * ((data.full_speed_m_s * throttle - speed) / data.lag_s + push);
                speed
            })
            .collect()
    }

    fn swing(speeds: &[f64]) -> f64 {
        speeds.iter().fold(0.0, |most: f64, speed| most.max((speed - 1.0).abs()))
    }

    /// H9, algebra from the crossover model (McRuer and Jex 1967): `omega_c e^(-tau s) / s` is stable up to
    /// `omega_c = pi / (2 tau)`: 7.854 rad/s at 0.2 s, 5.236 rad/s at 0.3 s.
    #[test]
    fn h9_the_loop_is_stable_up_to_the_crossover_models_limit() {
        for (delay_s, limit_rad_s) in [(0.2, 7.854), (0.3, 5.236)] {
            for (share, decays) in [(0.97, true), (1.03, false)] {
                let data = HumanData { delay_s, crossover_rad_s: share * limit_rad_s, ..data() };
                let speeds = speeds(&data, 12.0);
                let [early, late] =
                    [2_000..4_000, 10_000..12_000].map(|range| swing(&speeds[range]));
                assert_eq!(late < early, decays, "{delay_s} s, {share}: {early} {late}");
            }
        }
    }

    /// H7, De Bruyn and Orban 1988: 7 % is seen, less is not.
    #[test]
    fn h7_a_small_change_of_speed_is_not_seen() {
        let driver = Human::new(&HumanData { weber: 0.07, delay_s: 0.0, ..data() }, TICK_S);
        let mut state = HumanState { seen_m_s: 1.0, ..HumanState::default() };
        driver.step(&mut state, 0.0, 0.0, 0.94);
        assert_eq!(state.seen_m_s, 1.0);
        driver.step(&mut state, 0.0, 0.0, 0.925);
        assert_eq!(state.seen_m_s, 0.925);
    }

    #[test]
    fn one_who_spares_the_rig_lets_go_and_tries_again() {
        let aim = Aim::SpareRig { short: 0.3, rest_s: 1.0 };
        let driver = Human::new(&HumanData { aim, delay_s: 0.0, ..data() }, TICK_S);
        let mut state = HumanState::default();
        let mut throttle = |time_s, speed_m_s| driver.step(&mut state, time_s, 0.0, speed_m_s);
        assert!(throttle(0.0, 0.2) > 0.0, "starting is no falling short");
        assert!(throttle(0.1, 0.95) > 0.0);
        assert!(throttle(0.2, 0.75) > 0.0);
        assert_eq!(throttle(0.3, 0.65), 0.0);
        assert_eq!(throttle(1.2, 0.0), 0.0);
        assert!(throttle(1.4, 0.0) > 0.0);
    }
}
