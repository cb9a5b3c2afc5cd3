//! The tables of settings in the book's page "Controls", a line for each in the demo's tune, and the tests'
//! example of a tune in every form, from the list that the core has of them.

use std::fs;
use std::path::{Path, PathBuf};

use easeoff_core::{Kind, SETTINGS, Setting, Settings, Shape};
use easeoff_sim::files::export;
use easeoff_sim::files::full_speed::FULL_SPEED;
use easeoff_sim::files::tune_edit::number_text;

use crate::stages::Failure;

#[path = "../../../core/tests/integration/wire/tunes.rs"]
#[allow(dead_code, reason = "the core's tests use the rest")]
mod tunes;

fn folder() -> PathBuf {
    top().join("docs/src/made/settings")
}

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn demo() -> PathBuf {
    top().join("sim/demo/tune.toml")
}

/// Writes all tables, puts into the demo's tune what is missing there, and writes the example.
pub(crate) fn write() -> Result<(), Failure> {
    let tune = fs::read_to_string(demo())?;
    fs::write(demo(), with_every_setting(&tune))?;
    let example = tunes::latest_tune();
    fs::write(top().join("core/tests/data/tune-v3.blob"), export::bytes(&example)?)?;
    fs::write(top().join("tests/data/easeoff_tune.rs"), export::source(&example, None))?;
    fs::create_dir_all(folder())?;
    for (name, table) in tables() {
        fs::write(folder().join(name).with_extension("md"), table)?;
    }
    Ok(())
}

/// A table for each table of the tune file, with what lies within it, by its name; and the shapes.
fn tables() -> Vec<(&'static str, String)> {
    let mut tables: Vec<(&str, String)> = Vec::new();
    for setting in SETTINGS {
        let name = setting.path.split_once('.').map(|(name, _)| name);
        // A setting of no table is listed with those before it.
        let name = name.or(tables.last().map(|(name, _)| *name)).unwrap_or_default();
        if tables.last().is_none_or(|(last, _)| *last != name) {
            let head = "| setting | unit | range | default | |\n|---|---|---|---|---|\n";
            tables.push((name, head.into()));
        }
        if let Some((_, table)) = tables.last_mut() {
            table.push_str(&line(setting));
        }
    }
    let head = "| shape | value at phase p |\n|---|---|\n";
    let shapes = Shape::NAMED.map(|(name, shape)| format!("| `{name}` | {} |\n", shape.formula()));
    tables.push(("shapes", format!("{head}{}", shapes.concat())));
    tables
}

fn line(setting: &Setting) -> String {
    let Setting { path, unit, words, from_rig, .. } = setting;
    let rig = if *from_rig { "; from the rig" } else { "" };
    format!("| `{path}` | {unit} | {} | {} | {words}{rig} |\n", range(setting), default(setting))
}

fn range(setting: &Setting) -> String {
    let between = |[least, most]: [f32; 2]| format!("{} to {}", grouped(least), grouped(most));
    match setting.kind {
        Kind::Number { range, .. } | Kind::Whole { range, .. } => between(range),
        Kind::Optional { range, .. } => between(range) + "; may be left out",
        Kind::Flag { .. } | Kind::Part { .. } => "true, false".into(),
        Kind::Choice { of, .. } => of.names.join(", "),
        Kind::Knots { travel, demand, .. } => {
            format!("travel {}, demand {}", between(travel), between(demand))
        }
    }
}

/// What holds where the file says nothing: of a setting within a part, once its table is there.
fn default(setting: &Setting) -> String {
    let settings = Settings::default();
    let within = || setting.number(&Settings::in_full()).map_or("none".into(), grouped);
    match setting.kind {
        Kind::Number { .. } if setting.path == FULL_SPEED => "the rig's".into(),
        Kind::Optional { .. } | Kind::Knots { .. } => "none".into(),
        Kind::Part { .. } => "true".into(),
        Kind::Number { .. } | Kind::Whole { .. } => within(),
        Kind::Flag { .. } => setting.flag(&settings).unwrap_or_default().to_string(),
        Kind::Choice { .. } => setting.name(&settings).unwrap_or_default().into(),
    }
}

