//! What lasts: a long grade, and a tired pack.

use super::{Shown, Trial, Tried};
use crate::run::{Row, Run};
use crate::score::{Better, HEAT_TIME, Meaning, Score, TIP_MARGIN, UTILISATION, Value};

/// How hot the winding got.
pub(crate) static WINDING_AT_THE_END: Meaning = Meaning {
    name: "winding at the end",
    unit: "degrees C",
    definition: "temperature of the winding after the 60 s",
    better: Better::Depends,
};

/// Whether it climbs.
pub(crate) static SPEED_UP_THE_GRADE: Meaning = Meaning {
    name: "speed up the grade",
    unit: "m/s",
    definition: "speed at the end of the 60 s",
    better: Better::Depends,
};

/// How long the heat limit was at work.
pub(crate) static HELD_BACK_BY_HEAT: Meaning = Meaning {
    name: "held back by heat",
    unit: "-",
    definition: "share of the time in which the heat limit takes from the duty",
    better: Better::Depends,
};

/// Up a long grade.
pub(crate) const GRADE: Trial = Trial {
    name: "A long grade",
    file: "long-grade",
    asks: "How long may it climb before winding or bridge is too hot?",
    how: |subject| {
        format!(
            "60 s up {} degrees at 60 % throttle, everything cold at the start.",
            subject.method.creep_slope_deg
        )
    },
    shown: Shown {
        label: "winding, degrees C",
        values: |tried| tried.run.rows.iter().map(|row| row.plant.now.winding_c).collect(),
        level: |tried| Some((tried.scenario.rig.motor.winding_limit_c, "limit of the winding")),
        bottom: None,
        least_span: Some(10.0),
        from_start: false,
    },
    run: |subject| {
        let duration_s = subject.begins_s() + 60.0;
        let ground = subject.ground(0.0, subject.method.creep_slope_deg, duration_s);
        let scenario = subject.scenario(ground, subject.pulled(0.6), duration_s);
        let mut tried = subject.tried(scenario, &[&HEAT_TIME, &UTILISATION, &TIP_MARGIN])?;
        let last = tried.run.rows.last();
        let cut = |row: &&Row| row.trace.is_some_and(|trace| trace.limits.heat.to_f32() < 1.0);
        let hot = tried.run.rows.iter().filter(cut);
        let share = hot.count() as f64 / tried.run.rows.len() as f64;
        tried.scores.extend([
            WINDING_AT_THE_END.is(Value::from(last.map(|row| row.plant.now.winding_c))),
            SPEED_UP_THE_GRADE.is(Value::from(last.map(Row::speed_m_s))),
            HELD_BACK_BY_HEAT.is(Value::Is(share)),
        ]);
        Ok(tried)
    },
};

/// Lithium cells suffer below this under load \[V\]: common practice, no source.
pub const LEAST_CELL_V: f64 = 3.0;
/// Charge left in the tired pack.
const TIRED_CHARGE: f64 = 0.1;
/// A pack is worn out where its resistance has doubled: common practice, no source.
const WORN: f64 = 2.0;

/// What is left of the cells' voltage.
pub static LEAST_CELL_VOLTAGE: Meaning = Meaning {
    name: "least cell voltage",
    unit: "V",
    definition: "least voltage at the bridge / cells: leads and connectors included",
    better: Better::Depends,
};

/// How much slower it is than with a fresh pack.
pub static WAY_KEPT: Meaning = Meaning {
    name: "way kept",
    unit: "-",
    definition: "way made / way made with the rig's own pack, if that gets it up at all",
    better: Better::Depends,
};

/// How long the pack limit was at work.
pub(crate) static HELD_BACK_BY_THE_PACK: Meaning = Meaning {
    name: "held back by the pack",
    unit: "-",
    definition: "share of the time in which the pack limit takes from the duty",
    better: Better::Depends,
};

/// A pack that is old and nearly empty.
pub const PACK: Trial = Trial {
    name: "A tired pack",
    file: "tired-pack",
    asks: "What is left with an old and nearly empty pack, and is it spared?",
    how: |subject| {
        format!(
            "10 s of full throttle up {} degrees with a tenth of the charge and twice the resistance of the \
             rig's pack.",
            subject.method.creep_slope_deg
        )
    },
    shown: Shown {
        label: "volts per cell under load",
        values: |tried| {
            tried.run.rows.iter().map(|row| cell_v(row, tried.scenario.rig.pack.cells)).collect()
        },
        level: |_| Some((LEAST_CELL_V, "lithium cells suffer below")),
        bottom: Some(2.5),
        least_span: None,
        from_start: false,
    },
    run: |subject| {
        let duration_s = subject.begins_s() + 10.0;
        let ground = subject.ground(0.0, subject.method.creep_slope_deg, duration_s);
        let fresh = subject.scenario(ground, subject.pulled(1.0), duration_s);
        let mut tired = fresh.clone();
        let pack = &mut tired.rig.pack;
        pack.charge = TIRED_CHARGE.min(pack.charge);
        pack.resistance_ohm_per_cell *= WORN;
        pack.delayed_ohm_per_cell *= WORN;
        let with_fresh = subject.drive(&fresh)?;
        let tried = subject.tried(tired, &[&UTILISATION])?;
        let scores = tiring(&tried.run, &with_fresh, subject.rig.pack.cells);
        Ok(Tried { scores: [scores, tried.scores].concat(), ..tried })
    },
};

fn cell_v(row: &Row, cells: u32) -> f64 {
    row.flows.bus_v / f64::from(cells)
}

fn tiring(run: &Run, fresh: &Run, cells: u32) -> Vec<Score> {
    let way = |run: &Run| run.rows.last().map_or(0.0, |row| row.plant.now.place_m);
    let own = Some(way(fresh)).filter(|own| *own > 0.0);
    let least = run.rows.iter().map(|row| cell_v(row, cells)).fold(f64::INFINITY, f64::min);
    let taken = |row: &&Row| row.trace.is_some_and(|trace| trace.limits.pack.to_f32() < 1.0);
    let shares = run.rows.iter().filter(taken).count() as f64 / run.rows.len() as f64;
    vec![
        LEAST_CELL_VOLTAGE.is(Value::Is(least)),
        WAY_KEPT.is(Value::from(own.map(|own| way(run) / own))),
        HELD_BACK_BY_THE_PACK.is(Value::Is(shares)),
    ]
}
