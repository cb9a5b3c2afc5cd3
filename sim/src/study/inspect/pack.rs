//! The pack: its cells, their chemistry and their end, and what the bridge makes of its voltage.

use super::{Finding, GIVEN, PRACTICE, Severity, Subject, with};

const FIRE: &str = "A lithium cell overcharged, emptied too far or shorted can burn. Charge and store it as \
                    its maker says, away from what burns.";

/// Nominal voltages of lithium cells lie within this \[V\]: iron phosphate 3.2, high-voltage polymer 3.85.
const NOMINAL_V: [f64; 2] = [3.1, 3.9];

/// The label's voltage against the number of cells.
pub(super) fn cells(subject: &Subject<'_>) -> Vec<Finding> {
    let pack = &subject.rig().pack;
    let Some(label_v) = pack.label_v else { return Vec::new() };
    let per_cell_v = label_v / f64::from(pack.cells);
    if (NOMINAL_V[0]..=NOMINAL_V[1]).contains(&per_cell_v) {
        return Vec::new();
    }
    let right = (label_v / 3.7).round().max(1.0);
    vec![Finding {
        what: "cells against pack voltage",
        severity: Severity::Wrong,
        is: format!("{} a cell", with(per_cell_v, "V")),
        limit: format!("{} to {} V a cell", NOMINAL_V[0], NOMINAL_V[1]),
        says: format!(
            "{} cells do not make the {} on the label, so the cut-off is wrong by whole cells.",
            pack.cells,
            with(label_v, "V")
        ),
        source: PRACTICE,
        caution: FIRE,
        remedy: format!(
            "Count the cells; {label_v} V is usually {right} of 3.7 V. Set pack.cells."
        ),
    }]
}

/// The tune's full cell against the rig's.
pub(super) fn chemistry(subject: &Subject<'_>) -> Vec<Finding> {
    let full_v = f64::from(subject.scenario.tune.limits.full_v);
    let Some([_, cell_v]) = subject.rig().pack.ocv_v.last().copied() else { return Vec::new() };
    if (full_v - cell_v).abs() <= 0.1 {
        return Vec::new();
    }
    vec![Finding {
        what: "full cell",
        severity: Severity::Doubtful,
        is: with(full_v, "V"),
        limit: format!("{} within 0.1 V", with(cell_v, "V")),
        says: "The tune's full cell is another one than the rig's: one of both is of another chemistry."
            .into(),
        source: "pack.ocv_v; without it PyBaMM's parameter set Ai2020 (Ai et al. 2020)",
        caution: FIRE,
        remedy: "Set limits.full_v, derate_from_v and derate_to_v for the chemistry on the label.".into(),
    }]
}

/// Where the tune ends the ride against where the cell is empty.
pub(crate) fn cut_off(subject: &Subject<'_>) -> Vec<Finding> {
    let end_v = f64::from(subject.scenario.tune.limits.derate_to_v);
    let Some([_, empty_v]) = subject.rig().pack.ocv_v.first().copied() else { return Vec::new() };
    if end_v >= empty_v - 0.01 {
        return Vec::new();
    }
    vec![Finding {
        what: "cut-off per cell",
        severity: Severity::Wrong,
        is: with(end_v, "V"),
        limit: format!("{} or more", with(empty_v, "V")),
        says: "The drive goes on when the cells are empty already; they are damaged, and dangerous to \
               charge again."
            .into(),
        source: "the empty end of pack.ocv_v; PyBaMM's Ai2020 ends at 3.0 V",
        caution: FIRE,
        remedy: format!("Set limits.derate_to_v to {} or more.", with(empty_v, "V")),
    }]
}

/// A full pack against what the bridge stands.
pub(crate) fn bridge_voltage(subject: &Subject<'_>) -> Vec<Finding> {
    let rig = subject.rig();
    let Some(rated_v) = rig.bridge.rated_v else { return Vec::new() };
    let Some([_, cell_v]) = rig.pack.ocv_v.last().copied() else { return Vec::new() };
    let full_v = f64::from(rig.pack.cells) * cell_v;
    if full_v <= rated_v {
        return Vec::new();
    }
    vec![Finding {
        what: "pack voltage against bridge",
        severity: Severity::Wrong,
        is: with(full_v, "V full"),
        limit: with(rated_v, "V"),
        says: "The full pack is above what the bridge stands; a braking motor lifts it further."
            .into(),
        source: GIVEN,
        caution: "Switches that fail closed drive the motor at full power, without a controller.",
        remedy: "Take fewer cells, or a bridge for more voltage.".into(),
    }]
}
