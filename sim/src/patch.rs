//! Changes single values in the text of rig, tune, course or hand, comments kept. The usual readers read
//! the changed text, so every value is checked, and refused, with the usual words.

use toml_edit::{DocumentMut, Item, Table, Value};

use crate::folder::Folder;
use crate::mistake::did_you_mean;
use crate::scenario::Files;

/// One of the four files and a key in it, such as `tune.drag.onset_ms`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path {
    file: &'static str,
    keys: Vec<String>,
}

const FILES: [&str; 4] = ["rig", "tune", "course", "hand"];

impl Path {
    /// Reads a path.
    ///
    /// # Errors
    /// What is wrong with it. Whether the file knows the key, its reader says.
    pub fn parse(text: &str) -> Result<Self, String> {
        let mut parts = text.split('.');
        let first = parts.next().unwrap_or_default();
        let file = FILES.into_iter().find(|file| *file == first).ok_or_else(|| {
            let near = did_you_mean(first, &FILES).unwrap_or("tune");
            format!(
                "{text} begins with \"{first}\"; allowed is rig, tune, course or hand; did you mean {near}?"
            )
        })?;
        let keys: Vec<String> = parts.map(str::to_owned).collect();
        if keys.is_empty() || keys.iter().any(String::is_empty) {
            return Err(format!("{text} names no key; write it as tune.drag.onset_ms"));
        }
        Ok(Self { file, keys })
    }
}

/// `text` with the value at `keys` replaced; a number between keys counts in a list of tables, from 0.
///
/// # Errors
/// When the text is not TOML, or a key on the way holds no table.
fn changed(text: &str, keys: &[String], value: &Value) -> Result<String, String> {
    let mut document: DocumentMut =
        text.parse().map_err(|error| format!("this is not TOML: {error}"))?;
    let Some((last, way)) = keys.split_last() else { return Err("no key is named".into()) };
    let mut table = document.as_table_mut();
    let mut depth = 0;
    while let Some(key) = way.get(depth) {
        depth += 1;
        let shown = way[..depth].join(".");
        table = match table.entry(key).or_insert(Item::Table(Table::new())) {
            Item::Table(inner) => inner,
            Item::ArrayOfTables(list) => {
                let Some(index) = way.get(depth) else {
                    return Err(format!("{shown}.{last} is a table; name a key in it"));
                };
                depth += 1;
                let count = list.len();
                let found = index.parse().ok().and_then(|index: usize| list.get_mut(index));
                found.ok_or_else(|| {
                    format!("{shown} has {count} entries, counted from 0; {index} is none of them")
                })?
            }
            _ => {
                let next = way.get(depth).unwrap_or(last);
                return Err(format!("{shown} is no table, so it has no {next}"));
            }
        };
    }
    let mut value = value.clone();
    if let Some(before) = table.get(last).and_then(Item::as_value) {
        // The comment behind the old value stays.
        *value.decor_mut() = before.decor().clone();
    }
    table.insert(last, Item::Value(value));
    Ok(document.to_string())
}

/// The four files with the value at `path` changed.
///
/// # Errors
/// When the file cannot be read, or has no place for the key.
pub fn with(files: &Files, path: &Path, value: &Value) -> Result<Files, String> {
    let mut files = files.clone();
    let file = match path.file {
        "rig" => &mut files.rig,
        "tune" => &mut files.tune,
        "course" => &mut files.course,
        _ => &mut files.hand,
    };
    let source = file.0.read(&file.1).map_err(|refusal| refusal.render())?;
    let text = changed(&source.text, &path.keys, value)?;
    file.0 = Folder::Changed { under: Box::new(file.0.clone()), name: file.1.clone(), text };
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_value_changes_and_the_rest_stays() {
        let text = "# all\n[drag]\nonset_ms = 300   # soft\n[[snag]]\nat_m = 1 # here\n[[snag]]\nat_m = 2\n";
        let keys = |path: &str| Path::parse(path).unwrap().keys;
        let new = changed(text, &keys("tune.drag.onset_ms"), &Value::from(900.0)).unwrap();
        assert_eq!(new, text.replace("= 300 ", "= 900.0 "));
        let new = changed(text, &keys("course.snag.1.at_m"), &Value::from(3.5)).unwrap();
        assert_eq!(new, text.replace("at_m = 2", "at_m = 3.5"));
        let new = changed(text, &keys("tune.hold.authority"), &Value::from(0.5)).unwrap();
        assert!(new.contains("[hold]\nauthority = 0.5\n"), "{new}");
        assert!(changed(text, &keys("tune.snag.2.at_m"), &Value::from(1.0)).is_err());
        assert!(changed(text, &keys("tune.drag.onset_ms.x"), &Value::from(1.0)).is_err());
        assert!(Path::parse("tun.drag.onset_ms").unwrap_err().contains("did you mean tune?"));
    }
}
