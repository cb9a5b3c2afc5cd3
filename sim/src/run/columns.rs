//! The columns of `run.csv`, each with its unit and where its value comes from: one list for the
//! file, its header and the telemetry of a real board.

use easeoff_core::Trace;

use crate::run::{Decision, Row, Run};

/// One column of something's values.
pub struct Column<T> {
    /// Name with unit, as in the header.
    pub name: &'static str,
    /// Where the value comes from.
    pub value: fn(&T) -> f64,
}

macro_rules! columns {
    ($($name:literal: $value:expr,)*) => {
        &[$(Column { name: $name, value: $value },)*]
    };
}

/// What the rig does: the first columns of `run.csv`.
const RIG: &[Column<Row>] = columns! {
    "time_s": |r| r.time_s,
    "place_m": |r| r.plant.now.place_m,
    "speed_m_s": |r| r.plant.now.speed_m_s,
    "acceleration_m_s2": |r| r.flows.rates.speed_m_s,
    "wheel_speed_rad_s": |r| r.plant.now.wheel_rad_s,
    "slip_m_s": |r| r.flows.slip_m_s,
};

/// What the controller saw and decided, in `run.csv` and in recorded telemetry. What only a trace knows is
/// missing where there is none.
pub const CONTROLLER: &[Column<Decision>] = columns! {
    "pulse_us": |d| d.seen.pulse.map_or(f64::NAN, |pulse| pulse.to_f32().into()),
    "demand": |d| d.seen.demand.to_f32().into(),
    "slewed_demand": |d| inner(d, |trace| trace.slewed.to_f32()),
    "mode": |d| f64::from(d.seen.mode as u8),
    "speed_used_rad_s": |d| d.seen.speed.map_or(f64::NAN, |speed| speed.to_f32().into()),
    "duty": |d| d.command.duty().to_f32().into(),
    "added_duty": |d| inner(d, |trace| trace.added.to_f32()),
    "brake_level": |d| inner(d, |trace| trace.brake_level.to_f32()),
    "brake_share": |d| d.command.braking().to_f32().into(),
    "pack_factor": |d| inner(d, |trace| trace.limits.pack.to_f32()),
    "heat_factor": |d| inner(d, |trace| trace.limits.heat.to_f32()),
    "drive_cap": |d| inner(d, |trace| trace.limits.drive_cap.to_f32()),
    "brake_cap": |d| inner(d, |trace| trace.limits.brake_cap.to_f32()),
    "events_bits": |d| f64::from(d.seen.events.bits()),
};

fn inner(decision: &Decision, value: fn(&Trace) -> f32) -> f64 {
    decision.trace.as_ref().map_or(f64::NAN, |trace| value(trace).into())
}

/// What flows through the rig: the last columns of `run.csv`.
const FLOWS: &[Column<Row>] = columns! {
    "motor_a": |r| r.plant.mean_a(),
    "bus_a": |r| r.flows.bus_a,
    "bus_v": |r| r.flows.bus_v,
    "drive_line_n_m": |r| r.flows.shaft_n_m,
    "snag_n_m": |r| r.flows.snag_n_m,
    "tyre_n": |r| r.flows.tyre_n,
    "front_axle_n": |r| r.flows.front_n,
    "rear_axle_n": |r| r.flows.rear_n,
    "winding_w": |r| r.flows.winding_w,
    "winding_c": |r| r.plant.now.winding_c,
    "case_c": |r| r.plant.now.case_c,
    "bridge_c": |r| r.plant.now.bridge_c,
    "servo_supply_v": |r| r.plant.servo().supply_v,
    "servo_a": |r| r.plant.servo().servo_a,
    "charge": |r| r.plant.now.charge,
};

/// The column of `run.csv` that says what the rig did, not what the controller decided.
pub fn measurable(name: &str) -> Option<&'static Column<Row>> {
    RIG.iter().chain(FLOWS).find(|column| column.name == name)
}

/// All values of a row, in the order of `run.csv`.
pub fn values(row: &Row) -> impl Iterator<Item = f64> + '_ {
    let rig = RIG.iter().map(|column| (column.value)(row));
    let decision = row.decision();
    let controller = CONTROLLER.iter().map(move |column| (column.value)(&decision));
    rig.chain(controller).chain(FLOWS.iter().map(|column| (column.value)(row)))
}

/// The names of a row's values, in the order of `run.csv`.
pub fn names() -> impl Iterator<Item = &'static str> {
    let controller = CONTROLLER.iter().map(|column| column.name);
    let rig = |columns: &'static [Column<Row>]| columns.iter().map(|column| column.name);
    rig(RIG).chain(controller).chain(rig(FLOWS))
}