/// A tune file with a line for each setting that has a value by default, behind the one before it in the list,
/// and with no line of a setting that is gone. What is there already stays as it is, with its comment.
fn with_every_setting(tune: &str) -> String {
    let mut lines: Vec<(String, String)> = Vec::new();
    let mut table = "";
    for line in tune.lines() {
        let head = line.strip_prefix('[').and_then(|line| line.split(']').next());
        table = head.unwrap_or(table);
        let code = line.split('#').next().unwrap_or_default();
        let key = code.split_once('=').map(|(key, _)| key.trim()).filter(|_| head.is_none());
        let path = match key {
            Some(key) if table.is_empty() => key.into(),
            Some(key) => format!("{table}.{key}"),
            None => head.map(|head| format!("[{head}]")).unwrap_or_default(),
        };
        let setting = SETTINGS.iter().find(|setting| setting.path == path);
        if key.is_none() || setting.is_some() {
            lines.push((
                path,
                setting.map_or_else(|| line.into(), |row| with_every_name(line, row)),
            ));
        }
    }
    let mut before = 0;
    for setting in SETTINGS.iter().filter(|setting| !setting.from_rig) {
        let find =
            |lines: &[(String, String)], path: &str| lines.iter().position(|(at, _)| at == path);
        if let Some(there) = find(&lines, setting.path) {
            before = there;
            continue;
        }
        let value = match setting.kind {
            Kind::Optional { .. } | Kind::Knots { .. } => continue,
            Kind::Part { .. } => "false".into(),
            Kind::Choice { .. } => format!("{:?}", default(setting)),
            Kind::Number { .. } | Kind::Whole { .. } | Kind::Flag { .. } => {
                default(setting).replace(',', "")
            }
        };
        let (table, key) = setting.table_and_key();
        let head = format!("[{table}]");
        match find(&lines, &head) {
            // Not behind a setting of another table.
            Some(head) => before = before.max(head),
            // Before the first table, and the empty line before that.
            None if table.is_empty() => {
                let first = lines.iter().position(|(at, _)| at.starts_with('['));
                before = first.unwrap_or(lines.len()).saturating_sub(2);
            }
            None => {
                before = lines.len() + 1;
                lines.extend([(String::new(), String::new()), (head.clone(), head)]);
            }
        }
        before += 1;
        let code = format!("{key} = {value}");
        lines.insert(before, (setting.path.into(), format!("{code:<33}# {}", setting.words)));
    }
    lines.into_iter().map(|(_, line)| line + "\n").collect()
}

/// A line whose comment lists the names of a choice, such as `"direct", "after-stop" or "never"`, with all of them.
fn with_every_name(line: &str, setting: &Setting) -> String {
    let Kind::Choice { of, .. } = setting.kind else { return line.into() };
    let quoted: Vec<String> = of.names.iter().map(|name| format!("{name:?}")).collect();
    let listed = line.split_once("# ").and_then(|(code, comment)| {
        let mut rest = comment;
        for name in &quoted {
            rest = rest.strip_prefix(name.as_str()).unwrap_or(rest);
            rest = rest.strip_prefix(", ").or_else(|| rest.strip_prefix(" or ")).unwrap_or(rest);
        }
        (rest.is_empty() && comment.contains(" or ")).then_some(code)
    });
    match (listed, quoted.split_last()) {
        (Some(code), Some((last, others))) => format!("{code}# {} or {last}", others.join(", ")),
        _ => line.into(),
    }
}

/// From 10,000 on with a comma, as in the book.
fn grouped(number: f32) -> String {
    let text = number_text(number);
    match text.len().checked_sub(3) {
        Some(at) if number >= 10_000.0 => format!("{},{}", &text[..at], &text[at..]),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_demos_tune_has_a_line_for_every_setting() {
        let tune = fs::read_to_string(demo()).unwrap();
        assert_eq!(
            with_every_setting(&tune),
            tune,
            "sim/demo/tune.toml: run `cargo xtask settings`"
        );
        // A line that is missing comes where it belongs, one of no setting goes.
        let line = |key: &str| tune.lines().find(|line| line.starts_with(key)).unwrap();
        let cut = tune.replace(line("follow"), "follows = 1").replace(line("safe_state"), "");
        let made = with_every_setting(&cut);
        let place = |key: &str| made.find(&format!("\n{key} = ")).unwrap();
        assert!(place("shape") < place("follow") && place("follow") < place("release_ms"));
        assert!(place("safe_state") < made.find("[pulse]").unwrap());
        let words = Setting::of("drag.follow").words;
        assert!(made.contains(&format!("follow = 0                       # {words}\n")));
        assert!(!made.contains("follows"));
        let fewer = tune.replace("\"direct\", \"after-stop\" or", "\"direct\" or");
        assert!(fewer != tune && with_every_setting(&fewer) == tune, "a name is missing");
        let stall = tune.find("[limits.stall]").unwrap();
        let table = with_every_setting(&tune[..stall]);
        assert!(table.contains("\n[limits.stall]\non = false "), "{table}");
    }

    #[test]
    fn the_books_tables_say_what_the_list_says() {
        let page = fs::read_to_string(folder().join("../../controls.md")).unwrap();
        for (name, made) in tables() {
            let written = fs::read_to_string(folder().join(name).with_extension("md"));
            let remedy = format!("docs/src/made/settings/{name}.md: run `cargo xtask settings`");
            assert_eq!(written.unwrap_or_default(), made, "{remedy}");
            let include = format!("{{{{#include made/settings/{name}.md}}}}");
            assert_eq!(page.matches(&include).count(), 1, "controls.md has {include} once");
        }
        let files = fs::read_dir(folder()).unwrap().count();
        assert_eq!(files, tables().len(), "a table that nobody makes");
        assert_eq!([9_999.0, 10_000.0, 0.05].map(grouped), ["9999", "10,000", "0.05"]);
    }
}
