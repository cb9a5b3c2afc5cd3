//! Which pinion to take, and what speaks against the others.

use easeoff_plant::rig::{PINION_TEETH, Rig};

use super::row::{Pinion, Trial, free_m_s};
use crate::digits::digits;

/// Something that speaks against a pinion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// It does not get off the spot on the grade.
    Stands,
    /// The tyres slip on the grade.
    Slips,
    /// Winding or bridge is at its limit after so long \[s\].
    Hot(f64),
    /// The motor's slots end too near: so much negative backlash \[mm\].
    Binds(f64),
    /// So few pairs of teeth touch; whether because the slots end too far.
    Touch(f64, bool),
    /// The pinion's (0) or the spur gear's (1) teeth bear so much, and may bear so much \[MPa\].
    Bears(usize, f64, f64),
}

impl std::fmt::Display for Fault {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match *self {
            Self::Stands => write!(out, "stands on the grade"),
            Self::Slips => write!(out, "the tyres slip on the grade, with every pinion"),
            Self::Hot(limit_s) => write!(out, "too hot on the grade after {} s", digits(limit_s)),
            Self::Binds(_) => write!(out, "binds: the motor's slots end too near"),
            Self::Touch(ratio, too_far) => {
                let why = if too_far { ", the motor's slots end too far" } else { "" };
                write!(out, "only {ratio:.2} pairs of teeth touch{why}")
            }
            Self::Bears(index, is, most) => write!(
                out,
                "the {}'s teeth bear {} MPa, allowed are {}",
                GEARS[index],
                digits(is),
                digits(most)
            ),
        }
    }
}

/// Both gears of the mesh, as they are called.
pub(crate) const GEARS: [&str; 2] = ["pinion", "spur gear"];

/// What speaks against a pinion on a rig.
pub fn faults(rig: &Rig, pinion: &Pinion) -> Vec<Fault> {
    let mut faults = Vec::new();
    if pinion.climb.speed_m_s.is_none() {
        faults.push(Fault::Stands);
    }
    if pinion.slip_n_m < pinion.grade_n_m {
        faults.push(Fault::Slips);
    }
    faults.extend(pinion.climb.limit_s.map(Fault::Hot));
    let (Some(teeth), Some(mesh)) = (&pinion.teeth_meet, &rig.mesh) else { return faults };
    if teeth.backlash_mm < 0.0 {
        faults.push(Fault::Binds(teeth.backlash_mm));
    }
    if teeth.contact_ratio < LEAST_CONTACT {
        faults.push(Fault::Touch(teeth.contact_ratio, teeth.slot_miss_mm > 0.0));
    }
    let allowed = [mesh.pinion_allowable_mpa, mesh.spur_allowable_mpa];
    for (index, most) in allowed.into_iter().enumerate() {
        let over = teeth.stress_mpa[index].zip(most).filter(|(is, most)| is > most);
        faults.extend(over.map(|(is, most)| Fault::Bears(index, is, most)));
    }
    faults
}

/// The same in words, a clause each.
pub fn remarks(rig: &Rig, pinion: &Pinion) -> Vec<String> {
    faults(rig, pinion).iter().map(Fault::to_string).collect()
}

/// Fewer pairs of teeth than this run roughly (common practice, no source).
pub(crate) const LEAST_CONTACT: f64 = 1.2;

/// The choice: with a wanted speed the slowest pinion that reaches it on the level and has no fault,
/// which stays coolest; without one the fastest that has none.
pub fn choose<'p>(rig: &Rig, pinions: &'p [Pinion], wanted_m_s: Option<f64>) -> Option<&'p Pinion> {
    let mut good = pinions.iter().filter(|pinion| faults(rig, pinion).is_empty());
    match wanted_m_s {
        Some(wanted) => good.find(|pinion| pinion.level_m_s.is_some_and(|speed| speed >= wanted)),
        None => good.next_back(),
    }
}

/// What another rig needs to turn its wheels as fast as this one does.
#[derive(Clone, Copy, Debug, serde::Serialize)]
pub struct Match {
    /// Surface speed of this rig's wheels in the air at full duty \[m/s\].
    pub wanted_m_s: f64,
    /// Teeth of the pinion that comes nearest.
    pub teeth: u32,
    /// Surface speed with it \[m/s\].
    pub full_m_s: f64,
    /// Its difference from the wanted speed \[%\].
    pub off_percent: f64,
}

/// The pinion on `other` that comes nearest to the wheel speed of `rig` as it is.
pub fn matching(rig: &Rig, other: &Rig) -> Match {
    let wanted_m_s = free_m_s(rig, 1.0);
    let speed = |teeth: u32| {
        let mut tried = other.clone();
        tried.gears.pinion_teeth = teeth;
        free_m_s(&tried, 1.0)
    };
    // In the air the speed grows with the teeth, so the exact number is known from any of them.
    let exact = f64::from(other.gears.pinion_teeth) * wanted_m_s / free_m_s(other, 1.0).max(1e-9);
    let (least, most) = PINION_TEETH.into_inner();
    let nearest =
        [exact.floor(), exact.ceil()].map(|teeth| teeth.clamp(least.into(), most.into()) as u32);
    let off = |teeth: u32| (speed(teeth) - wanted_m_s).abs();
    let teeth = if off(nearest[1]) < off(nearest[0]) { nearest[1] } else { nearest[0] };
    let full_m_s = speed(teeth);
    Match { wanted_m_s, teeth, full_m_s, off_percent: 100.0 * (full_m_s / wanted_m_s - 1.0) }
}

/// All pinions of a range on a rig; those whose whole ratio would be below 1 are left out.
pub fn pinions(rig: &Rig, teeth: std::ops::RangeInclusive<u32>, trial: &Trial) -> Vec<Pinion> {
    let most = f64::from(rig.gears.spur_teeth) * rig.gears.internal_ratio;
    teeth
        .filter(|teeth| f64::from(*teeth) <= most)
        .map(|teeth| Pinion::on(rig, teeth, trial))
        .collect()
}