/// How the end of a column's name says its unit; a longer end stands before its own end.
const UNITS: [(&str, &str); 13] = [
    ("_bits", "bits"),
    ("_m_s2", "m/s\u{b2}"),
    ("_rad_s", "rad/s"),
    ("_m_s", "m/s"),
    ("_n_m", "N m"),
    ("_us", "us"),
    ("_s", "s"),
    ("_m", "m"),
    ("_n", "N"),
    ("_a", "A"),
    ("_v", "V"),
    ("_w", "W"),
    ("_c", "\u{b0}C"),
];

/// The unit of a column; "-" for a ratio or a number that only tells things apart.
pub fn unit(name: &str) -> &'static str {
    UNITS.iter().find(|(end, _)| name.ends_with(end)).map_or("-", |(_, unit)| unit)
}

/// A value as `run.csv` gives it to a reader: missing where it is no finite number, and what has decayed
/// to nothing is nothing; written out it would fill hundreds of digits.
pub fn readable(value: f64) -> f64 {
    match value {
        _ if !value.is_finite() => f64::NAN,
        _ if value.abs() < 1.0e-12 => 0.0,
        _ => value,
    }
}

/// Whether `run.csv` has a column of that name, whichever controller drives.
pub fn has(name: &str) -> bool {
    measurable(name).is_some() || CONTROLLER.iter().any(|column| column.name == name)
}

/// The rows as CSV, with the controller's own columns at the end.
pub fn run_to_csv(run: &Run) -> String {
    let own = &run.driven.columns;
    if own.is_empty() {
        return to_csv(&run.rows);
    }
    let mut table = Table::with_capacity(run.rows.len() * 300);
    table.names(RIG).names(CONTROLLER).names(FLOWS);
    own.iter().fold(&mut table, |table, name| table.word(name)).end_row();
    for (index, row) in run.rows.iter().enumerate() {
        table.values(RIG, row).values(CONTROLLER, &row.decision()).values(FLOWS, row);
        let own = run.driven.of_row(index).iter();
        own.fold(&mut table, |table, value| table.number(*value)).end_row();
    }
    table.text
}

/// The rows as CSV.
pub fn to_csv(rows: &[Row]) -> String {
    let mut table = Table::with_capacity(rows.len() * 300);
    table.names(RIG).names(CONTROLLER).names(FLOWS).end_row();
    for row in rows {
        table.values(RIG, row).values(CONTROLLER, &row.decision()).values(FLOWS, row).end_row();
    }
    table.text
}

/// CSV as it grows, cell by cell. A value that is missing is an empty cell. Numbers above 1e-12 are
/// written so that reading them gives the same bits again.
#[derive(Debug, Default)]
pub struct Table {
    /// The rows that have ended.
    pub text: String,
}

impl Table {
    /// With room for so many bytes.
    pub fn with_capacity(bytes: usize) -> Self {
        Self { text: String::with_capacity(bytes) }
    }

    /// One cell of words without commas or quotes.
    pub fn word(&mut self, word: &str) -> &mut Self {
        self.text.push_str(word);
        self.text.push(',');
        self
    }

    /// A cell for each column's name.
    pub fn names<T>(&mut self, columns: &[Column<T>]) -> &mut Self {
        columns.iter().fold(self, |table, column| table.word(column.name))
    }

    /// A cell for each column's value.
    pub fn values<T>(&mut self, columns: &[Column<T>], from: &T) -> &mut Self {
        for column in columns {
            self.number((column.value)(from));
        }
        self
    }

    /// A cell for a number.
    pub fn number(&mut self, value: f64) -> &mut Self {
        let value = readable(value);
        if !value.is_nan() {
            self.text.push_str(&value.to_string());
        }
        self.text.push(',');
        self
    }

    /// Ends the row that the cells before began.
    pub fn end_row(&mut self) {
        self.text.pop();
        self.text.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A column whose name says no unit is one of these, and a new one has to be looked at.
    #[test]
    fn every_column_has_its_unit() {
        let bare: Vec<&str> = names().filter(|name| unit(name) == "-").collect();
        let due = "demand slewed_demand mode duty added_duty brake_level brake_share pack_factor \
                   heat_factor drive_cap brake_cap charge";
        assert_eq!(bare.join(" "), due);
        let of = |name| (names().any(|known| known == name), unit(name));
        assert_eq!(of("acceleration_m_s2"), (true, "m/s\u{b2}"));
        assert_eq!(of("speed_used_rad_s"), (true, "rad/s"));
        assert_eq!(of("slip_m_s"), (true, "m/s"));
        assert_eq!(of("drive_line_n_m"), (true, "N m"));
        assert_eq!(of("tyre_n"), (true, "N"));
        assert_eq!(of("time_s"), (true, "s"));
    }
}
