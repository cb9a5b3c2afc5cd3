//! Changes single values in the text of rig, tune, course or driver, comments kept. The usual readers read
//! the changed text, so every value is checked, and refused, with the usual words.

use std::collections::BTreeMap;

use toml_edit::{DocumentMut, Item, Table, Value};

use crate::files::folder::Folder;
use crate::files::mistake::{Refusal, did_you_mean};
use crate::files::scenario::Files;

/// One of the four files and a key in it, such as `tune.drag.onset_ms`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path {
    file: &'static str,
    keys: Vec<String>,
}

const FILES: [&str; 4] = ["rig", "tune", "course", "driver"];

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
                "{text} begins with \"{first}\"; allowed is rig, tune, course or driver; did you mean {near}?"
            )
        })?;
        let keys: Vec<String> = parts.map(str::to_owned).collect();
        if keys.is_empty() || keys.iter().any(String::is_empty) {
            return Err(format!("{text} names no key; write it as tune.drag.onset_ms"));
        }
        Ok(Self { file, keys })
    }

    /// Which of the four files it is in.
    pub fn file(&self) -> &'static str {
        self.file
    }
}

fn parsed(text: &str) -> Result<DocumentMut, String> {
    text.parse().map_err(|error| format!("this is not TOML: {error}"))
}

/// Replaces the value at `keys`; a number between keys counts in a list of tables, from 0.
///
/// # Errors
/// When a key on the way holds no table.
fn change(document: &mut DocumentMut, keys: &[String], value: &Value) -> Result<(), String> {
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
    Ok(())
}

/// Files as they were when they were read, to be changed over and over: what happens to them on disk meanwhile
/// does not matter.
#[derive(Clone, Debug)]
pub struct Original {
    files: Files,
    documents: BTreeMap<&'static str, DocumentMut>,
}

impl Original {
    /// Reads those of the files that the paths are in.
    ///
    /// # Errors
    /// When one cannot be read, or is no TOML.
    pub fn read<'p>(
        files: &Files,
        paths: impl IntoIterator<Item = &'p Path>,
    ) -> Result<Self, Vec<Refusal>> {
        let mut documents = BTreeMap::new();
        for Path { file, .. } in paths {
            if !documents.contains_key(file) {
                let (folder, name) = one_of(files, file);
                let source = folder.read(name).map_err(|refusal| vec![refusal])?;
                let document = parsed(&source.text)
                    .map_err(|what| vec![source.refuse(what, "write it as key = value")])?;
                documents.insert(*file, document);
            }
        }
        Ok(Self { files: files.clone(), documents })
    }

    /// The files with new values at some paths, each of which was named when the files were read.
    ///
    /// # Errors
    /// When a file has no place for a key.
    pub fn with<'c>(
        &self,
        changes: impl IntoIterator<Item = (&'c Path, &'c Value)>,
    ) -> Result<Files, String> {
        let mut documents = self.documents.clone();
        for (path, value) in changes {
            let document = documents.get_mut(path.file).ok_or("a file that was not read")?;
            change(document, &path.keys, value)?;
        }
        let mut files = self.files.clone();
        for (name, document) in documents {
            let file = one_of_mut(&mut files, name);
            let (under, name) = (Box::new(file.0.clone()), file.1.clone());
            file.0 = Folder::Changed { under, name, text: document.to_string() };
        }
        Ok(files)
    }
}

fn one_of<'f>(files: &'f Files, name: &str) -> &'f (Folder, String) {
    match name {
        "rig" => &files.rig,
        "tune" => &files.tune,
        "course" => &files.course,
        _ => &files.driver,
    }
}

fn one_of_mut<'f>(files: &'f mut Files, name: &str) -> &'f mut (Folder, String) {
    match name {
        "rig" => &mut files.rig,
        "tune" => &mut files.tune,
        "course" => &mut files.course,
        _ => &mut files.driver,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_value_changes_and_the_rest_stays() {
        let text = "# all\n[drag]\nonset_ms = 300   # soft\n[[snag]]\nat_m = 1 # here\n[[snag]]\nat_m = 2\n";
        let keys = |path: &str| Path::parse(path).unwrap().keys;
        let changed = |text: &str, keys: &[String], value: &Value| {
            let mut document = parsed(text).unwrap();
            change(&mut document, keys, value).map(|()| document.to_string())
        };
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
