//! The list of settings: one row each, in the order in which files and pages have them.
//!
//! A range stands here alone: a stage asks for it by the row's path while it prepares itself (see
//! `allowed!`). A default stands in the `Default` of the stage's settings alone.

use super::setting::{Kind, Setting};
use crate::limits::PackRecovery;
use crate::stages::curve::{CurveSettings, DEMAND, TRAVEL};
use crate::stages::drag::DragLaw;
use crate::stages::mode::ReversePolicy;
use crate::stages::safe_state::SafeState;
use crate::stages::shape::Shape;

/// Told by the tune.
const fn row(
    path: &'static str,
    unit: &'static str,
    kind: Kind,
    label: &'static str,
    words: &'static str,
) -> Setting {
    Setting { path, unit, label, words, from_rig: false, kind }
}

/// Told by the rig.
const fn rig(path: &'static str, unit: &'static str, kind: Kind, words: &'static str) -> Setting {
    Setting { path, unit, label: words, words, from_rig: true, kind }
}

// A value at a place; a `?` in it leads into a part that may be switched off.
macro_rules! number {
    ($min:literal to $max:literal, $s:ident => $place:expr) => {
        Kind::Number { range: [$min, $max], at: |$s| Some(&mut $place) }
    };
}

macro_rules! optional {
    ($min:literal to $max:literal, usual $usual:literal, switch $switch:literal, $s:ident => $place:expr) => {
        Kind::Optional {
            range: [$min, $max],
            usual: $usual,
            switch: $switch,
            at: |$s| Some(&mut $place),
        }
    };
}

macro_rules! whole {
    ($min:literal to $max:literal, $s:ident => $place:expr) => {
        Kind::Whole { range: [$min, $max], at: |$s| Some(&mut $place) }
    };
}

macro_rules! flag {
    ($s:ident => $place:expr) => {
        Kind::Flag { at: |$s| Some(&mut $place) }
    };
}

macro_rules! choice {
    ($of:ident, $s:ident => $place:expr) => {
        Kind::Choice {
            of: &$of::CHOICE,
            get: |$s| $of::NAMED.iter().position(|(_, one)| *one == $place).unwrap_or_default(),
            set: |$s, index| {
                if let Some((_, one)) = $of::NAMED.get(index) {
                    $place = *one;
                }
            },
        }
    };
}

macro_rules! part {
    ($s:ident => $place:expr) => {
        Kind::Part { get: |$s| Some($place.is_some()), set: |$s, on| Some(switch(&mut $place, on)) }
    };
}

fn switch<T: Default>(part: &mut Option<T>, on: bool) {
    if on {
        part.get_or_insert_default();
    } else {
        *part = None;
    }
}

/// What the strength of the drag brake means.
const LAW: Kind = Kind::Choice {
    of: &DragLaw::CHOICE,
    get: |s| usize::from(matches!(s.drag.law, DragLaw::Current { .. })),
    set: |s, index| match (index, s.drag.law) {
        (0, _) => s.drag.law = DragLaw::Duty,
        (1, DragLaw::Duty) => s.drag.law = DragLaw::USUAL_CURRENT,
        _ => {}
    },
};

const FULL_A: Kind = Kind::Number {
    range: [0.5, 500.0],
    at: |s| match &mut s.drag.law {
        DragLaw::Current { full_a } => Some(full_a),
        DragLaw::Duty => None,
    },
};

const BLEND: Kind = Kind::Number {
    range: [0.0, 1.0],
    at: |s| match &mut s.curve {
        CurveSettings::Cubic { blend } => Some(blend),
        CurveSettings::Knots(_) => None,
    },
};

const KNOTS: Kind =
    Kind::Knots { travel: TRAVEL.range, demand: DEMAND.range, at: |s| &mut s.curve };

