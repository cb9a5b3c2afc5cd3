//! What the lines say. Version 1:
//!
//! ```text
//! > easeoff,1,1000                                                    version, ticks per second
//! > tick,time_s,pulse_us,speed_rad_s,current_a,voltage_v,temperature_c   names of what is told
//! < ready,1,my controller,integral                                    version, name, own columns
//! > 0,0,1500,,,11.1,                                                  an empty cell: not measured
//! < 0,coast,0,0.25                                                    tick, command, amount, own values
//! > 1,0.001,,12.5,3,11.1,20
//! < 1,drive,0.4,0.26                                                  duty, -1 to 1
//! < 2,brake,1,                                                        share, 0 to 1; no own value
//! ```
//!
//! The tick comes back in the answer, so that a line too many or too few is noticed at once. After the
//! last tick the program's standard input ends.

use std::fmt::Write;

use crate::run::columns;
use crate::run::controller::{Command, Duty, Input, Strength};

/// The version of the lines.
pub(super) const VERSION: u32 = 1;

/// Names of what is told in each tick. A later field can only be added behind these.
pub(crate) const FIELDS: &str =
    "tick,time_s,pulse_us,speed_rad_s,current_a,voltage_v,temperature_c";

/// As many columns of its own as a program may have.
const MOST_COLUMNS: usize = 16;
/// As many characters as a name may have.
const LONGEST_NAME: usize = 40;

/// The first two lines.
pub(crate) fn greeting(hz: u16) -> String {
    format!("easeoff,{VERSION},{hz}\n{FIELDS}\n")
}

/// What the program answers to the greeting: its name and the names of its own columns.
///
/// # Errors
/// What is wrong with it, as the end of a sentence about the program.
pub(crate) fn greeted(line: &str) -> Result<(String, Vec<String>), String> {
    let mut cells = line.split(',').map(str::trim);
    let expected = format!(
        "expected is ready,{VERSION}, its name, and the names of its own columns if it has any"
    );
    if cells.next() != Some("ready") {
        return Err(format!("greets with {}; {expected}", quoted(line)));
    }
    let version = cells.next().unwrap_or_default();
    if version != VERSION.to_string() {
        return Err(format!("speaks version {}; {expected}", quoted(version)));
    }
    let names: Vec<String> = cells.map(str::to_owned).collect();
    let fine = |name: &String| {
        (1..=LONGEST_NAME).contains(&name.chars().count())
            && !name.contains(|c: char| c == '"' || c.is_control())
    };
    if names.is_empty() || !names.iter().all(fine) {
        return Err(format!(
            "greets with {}; names have 1 to {LONGEST_NAME} characters and no quotes",
            quoted(line)
        ));
    }
    let (name, own) = (names[0].clone(), names[1..].to_vec());
    if own.len() > MOST_COLUMNS {
        let has = own.len();
        return Err(format!("has {has} columns of its own; allowed is up to {MOST_COLUMNS}"));
    }
    let twice = |(index, name): (usize, &String)| columns::has(name) || own[..index].contains(name);
    match own.iter().enumerate().find(|column| twice(*column)) {
        Some((_, name)) => {
            Err(format!("calls a column {name}, which run.csv has already; rename it"))
        }
        None => Ok((name, own)),
    }
}

/// What is told in a tick, in the place of what `text` held.
pub(super) fn question(text: &mut String, tick: u64, hz: u16, input: &Input) {
    text.clear();
    // Writing into a string cannot fail.
    let _ = write!(text, "{tick},{}", tick as f64 / f64::from(hz));
    let cells = [
        input.pulse.map(|value| value.to_f32()),
        input.speed.map(|value| value.to_f32()),
        input.current.map(|value| value.to_f32()),
        input.voltage.map(|value| value.to_f32()),
        input.temperature.map(|value| value.to_f32()),
    ];
    for cell in cells {
        text.push(',');
        if let Some(value) = cell {
            // All digits, so that it is the number that a controller in Rust is given.
            let _ = write!(text, "{}", f64::from(value));
        }
    }
    text.push('\n');
}

