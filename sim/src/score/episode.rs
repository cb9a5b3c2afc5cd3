//! The parts of a run that scores look at: the first let-off and the first load.

use crate::run::{Row, Run};

/// Smallest relative change of speed that a driver sees: De Bruyn and Orban 1988, Vision Research
/// 28(12), about 7 %.
pub const WEBER: f64 = 0.07;
/// Time from seeing to acting when expected \[s\]: Green 2000, Transportation Human Factors 2(3).
pub const REACTION_S: f64 = 0.75;
/// Slower than this for 0.2 s counts as stopped \[m/s\].
pub const STOPPED_M_S: f64 = 0.01;
/// So long it must last to be seen \[s\].
pub const QUIET_S: f64 = 0.2;
/// Steady speed is the mean over this time \[s\].
pub const STEADY_S: f64 = 0.5;
/// A speed drop smaller than this is none.
pub const LEAST_DROP: f64 = 1.0e-3;
/// Below this there is nothing to let go of and nothing to lose \[m/s\].
pub(crate) const SLOWEST_M_S: f64 = 0.05;
/// A speed whose last tenth of a second keeps to its mean over [`STEADY_S`] by less than a driver sees is steady.
pub const LAST_S: f64 = 0.1;
/// A throttle that moves by less than this counts as held; a recorded driver is never quite still.
pub const HELD: f32 = 0.03;

/// The first let-off of a run.
#[derive(Clone, Copy, Debug)]
pub struct LetOff {
    /// Row at which demand becomes neutral.
    pub start: usize,
    /// The way it goes there: 1 forward, -1 backward. All that is said of a let-off is said along it.
    pub along: f64,
    /// Row at which the rig begins to count as stopped: at rest, or creeping.
    pub stop: Option<usize>,
    /// How fast it then goes on \[m/s\]; 0 at rest.
    pub creeps_m_s: f64,
    /// One past the last row that belongs to it: stopped and quiet, throttle again, or the end.
    pub end: usize,
}

/// The first snag of a run.
#[derive(Clone, Copy, Debug)]
pub struct Load {
    /// Row at which the snag first pulls.
    pub start: usize,
    /// One past the last row under load with the throttle held.
    pub end: usize,
    /// The way it goes there: 1 forward, -1 backward.
    pub along: f64,
    /// Steady speed before it, along that \[m/s\].
    pub before_m_s: f64,
    /// Row at which the driver acts, if he ever does.
    pub noticed: Option<usize>,
}

/// Finds the first let-off from a speed above 0.05 m/s.
pub fn let_off(run: &Run) -> Option<LetOff> {
    let rows = &run.rows;
    let neutral = |row: &Row| row.seen.demand.is_neutral();
    let start = (1..rows.len()).find(|&index| {
        !neutral(&rows[index - 1])
            && neutral(&rows[index])
            && rows[index].speed_m_s().abs() > SLOWEST_M_S
    })?;
    let limit = (start..rows.len()).find(|&index| !neutral(&rows[index])).unwrap_or(rows.len());
    let quiet = ((QUIET_S / run.tick_s).round() as usize).max(1);
    let along = rows[start].speed_m_s().signum();
    let from_m_s = rows[start].speed_m_s().abs();
    let mut quiets = rows[start..limit].windows(quiet).zip(start..);
    let stop = quiets.find(|(window, _)| stands(window) || creeps(window, from_m_s));
    Some(LetOff {
        start,
        along,
        stop: stop.map(|(_, index)| index),
        creeps_m_s: stop
            .filter(|(window, _)| !stands(window))
            .map_or(0.0, |(window, _)| along * mean(window.iter().map(Row::speed_m_s))),
        end: stop.map_or(limit, |(_, index)| index + quiet),
    })
}

/// Slower than 10 mm/s, all the time.
fn stands(window: &[Row]) -> bool {
    window.iter().all(|row| row.speed_m_s().abs() < STOPPED_M_S)
}

/// No more than a tenth of its speed is left, and that stays: a shorted motor on a slope.
fn creeps(window: &[Row], from_m_s: f64) -> bool {
    if window[0].speed_m_s().abs() >= from_m_s / 10.0 {
        return false;
    }
    let speeds = window.iter().map(Row::speed_m_s);
    let (least, most) = speeds.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), speed| {
        (least.min(speed), most.max(speed))
    });
    most - least < STOPPED_M_S
}

/// Why there is no speed before a load from which a speed drop could be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoPace {
    /// It hardly drove.
    Slow,
    /// Its speed was still changing.
    Changing,
}

/// The steady speed \[m/s\] of the wheels' surface, of its values over the last [`STEADY_S`].
///
/// # Errors
/// When it hardly drove, or its speed was changing by so much that a driver sees it.
pub fn pace(
    speeds: impl DoubleEndedIterator<Item = f64> + Clone,
    tick_s: f64,
) -> Result<f64, NoPace> {
    let pace = mean(speeds.clone());
    // A snag on a standing rig takes no speed away.
    if pace < SLOWEST_M_S {
        return Err(NoPace::Slow);
    }
    let last = mean(speeds.rev().take(((LAST_S / tick_s) as usize).max(1)));
    if (last - pace).abs() < WEBER * pace { Ok(pace) } else { Err(NoPace::Changing) }
}

/// The mean; of nothing, 0.
pub fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
    sum / f64::from(count.max(1))
}

/// Finds the first snag, if it pulls while the throttle is held and catches a rig with a steady speed.
pub fn load(run: &Run) -> Option<Load> {
    let rows = &run.rows;
    let start = rows.iter().position(|row| row.flows.snag_n_m > 0.0)?;
    let held = rows[start].seen.demand;
    let end = (start..rows.len())
        .find(|&index| {
            let moved = (rows[index].seen.demand.to_f32() - held.to_f32()).abs() > HELD;
            rows[index].flows.snag_n_m <= 0.0 && index > start + 1 || moved
        })
        .unwrap_or(rows.len());
    let window = (STEADY_S / run.tick_s) as usize;
    let before = rows[start.saturating_sub(window)..start].iter().map(Row::wheel_speed_m_s);
    let along = mean(before.clone()).signum();
    let before_m_s = pace(before.map(|speed| along * speed), run.tick_s).ok()?;
    let quiet = (QUIET_S / run.tick_s).round() as usize;
    let mut slow = 0;
    let seen = (start..end).find(|&index| {
        let dropped = along * run.rows[index].wheel_speed_m_s() < (1.0 - WEBER) * before_m_s;
        slow = if dropped { slow + 1 } else { 0 };
        slow >= quiet
    });
    let reaction = (REACTION_S / run.tick_s).round() as usize;
    let noticed = seen.map(|index| index + reaction).filter(|&index| index < rows.len());
    Some(Load { start, end, along, before_m_s, noticed })
}

/// Mean speed of the wheels' surface \[m/s\] over rows `from .. to`.
pub(crate) fn mean_wheel_speed(run: &Run, from: usize, to: usize) -> f64 {
    mean(run.rows[from..to].iter().map(Row::wheel_speed_m_s))
}