/// All settings of a tune.
///
/// A part's row comes before the rows of its settings, and a choice before the number that only one
/// of its ways has.
#[rustfmt::skip] // One row, two lines: path, unit, kind; label, words.
pub const SETTINGS: &[Setting] = &[
    row("pulse.plausible_low_us", "µs", number!(500.0 to 1_400.0, s => s.pulse.plausible_low_us),
        "Shortest pulse believed", "shorter pulses are ignored"),
    row("pulse.plausible_high_us", "µs", number!(1_600.0 to 2_500.0, s => s.pulse.plausible_high_us),
        "Longest pulse believed", "longer pulses are ignored"),
    row("pulse.jump_us", "µs", number!(20.0 to 2_000.0, s => s.pulse.jump_us),
        "A jump waits beyond", "a larger jump waits for the next pulse to confirm it; 2000 lets every plausible pulse through at once"),
    row("pulse.tolerate", "", whole!(0.0 to 100.0, s => s.pulse.tolerate),
        "Bad pulses tolerated", "bad pulses in a row ridden through on the last good one"),
    row("pulse.loss_after_ms", "ms", number!(20.0 to 500.0, s => s.pulse.loss_after_ms),
        "Lost after", "this long without a good pulse is a lost signal; cannot be switched off"),
    row("calibration.low_us", "µs", number!(500.0 to 2_500.0, s => s.calibration.low_us),
        "Throttle at its far end", "throttle at its far end; at least 50 below neutral less dead band; all three within the plausible window"),
    row("calibration.neutral_us", "µs", number!(500.0 to 2_500.0, s => s.calibration.neutral_us),
        "Throttle let go", "throttle let go"),
    row("calibration.high_us", "µs", number!(500.0 to 2_500.0, s => s.calibration.high_us),
        "Full throttle", "full throttle; at least 50 above neutral plus dead band"),
    row("calibration.dead_band_us", "µs", number!(2.0 to 200.0, s => s.calibration.dead_band_us),
        "Neutral within", "this close to neutral counts as neutral; half width"),
    row("calibration.reversed", "", flag!(s => s.calibration.reversed),
        "Throttle reversed", "swaps forward and reverse"),
    row("curve.blend", "", BLEND,
        "Curve around neutral", "0: straight, 1: cubed; fine control around neutral"),
    row("curve.knots", "", KNOTS,
        "Curve by points", "instead of the blend: up to nine points; travel grows by at least 0.01, demand never falls"),
    row("slew.rise_per_s", "1/s", number!(0.1 to 1_000.0, s => s.slew.rise_per_s),
        "Throttle may rise", "how fast the demand may grow; 4 is full throttle in a quarter of a second"),
    row("slew.ease_per_s", "1/s", number!(0.1 to 1_000.0, s => s.slew.ease_per_s),
        "Throttle may ease", "how fast it may go back to neutral"),
    row("mode.arm_ms", "ms", number!(100.0 to 5_000.0, s => s.mode.arm_ms),
        "Rests before arming", "the throttle rests at neutral this long before anything drives; at least twice `pulse.loss_after_ms`, or silence would pass for neutral"),
    row("mode.reverse", "", choice!(ReversePolicy, s => s.mode.reverse),
        "Reverse", "when the far side of the throttle may drive backward"),
    row("mode.rest_rad_s", "rad/s", number!(0.1 to 20.0, s => s.mode.rest_rad_s),
        "Counts as standing below", "wheels slower than this are stationary"),
    row("mode.pause_ms", "ms", number!(0.0 to 5_000.0, s => s.mode.pause_ms),
        "Braking takes, unsensed", "without a speed sensor: how long braking to a stop takes"),
    row("safe_state", "", choice!(SafeState, s => s.safe_state),
        "Without a signal", "without a signal or after a fault: brakes as set, or rolls on"),
    row("drag.strength", "", number!(0.0 to 1.0, s => s.drag.strength),
        "Drag brake: final level", "final level of the drag brake"),
    row("drag.delay_ms", "ms", number!(0.0 to 5_000.0, s => s.drag.delay_ms),
        "Brake waits", "from neutral to the first bite"),
    row("drag.onset_ms", "ms", number!(0.0 to 10_000.0, s => s.drag.onset_ms),
        "Brake comes in over", "from the first bite to the final level; 0 is one tick"),
    row("drag.shape", "", choice!(Shape, s => s.drag.shape),
        "Onset shape", "the path between them, as above"),
    row("drag.follow", "", number!(0.0 to 1.0, s => s.drag.follow),
        "Onset follows the hand", "0: the onset as set; 1: up to ten times as quick after a snap of the throttle"),
    row("drag.soft_below_rad_s", "rad/s", number!(0.0 to 2_000.0, s => s.drag.soft_below_rad_s),
        "Ends softly below", "below this wheel speed the level falls with its root, so that the stop ends softly; 0: not, else at least 1"),
    row("drag.release_ms", "ms", number!(0.0 to 2_000.0, s => s.drag.release_ms),
        "Brake lets go over", "how fast a full brake lets go when the throttle returns; 0 is one tick"),
    row("drag.law", "", LAW,
        "Level means", "what strength means"),
    row("drag.full_a", "A", FULL_A,
        "Current at full level", "braking current at strength 1; current law only"),
    row("rest.on", "", part!(s => s.rest),
        "Hold the place at rest", "holds the place once stopped; without the table it is off"),
    row("rest.gain_per_rad", "1/rad", number!(0.01 to 20.0, s => s.rest.as_mut()?.gain_per_rad),
        "Rest: duty per roll", "duty per roll of the wheels"),
    row("rest.damping_s_per_rad", "s/rad", number!(0.0 to 1.0, s => s.rest.as_mut()?.damping_s_per_rad),
        "Rest: damping", "duty per speed of the wheels"),
    row("rest.authority", "", number!(0.01 to 0.5, s => s.rest.as_mut()?.authority),
        "Rest: most duty", "the most duty it may use; at most `limits.reverse`, so not with reverse `never`"),
    row("rest.below_rad_s", "rad/s", number!(0.05 to 5.0, s => s.rest.as_mut()?.below_rad_s),
        "Rest: slower than", "wheels slower than this are held"),
    row("hold.on", "", part!(s => s.hold),
        "Hold the speed", "holds the speed; without the table it is off"),
    row("hold.full_speed_rad_s", "rad/s", number!(1.0 to 2_000.0, s => s.hold.as_mut()?.full_speed_rad_s),
        "Speed of full throttle", "wheel speed that full throttle means; a tune file may leave it to the rig, a firmware must set it"),
    row("hold.feed_forward", "", number!(0.0 to 1.0, s => s.hold.as_mut()?.feed_forward),
        "Duty per throttle", "duty per demand before the loop adds its part"),
    row("hold.gain", "", number!(0.0 to 20.0, s => s.hold.as_mut()?.gain),
        "Gain", "duty added per speed error, both relative to full"),
    row("hold.gain_per_s", "1/s", number!(0.0 to 100.0, s => s.hold.as_mut()?.gain_per_s),
        "Gain per second", "and per second; not both gains 0"),
    row("hold.droop", "", number!(0.0 to 2.0, s => s.hold.as_mut()?.droop),
        "Droop", "relative speed given up per added duty"),
    row("hold.authority", "", number!(0.0 to 1.0, s => s.hold.as_mut()?.authority),
        "Most duty it may add", "the most duty the loop may add or take away; not 0 with droop 0"),
    row("hold.fade_ms", "ms", number!(0.0 to 2_000.0, s => s.hold.as_mut()?.fade_ms),
        "Comes and goes over", "how gently the loop comes and goes"),
    row("hold.give_way.on", "", part!(s => s.hold.as_mut()?.give_way),
        "Give way to a load", "gives way to a lasting load; without the table it is off"),
    row("hold.give_way.share", "", number!(0.05 to 1.0, s => s.hold.as_mut()?.give_way.as_mut()?.share),
        "Adding more than", "adding more than this part of what it may add"),
    row("hold.give_way.after_ms", "ms", number!(50.0 to 20_000.0, s => s.hold.as_mut()?.give_way.as_mut()?.after_ms),
        "For longer than", "for this long"),
    row("hold.give_way.release_ms", "ms", number!(0.0 to 5_000.0, s => s.hold.as_mut()?.give_way.as_mut()?.release_ms),
        "Takes the help away over", "takes the help away over this time"),
    row("limits.drive_a", "A", optional!(1.0 to 500.0, usual 40.0, switch "Limit the driving current", s => s.limits.drive_a),
        "Motor current driving", "motor current driving"),
    row("limits.brake_a", "A", optional!(1.0 to 500.0, usual 40.0, switch "Limit the braking current", s => s.limits.brake_a),
        "Motor current braking", "motor current braking"),
    rig("limits.cells", "", whole!(1.0 to 14.0, s => s.limits.cells),
        "cells of the pack in series"),
    row("limits.full_v", "V", number!(3.4 to 4.4, s => s.limits.full_v),
        "A full cell", "a full cell"),
    row("limits.derate_from_v", "V", number!(2.5 to 4.2, s => s.limits.derate_from_v),
        "Cell: duty fades from", "voltage of a cell at which the duty begins to fade; at least 0.1 below full"),
    row("limits.derate_to_v", "V", number!(2.0 to 4.1, s => s.limits.derate_to_v),
        "Cell: nothing left at", "and at which nothing is left; at least 0.05 below that"),
    row("limits.recover_v", "V", number!(0.0 to 0.5, s => s.limits.recover_v),
        "Cell: counts as risen by", "the voltage of a cell must rise this much before it counts as risen"),
    row("limits.pack_recovery", "", choice!(PackRecovery, s => s.limits.pack_recovery),
        "An empty pack drives again", "when an empty pack may drive again"),
    row("limits.derate_from_c", "°C", number!(40.0 to 200.0, s => s.limits.derate_from_c),
        "Winding: duty fades from", "winding temperature at which the duty begins to fade"),
    row("limits.derate_to_c", "°C", number!(45.0 to 220.0, s => s.limits.derate_to_c),
        "Winding: nothing left at", "and at which nothing is left; at least 5 above that"),
    row("limits.cool_by_c", "K", number!(0.0 to 40.0, s => s.limits.cool_by_c),
        "Winding: counts as cooler by", "the winding must cool this much before it counts as cooler"),
    row("limits.reverse", "", number!(0.0 to 1.0, s => s.limits.reverse),
        "Most duty backward", "largest duty backward; counts as 0 where reverse is `never`"),
    row("limits.stall.on", "", part!(s => s.limits.stall),
        "Cut the drive of wheels that stand", "cuts the drive of stationary wheels; without the table it is off"),
    row("limits.stall.below_rad_s", "rad/s", number!(0.05 to 20.0, s => s.limits.stall.as_mut()?.below_rad_s),
        "Stall: slower than", "wheels slower than this are stationary"),
    row("limits.stall.duty", "", number!(0.0 to 1.0, s => s.limits.stall.as_mut()?.duty),
        "Stall: with more duty than", "with more duty than this"),
    row("limits.stall.after_ms", "ms", number!(100.0 to 20_000.0, s => s.limits.stall.as_mut()?.after_ms),
        "Stall: for longer than", "for this long: no duty until the throttle is let go"),
    rig("motor.kv_rpm_per_v", "rpm/V", number!(10.0 to 20_000.0, s => s.motor.kv_rpm_per_v),
        "speed constant"),
    rig("motor.gear_ratio", "", number!(1.0 to 500.0, s => s.motor.gear_ratio),
        "motor turns per wheel turn"),
    rig("motor.resistance_ohm", "Ω", number!(0.001 to 50.0, s => s.motor.resistance_ohm),
        "winding and bridge at 20 °C"),
    row("motor.estimate_from_a", "A", optional!(0.1 to 100.0, usual 1.0, switch "Estimate the speed without a sensor", s => s.motor.estimate_from_a),
        "Estimate from a current of", "without a speed sensor: estimate the speed from this current on"),
];
