//! The file of a log, column by column, with every mistake at its line.

use easeoff_core::{Command, Duty, Strength};

use super::log::{DriveBy, Driven, Log, Signal, Wanted, median};
use crate::files::mistake::{Mistake, Refusal, Source, did_you_mean, quoted};
use crate::run::Row;
use crate::run::columns::{Column, measurable};

/// Speed of the motor seen from the wheels, which is where a sensor on the motor's shaft sits.
const SPEED_USED: Column<Row> = Column {
    name: "speed_used_rad_s",
    value: |row| row.plant.now.wheel_rad_s + row.flows.rates.twist_rad,
};

/// What is compared unless columns are named: each the first of its line that the log has.
const USUAL: [&[&str]; 5] = [
    &["wheel_speed_rad_s", "speed_used_rad_s"],
    &["motor_a"],
    &["bus_a"],
    &["bus_v"],
    &["winding_c", "case_c"],
];

/// A row this much later than the one before is a gap: so many usual intervals, and so long \[s\].
const GAP: (f64, f64) = (5.0, 0.05);
/// Ten minutes.
const LONGEST_S: f64 = 600.0;
/// Time and ticks may run apart by this share before it is said.
const CLOCKS_APART: f64 = 1.0e-3;

impl Log {
    /// Reads a log.
    ///
    /// # Errors
    /// Every mistake in it.
    pub fn read(source: &Source, wanted: &Wanted<'_>) -> Result<Self, Refusal> {
        let mut reader = Reader::new(source);
        let log = reader.log(wanted);
        match log {
            Some(log) if reader.mistakes.is_empty() => Ok(log),
            _ => {
                // A file of garbage should not print a book.
                reader.mistakes.truncate(20);
                Err(Refusal { source: source.clone(), mistakes: reader.mistakes })
            }
        }
    }
}

fn known(name: &str) -> Option<&'static Column<Row>> {
    if name == SPEED_USED.name { Some(&SPEED_USED) } else { measurable(name) }
}

/// One line of the file.
struct Line {
    cells: csv::StringRecord,
    span: std::ops::Range<usize>,
}

struct Reader<'s> {
    source: &'s Source,
    mistakes: Vec<Mistake>,
}

impl<'s> Reader<'s> {
    fn new(source: &'s Source) -> Self {
        Self { source, mistakes: source.cut_off().into_iter().collect() }
    }

    fn say(&mut self, what: impl Into<String>, line: Option<&Line>, remedy: impl Into<String>) {
        let span = line.map(|line| line.span.clone());
        self.mistakes.push(Mistake { what: what.into(), span, remedy: remedy.into() });
    }

    fn lines(&mut self) -> Vec<Line> {
        let text = &self.source.text;
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut lines = Vec::new();
        for record in reader.records() {
            match record {
                Ok(cells) => {
                    let start = cells.position().map_or(0, |place| place.byte() as usize);
                    let end = text.get(start..).and_then(|rest| rest.find('\n'));
                    let span = start..end.map_or(text.len(), |length| start + length);
                    lines.push(Line { cells, span });
                }
                Err(error) => self.say(
                    format!("a row cannot be read: {error}"),
                    None,
                    "write numbers separated by commas",
                ),
            }
        }
        lines
    }

    fn log(&mut self, wanted: &Wanted<'_>) -> Option<Log> {
        let lines = self.lines();
        let (head, rows) = lines.split_first().or_else(|| {
            self.say("the file is empty", None, "give a header line and rows of numbers");
            None
        })?;
        let column = |name: &str| head.cells.iter().position(|cell| cell == name);
        let clock = (column("time_s"), column("tick"));
        if clock == (None, None) {
            self.say(
                "there is no column time_s",
                Some(head),
                "name the column of time in seconds time_s, or give the column tick",
            );
        }
        let drive_by = self.drive_by(wanted, head);
        let columns = self.columns(wanted, head, rows);
        // Without its columns the rest of the file cannot be judged.
        let drive_by = drive_by.filter(|_| self.mistakes.is_empty())?;
        for row in rows {
            if row.cells.len() != head.cells.len() {
                let (has, due) = (row.cells.len(), head.cells.len());
                let what = format!("the row has {has} cells; the header has {due}");
                self.say(what, Some(row), "give every row a cell per column, empty where unknown");
            }
        }
        let (time_s, mut notes) = self.times(rows, clock, wanted.tick_hz)?;
        let driven = self.driven(drive_by, head, rows);
        let signals: Vec<Signal> =
            columns.into_iter().map(|(place, column)| self.signal(place, column, rows)).collect();
        self.gaps(&time_s, rows, &mut notes);
        Some(Log { time_s, driven, signals, notes })
    }

