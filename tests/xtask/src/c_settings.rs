//! `core/c/src/settings/made.rs`: the settings as C has them, from the core's list of settings.

use std::fmt::Write as _;

use easeoff_core::{Choice, Kind, SETTINGS, Setting, Settings};

/// What each table of a tune file holds; C's structs say it.
const TABLES: [(&str, &str); 12] = [
    ("pulse", "What counts as a signal."),
    ("calibration", "The throttle's end points."),
    ("curve", "The throttle's curve."),
    ("slew", "The demand's rates of change."),
    ("mode", "Arming and reversing."),
    ("drag", "Easing off."),
    ("rest", "Holding the place once stopped."),
    ("hold", "Holding the speed."),
    ("hold.give_way", "Giving way to a lasting load."),
    ("limits", "Protection."),
    ("limits.stall", "Cutting the drive of wheels that stand."),
    ("motor", "The drive's constants."),
];

const HEAD: &str = "\
//! The settings as C has them. Made by `cargo xtask header` from the core's list; do not edit.
#![expect(
    missing_docs,
    reason = \"names and units are the core's, which says what each setting means\"
)]

use easeoff_core::{Kind, Setting, Settings};

use super::EASEOFF_KNOTS;
use super::translate::{kind, read, tell, translated};
use super::wrong::Wrong;
";

/// The curve is the one setting of many numbers.
const CURVE: Choice = Choice {
    name: "CurveKind",
    words: "How the throttle's curve is given.",
    names: &["cubic", "knots"],
    each: &["(1 - blend) x + blend x^3", "Straight lines from (0, 0) through the knots to (1, 1)."],
};

/// A C struct to be: what goes first is what needs the coarsest alignment, else the order is the list's.
#[derive(Default)]
struct Table {
    path: &'static str,
    floats: Vec<String>,
    tables: Vec<String>,
    bytes: Vec<String>,
    has: Vec<String>,
}

/// The choices: those of which one has a number of its own come last.
fn choices() -> Vec<Choice> {
    let all = SETTINGS.iter().filter_map(|row| match row.kind {
        Kind::Choice { of, .. } => Some((row, *of)),
        _ => None,
    });
    let mut all: Vec<_> =
        all.map(|(row, of)| (with_number_of_its_own(row).is_some(), of)).collect();
    all.sort_by_key(|(last, _)| *last);
    all.into_iter().map(|(_, choice)| choice).chain([CURVE]).collect()
}

/// The choices as enums: C has numbers for them, and these give the numbers names.
pub(crate) fn enumerations() -> String {
    let mut text = String::new();
    for choice in choices() {
        enumeration(&mut text, &choice);
    }
    text
}

/// What C calls each of them.
pub(crate) fn choice_names() -> Vec<String> {
    choices().iter().map(|choice| c_name(choice.name)).collect()
}

/// What C calls a type of this name.
fn c_name(name: &str) -> String {
    let mut made = String::from("easeoff");
    for letter in name.chars() {
        if letter.is_uppercase() {
            made.push('_');
        }
        made.push(letter.to_ascii_lowercase());
    }
    made
}

/// A choice's number that not all of its ways have, and the way that has it.
fn with_number_of_its_own(choice: &Setting) -> Option<(&'static Setting, usize)> {
    let Kind::Choice { of, set, .. } = choice.kind else { return None };
    let within = SETTINGS.iter().filter(|row| row.table_and_key().0 == choice.table_and_key().0);
    let there = |row: &Setting, way: usize| {
        let mut settings = Settings::in_full();
        set(&mut settings, way);
        row.number(&settings).is_some()
    };
    let mut ways = within.flat_map(|row| (0..of.names.len()).map(move |way| (row, way)));
    ways.find(|(row, way)| {
        row.range().is_some() && there(row, *way) && (0..of.names.len()).any(|way| !there(row, way))
    })
}

/// The whole file.
///
/// # Errors
/// When nobody says what a table holds.
pub(crate) fn made() -> Result<String, String> {
    let mut text = String::from(HEAD);
    let (tables, rows) = tables_and_rows()?;
    for table in &tables {
        structure(&mut text, table)?;
    }
    let bytes = rows.iter().filter(|row| !row.starts_with("number") && !row.starts_with("whole"));
    // The curve has two: its kind, and how many knots.
    let count = bytes.count() + 1;
    text += "\n/// All that is a byte in C and not a number: it may hold what cannot be.\n";
    let _ = writeln!(text, "pub(super) const BYTES: usize = {count};\n\ntranslated! {{");
    for row in rows {
        let _ = writeln!(text, "    {row};");
    }
    Ok(text + "}\n")
}

fn enumeration(text: &mut String, choice: &Choice) {
    let _ =
        writeln!(text, "\n/// {}\n#[repr(u8)]\npub enum {} {{", choice.words, c_name(choice.name));
    for (index, (name, does)) in choice.names.iter().zip(choice.each).enumerate() {
        let mut words = name.split('-').map(|word| word[..1].to_uppercase() + &word[1..]);
        let first = if index == 0 { " = 0" } else { "" };
        let _ =
            writeln!(text, "    /// {does}\n    {}{first},", words.by_ref().collect::<String>());
    }
    text.push_str("}\n");
}

