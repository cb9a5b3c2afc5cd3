//! Whether a load is hidden from the driver at this moment: the definitions of masking and notice time in the
//! book's chapter on scores, followed while driving.
//!
//! A load is a snag for as long as it pulls and the throttle is held. It is hidden until the driver can have
//! noticed it: the wheels 7 % slower than before it for 0.2 s, and 0.75 s to react; once he has seen it, that
//! time runs on though the load may end. How much of its speed drop the speed loop hides is measured against the same
//! rig without it, which drives on beside ours from the load's start; both once more without the load tell what
//! the ground does meanwhile.

use std::collections::VecDeque;

use easeoff_core::Settings;
use easeoff_sim::files::retune::Retune;
use easeoff_sim::run::{Row, Simulation};
use easeoff_sim::score::episode::{
    HELD, LEAST_DROP, NoPace, QUIET_S, REACTION_S, STEADY_S, WEBER, mean, pace,
};

/// What is to be seen of a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bog {
    /// Nothing pulls.
    Free,
    /// Something pulls and the driver cannot have noticed.
    Hidden,
    /// Something pulls and the driver can have noticed.
    Noticeable,
    /// Something pulls, but what the driver can notice of it cannot be told.
    Unmeasured(Why),
}

/// Why a load is not measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The throttle moved while it pulled.
    Moved,
    /// There was no steady speed before it.
    NoPace(NoPace),
}

/// One load, under way or the last one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// When it began \[s\].
    pub from_s: f64,
    /// Steady wheel speed before it \[m/s\].
    pub before_m_s: f64,
    /// When the wheels had been slow for long enough to be seen \[s\].
    pub seen_s: Option<f64>,
    /// From its start until the driver acts \[s\]; `None`: not yet, or never.
    pub notice_s: Option<f64>,
    /// Peak torque in the drive line while hidden \[N m\].
    pub hidden_n_m: f64,
    /// Heat in the winding while hidden \[J\].
    pub hidden_j: f64,
    /// 1 - speed drop / speed drop without speed hold; `None` where there is none without.
    pub masking: Option<f64>,
}

/// Wheel speed over the last half second.
#[derive(Clone, Debug, Default)]
struct Steady {
    speeds: VecDeque<f64>,
}

impl Steady {
    fn take(&mut self, row: &Row, most: usize) {
        if self.speeds.len() >= most.max(1) {
            self.speeds.pop_front();
        }
        self.speeds.push_back(row.wheel_speed_m_s());
    }

    /// Summed afresh, so that no error piles up.
    fn mean(&self) -> f64 {
        mean(self.speeds.iter().copied())
    }
}

/// Rigs beside ours from a load's start: without speed hold, the same without the load, and ours without it.
#[derive(Clone)]
struct Alongside {
    rigs: [Simulation<'static>; 3],
    steady: [Steady; 3],
}

/// A tune for each of the rigs beside one under `tune`.
fn tunes(tune: Settings) -> [Settings; 3] {
    let open = Settings { hold: None, ..tune };
    [open, open, tune]
}

impl Alongside {
    fn new(ours: Simulation<'static>, tune: Settings, steady: &Steady) -> Self {
        let mut free = ours.clone();
        free.plant.clear_snags(&mut free.state);
        let at_s = ours.time_s();
        let mut alongside = Self {
            rigs: [ours, free.clone(), free],
            steady: std::array::from_fn(|_| steady.clone()),
        };
        alongside.retune(at_s, tune);
        alongside
    }

    fn retune(&mut self, at_s: f64, tune: Settings) {
        for (rig, tune) in self.rigs.iter_mut().zip(tunes(tune)) {
            rig.driver_mut().retunes.push(Retune { at_s, tune });
        }
    }

    /// 1 - speed drop / speed drop without speed hold, `now_m_s` being our speed. A speed drop is the share of the speed
    /// that the load takes: what the ground takes with and without it is not the load's.
    fn masking(&self, now_m_s: f64) -> Option<f64> {
        let [open_m_s, open_free_m_s, free_m_s] = [0, 1, 2].map(|rig| self.steady[rig].mean());
        let without = (open_free_m_s - open_m_s) / open_free_m_s;
        let drop = (free_m_s - now_m_s) / free_m_s;
        (without > LEAST_DROP).then(|| 1.0 - drop / without)
    }
}

/// Watches row by row.
#[derive(Clone, Default)]
pub struct Watch {
    steady: Steady,
    /// What `steady` was before this load, and the demand that is held.
    held: f32,
    begun: u32,
    slow: u32,
    active: bool,
    /// A snag pulled in the last row.
    pulls: bool,
    /// The snag that pulls was no load from its start, or is none any more; wait for the next.
    deaf: Option<Why>,
    load: Option<Load>,
    alongside: Option<Box<Alongside>>,
}

impl Watch {
    /// What is to be seen now.
    pub fn bog(&self) -> Bog {
        match self.load {
            Some(Load { notice_s: None, .. }) if self.active => Bog::Hidden,
            Some(_) if self.active => Bog::Noticeable,
            _ => self.deaf.filter(|_| self.pulls).map_or(Bog::Free, Bog::Unmeasured),
        }
    }

    /// The load under way, or the last one.
    pub fn load(&self) -> Option<&Load> {
        self.load.as_ref()
    }