    fn drive_by(&mut self, wanted: &Wanted<'_>, head: &Line) -> Option<DriveBy> {
        let has = |name: &str| head.cells.iter().any(|cell| cell == name);
        let named = [(DriveBy::Duty, "duty"), (DriveBy::Pulse, "pulse_us")];
        let found = named
            .into_iter()
            .find(|(by, name)| has(name) && wanted.drive_by.is_none_or(|wanted| wanted == *by));
        if found.is_none() {
            let names = match wanted.drive_by {
                Some(DriveBy::Duty) => "duty",
                Some(DriveBy::Pulse) => "pulse_us",
                None => "duty (with brake_share) or pulse_us",
            };
            self.say(
                format!("there is no column {names}: nothing says how the rig was driven"),
                Some(head),
                "log what the bridge or the receiver was told, and name its column so",
            );
        }
        found.map(|(by, _)| by)
    }

    fn columns(
        &mut self,
        wanted: &Wanted<'_>,
        head: &Line,
        rows: &[Line],
    ) -> Vec<(usize, &'static Column<Row>)> {
        let column = |name: &str| head.cells.iter().position(|cell| cell == name);
        let names: Vec<&str> = head.cells.iter().collect();
        if wanted.signals.is_empty() {
            let usual = USUAL.iter().filter_map(|line| {
                line.iter().find_map(|name| Some((column(name)?, known(name)?)))
            });
            // A column in which nothing was ever measured is a sensor that is not there.
            let measured = |place: usize| {
                rows.is_empty()
                    || rows
                        .iter()
                        .any(|row| row.cells.get(place).is_some_and(|cell| !cell.is_empty()))
            };
            let found: Vec<_> = usual.filter(|(place, _)| measured(*place)).collect();
            if found.is_empty() {
                let usual: Vec<&str> = USUAL.concat();
                self.say(
                    "no column was measured",
                    Some(head),
                    format!("give one or more of {}", quoted(&usual)),
                );
            }
            return found;
        }
        let mut found = Vec::new();
        for (index, name) in wanted.signals.iter().enumerate() {
            if wanted.signals[..index].contains(name) {
                self.say(format!("{name} is asked for twice"), Some(head), "name it once");
                continue;
            }
            match (column(name), known(name)) {
                (Some(place), Some(column)) => found.push((place, column)),
                (Some(_), None) => self.say(
                    format!("{name} is nothing that the simulation has"),
                    Some(head),
                    "choose a column that run.csv of easeoff drive has too",
                ),
                (None, _) => {
                    let near = did_you_mean(name, &names);
                    let remedy = near.map_or("choose a column of the log".into(), |near| {
                        format!("did you mean {near}?")
                    });
                    self.say(format!("there is no column {name}"), Some(head), remedy);
                }
            }
        }
        found
    }

    /// A cell as a number within bounds; `None` for an empty one, which `may_lack` allows.
    fn number(
        &mut self,
        row: &Line,
        place: usize,
        name: &str,
        most: f64,
        may_lack: bool,
    ) -> Option<f64> {
        let cell = row.cells.get(place).unwrap_or_default();
        if cell.is_empty() && may_lack {
            return None;
        }
        match cell.parse::<f64>() {
            Ok(value) if value.abs() <= most => return Some(value),
            Ok(value) => self.say(
                format!("{name} is {value}; allowed is -{most} to {most}"),
                Some(row),
                "check the column's unit; leave a cell empty where nothing was measured",
            ),
            Err(_) => self.say(
                format!("{name} is \"{cell}\"; allowed is a number"),
                Some(row),
                if may_lack {
                    "write a number with a point for decimals, or leave the cell empty"
                } else {
                    "write a number with a point for decimals"
                },
            ),
        }
        None
    }