/// What the program answers in a tick; its own values go to `own`.
///
/// # Errors
/// What is wrong with it.
pub(super) fn answer(line: &str, tick: u64, own: &mut [f64]) -> Result<Command, String> {
    let wrong = |what: &str| Err(format!("it answers {}; {what}", quoted(line)));
    let mut cells = line.split(',').map(str::trim);
    if cells.next().and_then(|cell| cell.parse().ok()) != Some(tick) {
        return wrong(&format!("expected is one line that begins with the tick, {tick}"));
    }
    let what = cells.next().unwrap_or_default();
    let amount = cells.next().unwrap_or_default();
    let number = |cell: &str| cell.parse::<f64>().ok();
    // What leaves the range is refused, not cut: a controller that asks for it is wrong.
    let within = |low: f64| number(amount).filter(|value| (low..=1.0).contains(value));
    let command = match what {
        "coast" => Some(Command::Coast),
        "drive" => {
            within(-1.0).and_then(|duty| Duty::new(duty as f32)).map(|duty| Command::Drive { duty })
        }
        "brake" => within(0.0)
            .and_then(|share| Strength::new(share as f32))
            .map(|strength| Command::Brake { strength }),
        _ => return wrong("commands are coast, drive and brake"),
    };
    let Some(command) = command else {
        return wrong(match what {
            "drive" => "a duty is a number from -1 to 1",
            _ => "a brake's share is a number from 0 to 1",
        });
    };
    let mut has = 0;
    for cell in cells {
        let value = if cell.is_empty() { Some(f64::NAN) } else { number(cell) };
        match (own.get_mut(has), value) {
            (Some(place), Some(value)) => *place = value,
            (Some(_), None) => return wrong("its own values are numbers or empty"),
            (None, _) => {}
        }
        has += 1;
    }
    if has != own.len() {
        let due = own.len();
        return wrong(&format!("it has {has} values of its own; the greeting named {due}"));
    }
    Ok(command)
}

/// A line as it is shown: in quotes, without what a terminal would obey, and not too much of it.
pub(super) fn quoted(line: &str) -> String {
    const SHOWN: usize = 60;
    let short: String = line.chars().take(SHOWN).collect();
    let more = if short.len() < line.len() { " .." } else { "" };
    format!("{short:?}{more}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::controller::{brake, drive};

    #[test]
    fn what_is_measured_is_told_and_what_is_not_is_empty() {
        let mut text = "old".to_owned();
        let input = Input {
            pulse: easeoff_core::Microseconds::new(1_500.5),
            voltage: easeoff_core::Volt::new(11.25),
            ..Input::default()
        };
        question(&mut text, 3, 1_000, &input);
        assert_eq!(text, "3,0.003,1500.5,,,11.25,\n");
        assert_eq!(text.split(',').count(), FIELDS.split(',').count());
    }

    #[test]
    fn answers_are_commands_or_say_what_is_wrong() {
        let ask = |line: &str| answer(line, 7, &mut []);
        assert_eq!(ask("7,coast"), Ok(Command::Coast));
        assert_eq!(ask(" 7, drive, -0.25 "), Ok(drive(-0.25)));
        assert_eq!(ask("7,brake,1"), Ok(brake(1.0)));
        for (line, says) in [
            ("7,drive,nan", "-1 to 1"),
            ("7,drive,inf", "-1 to 1"),
            ("7,drive,1.001", "-1 to 1"),
            ("7,drive", "-1 to 1"),
            ("7,brake,-0.1", "0 to 1"),
            ("7,brake,NaN", "0 to 1"),
            ("7,fly,1", "coast, drive and brake"),
            ("6,coast", "begins with the tick, 7"),
            ("", "begins with the tick, 7"),
            ("7,coast,0,1", "it has 1 values of its own; the greeting named 0"),
        ] {
            let said = ask(line).unwrap_err();
            assert!(said.contains(says), "{line}: {said}");
        }
        let mut own = [0.0; 2];
        assert!(answer("7,coast,0,1.5,", 7, &mut own).is_ok());
        assert!(own[0] == 1.5 && own[1].is_nan());
        assert!(answer("7,coast,0,1.5", 7, &mut own).is_err());
        assert!(answer("7,coast,0,1.5,x", 7, &mut own).unwrap_err().contains("numbers or empty"));
    }

    #[test]
    fn greetings_of_another_version_or_with_a_taken_name_are_refused() {
        let fine = greeted("ready,1,mine,integral");
        assert_eq!(fine, Ok(("mine".into(), vec!["integral".into()])));
        for (line, says) in [
            ("hello", "greets with \"hello\""),
            // What only sends back what it is sent.
            ("easeoff,1,1000", "greets with"),
            ("ready,2,mine", "speaks version \"2\""),
            ("ready,1", "names have 1 to"),
            ("ready,1,mine,", "names have 1 to"),
            ("ready,1,mine,duty", "run.csv has already"),
            ("ready,1,mine,a,a", "run.csv has already"),
        ] {
            let said = greeted(line).unwrap_err();
            assert!(said.contains(says), "{line}: {said}");
        }
    }
}