fn structure(text: &mut String, table: &Table) -> Result<(), String> {
    let words = match table.path {
        "" => {
            "All settings of a tune, in physical units. Begin with easeoff_settings_default. The book's page\n\
             /// \"Controls\" says what each means and its range; the names are those of the files."
        }
        path => words(path)?,
    };
    let name = structure_name(table.path);
    let _ = writeln!(
        text,
        "\n/// {words}\n#[repr(C)]\n#[derive(Clone, Copy, Debug, Default, PartialEq)]\npub struct {name} {{"
    );
    for field in table.floats.iter().chain(&table.tables).chain(&table.bytes).chain(&table.has) {
        text.push_str(field);
    }
    text.push_str("}\n");
    Ok(())
}

fn words(path: &str) -> Result<&'static str, String> {
    let table = TABLES.iter().find(|(table, _)| *table == path);
    let missing = || format!("{path}: say in TABLES of xtask's c_settings.rs what it holds");
    table.map(|(_, words)| *words).ok_or_else(missing)
}

fn structure_name(path: &str) -> String {
    match path.rsplit('.').next().unwrap_or_default() {
        "" => "easeoff_settings".into(),
        // The plain name is the controller's mode.
        "mode" => "easeoff_mode_settings".into(),
        last => format!("easeoff_{last}"),
    }
}

/// The structs, each before the one that holds it, and a line for each setting that says where it lies.
fn tables_and_rows() -> Result<(Vec<Table>, Vec<String>), String> {
    let mut tables = vec![Table::default()];
    let mut rows = Vec::new();
    for row in SETTINGS {
        let (path, key) = row.table_and_key();
        let (above, last) = path.rsplit_once('.').unwrap_or(("", path));
        let above_dot = if above.is_empty() { String::new() } else { format!("{above}.") };
        if !tables.iter().any(|table| table.path == path) {
            let part = matches!(row.kind, Kind::Part { .. });
            let words = words(path)?;
            let only = format!("{}, if `has_{last}`.", words.trim_end_matches('.'));
            let words = if part { &only } else { words };
            let field = format!("    /// {words}\n    pub {last}: {},\n", structure_name(path));
            let holder = tables.iter().position(|table| table.path == above).unwrap_or_default();
            tables[holder].tables.push(field);
            tables.insert(holder, Table { path, ..Table::default() });
        }
        let at =
            |path: &str| tables.iter().position(|table| table.path == path).unwrap_or_default();
        let (here, above) = (at(path), at(above));
        let float = |doc: String| format!("{doc}    pub {key}: f32,\n");
        let byte = |doc: String, name: &str| format!("    /// {doc}\n    pub {name}: u8,\n");
        let has = |what: &str| {
            byte(format!("1: `{what}` is in force. 0: it is off."), &format!("has_{what}"))
        };
        let p = row.path;
        match row.kind {
            Kind::Number { .. } => {
                tables[here].floats.push(float(belongs(row)));
                rows.push(format!("number {p:?} {p}"));
            }
            Kind::Whole { .. } => {
                tables[here].bytes.push(format!("    pub {key}: u8,\n"));
                rows.push(format!("whole {p:?} {p}"));
            }
            Kind::Optional { .. } => {
                tables[here].floats.push(float(format!("    /// In force if `has_{key}`.\n")));
                tables[here].has.push(has(key));
                let has = format!("{path}.has_{key}");
                rows.push(format!("optional {p:?} {p}, {has:?} {has}"));
            }
            Kind::Flag { .. } => {
                tables[here].bytes.push(byte(format!("1: {}.", row.words), key));
                rows.push(format!("flag {p:?} {p}"));
            }
            Kind::Choice { of, .. } => {
                // What lies in no table has no other words.
                let words = of.words.trim_end_matches('.');
                let words = if path.is_empty() { format!("{words}: an") } else { "An".into() };
                tables[here].bytes.push(byte(format!("{words} {}.", c_name(of.name)), key));
                rows.push(format!("choice {p:?} {p}"));
            }
            Kind::Part { .. } => {
                tables[above].has.push(has(last));
                let has = format!("{above_dot}has_{last}");
                rows.push(format!("part {p:?}, {has:?} {has}"));
            }
            Kind::Knots { .. } => {
                let doc = "For EASEOFF_CURVE_KIND_KNOTS: throttle and demand, 0 to 1.";
                let knots = format!("    /// {doc}\n    pub {key}: [[f32; 2]; EASEOFF_KNOTS],\n");
                tables[here].floats.push(knots);
                tables[here].bytes.push("    pub knot_count: u8,\n".into());
                tables[here].bytes.push(byte("An easeoff_curve_kind.".into(), "kind"));
                rows.push(format!("knots {p:?} {path}"));
            }
        }
    }
    Ok((tables, rows))
}

/// Of a number that only one way of a choice has: which.
fn belongs(row: &Setting) -> String {
    let mut found = SETTINGS.iter().filter_map(|choice| match choice.kind {
        Kind::Choice { of, .. } => {
            let (number, way) = with_number_of_its_own(choice)?;
            (number.path == row.path).then(|| (of.name, of.names[way]))
        }
        // Its number is in its own table.
        Kind::Knots { .. } if choice.table_and_key().0 == row.table_and_key().0 => {
            Some((CURVE.name, CURVE.names[0]))
        }
        _ => None,
    });
    found.next().map_or_else(String::new, |(choice, way)| {
        let way = way.replace('-', "_");
        format!("    /// For {}.\n", format!("{}_{way}", c_name(choice)).to_uppercase())
    })
}