    /// Times from 0, by the ticks where there are any.
    fn times(
        &mut self,
        rows: &[Line],
        (time, tick): (Option<usize>, Option<usize>),
        tick_hz: f64,
    ) -> Option<(Vec<f64>, Vec<String>)> {
        let mut read = |place: Option<usize>, name: &str, unit_s: f64| -> Option<Vec<f64>> {
            let place = place?;
            let mut times: Vec<f64> = Vec::with_capacity(rows.len());
            for row in rows {
                let Some(value) = self.number(row, place, name, 1.0e10, false) else { continue };
                if times.last().is_some_and(|before| *before >= value * unit_s) {
                    let what = format!("{name} {value} does not come after the row before");
                    self.say(what, Some(row), format!("sort the rows by {name}, each {name} once"));
                }
                times.push(value * unit_s);
            }
            Some(times)
        };
        let ticks = read(tick, "tick", 1.0 / tick_hz);
        let clock = read(time, "time_s", 1.0);
        let lasts = |times: &[f64]| {
            times.last().copied().unwrap_or(0.0) - times.first().copied().unwrap_or(0.0)
        };
        let mut notes = Vec::new();
        if let (Some(ticks), Some(clock)) = (&ticks, &clock) {
            let apart = lasts(clock) / lasts(ticks) - 1.0;
            if apart.abs() > CLOCKS_APART {
                notes.push(format!(
                    "time_s runs {:.2} % {} than the board's ticks; the ticks were used. Check the logger's \
                     clock, and board.tick_hz in the rig file",
                    100.0 * apart.abs(),
                    if apart > 0.0 { "faster" } else { "slower" }
                ));
            }
        }
        let times = ticks.or(clock)?;
        if times.len() < 3 {
            let what = format!("it has {} good rows; allowed is 3 or more", times.len());
            self.say(what, None, "log longer");
            return None;
        }
        let from = times[0];
        let times: Vec<f64> = times.iter().map(|time| time - from).collect();
        if lasts(&times) > LONGEST_S {
            self.say(
                format!("it lasts {:.0} s; allowed is up to {LONGEST_S} s", lasts(&times)),
                None,
                "cut it to the part that shows what you look for; check that time_s is in seconds",
            );
        }
        Some((times, notes))
    }

    fn driven(&mut self, by: DriveBy, head: &Line, rows: &[Line]) -> Driven {
        let column = |name: &str| head.cells.iter().position(|cell| cell == name);
        let (brake, word) = (column("brake_share"), column("command"));
        match (by, column("duty"), column("pulse_us")) {
            (DriveBy::Duty, Some(duty), _) => {
                let mut command = |row: &Line| {
                    let duty = self.number(row, duty, "duty", 1.0, false).unwrap_or(0.0);
                    let brake =
                        brake.and_then(|place| self.number(row, place, "brake_share", 1.0, true));
                    let driven = word.and_then(|place| row.cells.get(place)) == Some("drive");
                    command(duty, brake.unwrap_or(0.0), driven)
                };
                Driven::Bridge(rows.iter().map(&mut command).collect())
            }
            (_, _, pulse) => {
                let pulse = pulse.unwrap_or_default();
                let read = |row| self.number(row, pulse, "pulse_us", 30_000.0, true);
                Driven::Pulses(rows.iter().map(read).collect())
            }
        }
    }

    fn signal(&mut self, place: usize, column: &'static Column<Row>, rows: &[Line]) -> Signal {
        let mut samples = Vec::with_capacity(rows.len());
        for (index, row) in rows.iter().enumerate() {
            let value = self.number(row, place, column.name, 1.0e6, true);
            samples.extend(value.map(|value| (index, value)));
        }
        if samples.len() < 3 && self.mistakes.is_empty() {
            let what =
                format!("{} has {} values; allowed is 3 or more", column.name, samples.len());
            self.say(what, None, "log it, or leave the column out");
        }
        Signal { name: column.name, value: column.value, samples }
    }

    fn gaps(&mut self, times: &[f64], rows: &[Line], notes: &mut Vec<String>) {
        let usual = median(times.windows(2).map(|pair| pair[1] - pair[0]).collect());
        let (mut small, most) = (0_usize, (GAP.0 * usual).max(GAP.1));
        for (index, pair) in times.windows(2).enumerate() {
            let wait = pair[1] - pair[0];
            if wait > most {
                self.say(
                    format!(
                        "{wait:.3} s pass before this row; allowed is up to {most:.3} s, as nobody knows how \
                         the rig was driven meanwhile"
                    ),
                    rows.get(index + 1),
                    "cut the log at the gap and fit one of its parts",
                );
            } else if wait > 1.5 * usual {
                small += 1;
            }
        }
        if small > 0 {
            notes.push(format!(
                "{small} short gaps (more than one and a half times the usual {usual:.4} s): the command \
                 before each was taken to last. Log every row if you can"
            ));
        }
    }
}

/// What the bridge was told. A duty of nothing is coasting unless the log says `drive`.
fn command(duty: f64, brake: f64, driven: bool) -> Command {
    if brake > 0.0 {
        Command::Brake { strength: Strength::new(brake as f32).unwrap_or_default() }
    } else if duty != 0.0 || driven {
        Command::Drive { duty: Duty::new(duty as f32).unwrap_or_default() }
    } else {
        Command::Coast
    }
}