    /// Takes a row in. `tick_s` is the time between rows; `ours` gives the rig as it is now and its tune, and is
    /// asked once at a load's start.
    pub fn take(
        &mut self,
        row: &Row,
        tick_s: f64,
        ours: impl FnOnce() -> Option<(Simulation<'static>, Settings)>,
    ) {
        self.pulls = row.flows.snag_n_m > 0.0;
        let demand = row.seen.demand.to_f32();
        if self.active {
            self.begun += 1;
            let moved = (demand - self.held).abs() > HELD;
            if moved {
                self.end(Some(Why::Moved));
            } else if !self.pulls && self.begun > 1 {
                self.end(None);
            } else {
                self.go_on(row, tick_s);
            }
        } else if !self.pulls {
            self.deaf = None;
        } else if self.deaf.is_none() {
            match pace(self.steady.speeds.iter().copied(), tick_s) {
                Ok(before_m_s) => self.begin(row, tick_s, before_m_s, ours()),
                Err(why) => self.deaf = Some(Why::NoPace(why)),
            }
        }
        // A driver who has seen it still needs his time when it ends.
        if !self.active
            && let Some(load) = self.load.as_mut().filter(|load| load.seen_s.is_some())
        {
            load.count(row, tick_s);
        }
        // A load's own first row is not before it.
        self.steady.take(row, (STEADY_S / tick_s) as usize);
    }

    /// Moves the rigs alongside ours by a tick, `driver` acting on each first.
    pub fn drive_alongside(&mut self, driver: impl Fn(&mut Simulation<'static>), tick_s: f64) {
        let Some(alongside) = &mut self.alongside else { return };
        let most = (STEADY_S / tick_s) as usize;
        for (rig, steady) in alongside.rigs.iter_mut().zip(&mut alongside.steady) {
            driver(rig);
            let Ok(row) = rig.tick() else {
                self.alongside = None;
                return;
            };
            steady.take(&row, most);
        }
    }

    /// The rigs beside ours are given a tune, too, some with its speed hold left out.
    pub fn retune(&mut self, at_s: f64, tune: Settings) {
        if let Some(alongside) = &mut self.alongside {
            alongside.retune(at_s, tune);
        }
    }

    fn begin(
        &mut self,
        row: &Row,
        tick_s: f64,
        before_m_s: f64,
        ours: Option<(Simulation<'static>, Settings)>,
    ) {
        self.active = true;
        self.held = row.seen.demand.to_f32();
        (self.begun, self.slow) = (0, 0);
        self.alongside =
            ours.map(|(ours, tune)| Box::new(Alongside::new(ours, tune, &self.steady)));
        self.load = Some(Load {
            from_s: row.time_s,
            before_m_s,
            seen_s: None,
            notice_s: None,
            hidden_n_m: row.flows.shaft_n_m.abs(),
            hidden_j: row.flows.winding_w * tick_s,
            masking: None,
        });
    }

    fn go_on(&mut self, row: &Row, tick_s: f64) {
        let masking =
            self.alongside.as_ref().and_then(|alongside| alongside.masking(self.steady.mean()));
        let Some(load) = &mut self.load else { return };
        let dropped = row.wheel_speed_m_s() < (1.0 - WEBER) * load.before_m_s;
        self.slow = if dropped { self.slow + 1 } else { 0 };
        if self.slow >= (QUIET_S / tick_s).round() as u32 {
            load.seen_s = load.seen_s.or(Some(row.time_s));
        }
        load.masking = masking;
        load.count(row, tick_s);
    }

    fn end(&mut self, why: Option<Why>) {
        self.active = false;
        self.deaf = why.filter(|_| self.pulls);
        self.alongside = None;
    }
}

impl Load {
    /// A row in which it is hidden, or the one in which the driver acts.
    fn count(&mut self, row: &Row, tick_s: f64) {
        let due_s = self.seen_s.map(|seen_s| seen_s + REACTION_S);
        if self.notice_s.is_some() {
            return;
        }
        if due_s.is_some_and(|due_s| row.time_s + tick_s / 2.0 >= due_s) {
            self.notice_s = Some(row.time_s - self.from_s);
        } else {
            self.hidden_n_m = self.hidden_n_m.max(row.flows.shaft_n_m.abs());
            self.hidden_j += row.flows.winding_w * tick_s;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_core::HoldSettings;
    use easeoff_sim::files::demo;
    use easeoff_sim::run::{DEFAULT_STEP_S, simulate};
    use easeoff_sim::score::episode;

    /// The light against the scores' own search over the finished run.
    #[test]
    fn the_light_goes_out_in_the_tick_that_the_scores_name() {
        let mut noticed = 0;
        for authority in [None, Some(0.1), Some(1.0)] {
            let mut scenario = demo::scenario("snag").unwrap();
            scenario.tune.hold = authority
                .map(|authority| HoldSettings { authority, ..scenario.tune.hold.unwrap() });
            let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
            let load = episode::load(&run).unwrap();
            let mut watch = Watch::default();
            let mut hidden = Vec::new();
            for (index, row) in run.rows.iter().enumerate() {
                watch.take(row, run.tick_s, || None);
                if watch.bog() == Bog::Hidden {
                    hidden.push(index);
                }
            }
            assert_eq!(hidden.first(), Some(&load.start), "{authority:?}");
            assert_eq!(hidden.len(), load.noticed.unwrap_or(load.end) - load.start);
            let ours = watch.load().unwrap();
            assert!((ours.before_m_s - load.before_m_s).abs() < 1.0e-9);
            let rows = &run.rows[load.start..load.noticed.unwrap_or(load.end)];
            let peak = rows.iter().map(|row| row.flows.shaft_n_m.abs()).fold(0.0, f64::max);
            assert_eq!(ours.hidden_n_m, peak);
            let heat: f64 = rows.iter().map(|row| row.flows.winding_w * run.tick_s).sum();
            assert!((ours.hidden_j - heat).abs() < 1.0e-9 * heat);
            noticed += usize::from(load.noticed.is_some());
        }
        assert!((1..3).contains(&noticed), "one kind hides it and one does not: {noticed}");
    }
}
