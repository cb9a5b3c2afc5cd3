//! Holding the speed, and giving way.

use super::{Ticks, down, up};
use easeoff_core::{GiveWaySettings, HoldSettings, SlewSettings};

#[derive(Clone, Debug, Default)]
pub(crate) struct Hold {
    integral: f64,
    fade: f64,
    /// On the demand's own side.
    duty: f64,
    pub(crate) added: f64,
    pub(crate) blind: bool,
    pub(crate) at_authority: bool,
    pub(crate) give_way: GiveWay,
}

impl Hold {
    /// The duty for a demand and a speed, both on the demand's own side; the throttle drives.
    pub(crate) fn step(
        &mut self,
        set: &HoldSettings,
        slew: &SlewSettings,
        ticks: Ticks,
        demand: f64,
        speed: Option<f64>,
    ) -> f64 {
        let full = f64::from(set.full_speed_rad_s);
        let speed = speed.filter(|speed| speed.abs() <= 2.0 * full);
        if demand == 0.0 {
            *self = Self::default();
            return 0.0;
        }
        let was_faded = self.fade == 0.0;
        let was_blind = std::mem::replace(&mut self.blind, speed.is_none());
        let fade_step = 1.0 / ticks.of(set.fade_ms).max(1.0);
        self.fade = if self.blind { down(self.fade, fade_step) } else { up(self.fade, fade_step) };
        let open = f64::from(set.feed_forward) * demand;
        let authority = f64::from(set.authority);
        let may = authority * self.fade;
        if let (Some(give_way), Some(speed)) = (&set.give_way, speed) {
            let most = authority.min(1.0 - open);
            self.give_way.step(give_way, ticks, self.added, most, speed / full >= demand);
        }
        // Without a speed what was added stays, as far as the falling authority lets it.
        let may_add = if self.blind { may } else { may * self.give_way.leaves };
        let high = may_add.min(1.0 - open);
        let low = -may.min(open);

        let (gain, droop) = (f64::from(set.gain), f64::from(set.droop));
        let gain_per_tick = f64::from(set.gain_per_s) * ticks.tick_s();
        let (asked, relative) = match speed {
            Some(speed) => {
                let error = demand - speed / full;
                let both = gain + gain_per_tick;
                if was_blind {
                    // It goes on where it is, or begins anew.
                    let goes_on = self.added - both * (error - droop * self.added);
                    self.integral = if was_faded { 0.0 } else { goes_on };
                }
                ((both * error + self.integral) / (1.0 + droop * both), Some(speed / full))
            }
            None => (self.added, None),
        };
        // The duty changes no faster than the demand may, whatever `low` and `high` say.
        let rise = f64::from(slew.rise_per_s) * ticks.tick_s();
        let ease = f64::from(slew.ease_per_s) * ticks.tick_s();
        let (least, most) = (self.duty - ease - open, self.duty + rise - open);
        self.added = asked.max(low).min(high).max(least).min(most);
        self.duty = (open + self.added).clamp(0.0, 1.0);
        self.at_authority = false;
        if let Some(relative) = relative {
            let error = demand - relative - droop * self.added;
            let into = (asked > self.added && error > 0.0) || (asked < self.added && error < 0.0);
            if !into {
                self.integral += gain_per_tick * error;
            }
            self.integral = self.integral.max(low).min(high);
            self.at_authority = self.fade == 1.0 && self.added >= high && demand > relative;
        }
        self.duty
    }
}

#[derive(Clone, Debug)]
pub(crate) struct GiveWay {
    pub(crate) bogged: bool,
    /// The share of what the loop may add that is left.
    leaves: f64,
    fought_ticks: u32,
}

impl Default for GiveWay {
    fn default() -> Self {
        Self { bogged: false, leaves: 1.0, fought_ticks: 0 }
    }
}

impl GiveWay {
    fn step(&mut self, set: &GiveWaySettings, ticks: Ticks, added: f64, most: f64, reached: bool) {
        // A bound reached counts as exceeded.
        let fights = added > 0.999 * f64::from(set.share) * most && !self.bogged;
        self.fought_ticks = if fights { self.fought_ticks + 1 } else { 0 };
        self.bogged = if self.bogged {
            !reached
        } else {
            f64::from(self.fought_ticks) >= ticks.of(set.after_ms).max(1.0)
        };
        let step = 1.0 / ticks.of(set.release_ms).max(1.0);
        self.leaves = if self.bogged { down(self.leaves, step) } else { up(self.leaves, step) };
    }
}
