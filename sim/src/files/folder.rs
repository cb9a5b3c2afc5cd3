//! Where input files come from: a folder on disk, or the demos inside the program.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use crate::files::mistake::{Refusal, Source};
use crate::files::renamed;

/// Files larger than this are refused unread.
const LARGEST_BYTES: u64 = 16 * 1024 * 1024;

/// A place that files are read from.
#[derive(Clone, Debug)]
pub enum Folder {
    /// A folder on disk; names are looked up relative to it.
    Disk(PathBuf),
    /// Files inside the program, by name.
    Embedded(&'static [(&'static str, &'static str)]),
    /// A folder in which one file has another text; see [`crate::files::overrides`].
    Changed {
        /// All the other files.
        under: Box<Folder>,
        /// The file's name.
        name: String,
        /// Its text.
        text: String,
    },
}

impl Folder {
    /// Reads one file as text.
    ///
    /// # Errors
    /// When it is missing, a folder, too large, unreadable or not text; the refusal says which.
    pub fn read(&self, name: &str) -> Result<Source, Refusal> {
        match self {
            Self::Changed { name: changed, text, .. } if changed == name => {
                Ok(Source::new(format!("{name}, changed"), text.as_str()))
            }
            Self::Changed { under, .. } => under.read(name),
            Self::Disk(folder) => read_disk(&folder.join(name)),
            Self::Embedded(files) => match files.iter().find(|(known, _)| *known == name) {
                Some((_, text)) => Ok(Source::new(name, *text)),
                None => Err(Source::new(name, "")
                    .refuse("this file is not part of the demo", "choose a file that is")),
            },
        }
    }
}

/// A folder on disk with its name; `.` takes the folder's real name.
///
/// # Errors
/// When it is missing, or a file.
pub fn named(folder: PathBuf) -> Result<(Folder, String), Refusal> {
    let source = Source::new(folder.display().to_string(), "");
    match fs::metadata(&folder) {
        Ok(facts) if !facts.is_dir() => {
            return Err(source.refuse("this is a file, not a folder", "name the folder it is in"));
        }
        Err(error) if error.kind() == ErrorKind::NotFound => {
            let remedy = format!(
                "check its name; `easeoff new {}` makes it, with a rig's four files in it",
                folder.display()
            );
            return Err(source.refuse("there is no such folder", remedy));
        }
        // What else is wrong is told of the files in it.
        _ => {}
    }
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.clone());
    let name = whole.file_name().map_or("run".into(), |name| name.to_string_lossy().into());
    Ok((Folder::Disk(folder), name))
}

/// A named file, looked up in its own folder, so that what it names in turn is found beside it.
pub fn folder_and_name(path: &Path) -> (Folder, String) {
    let parent = path.parent().unwrap_or(Path::new("")).to_owned();
    match path.file_name() {
        Some(name) => (Folder::Disk(parent), name.to_string_lossy().into()),
        None => (Folder::Disk(path.to_owned()), String::new()),
    }
}

fn read_disk(path: &Path) -> Result<Source, Refusal> {
    let source = |text: String| Source::new(path.display().to_string(), text);
    let before = path.file_name().and_then(|name| renamed::file_before(name.to_str()?));
    let remedy = match before.filter(|was| path.with_file_name(was).is_file()) {
        Some(was) => format!("{was} in this folder is what it was called before: rename it"),
        None => "check its name; `easeoff new DIR` writes a rig's four files into a new folder, to copy from".into(),
    };
    let bytes = read(path, LARGEST_BYTES, &remedy)?;
    String::from_utf8(bytes).map(source).map_err(|error| {
        source(String::new()).refuse(
            format!("it is not text: byte {} is no UTF-8", error.utf8_error().valid_up_to()),
            "save it as plain UTF-8 text",
        )
    })
}

/// The bytes of an ordinary file, at most `largest` of them.
///
/// # Errors
/// When it is missing, no ordinary file, too large or unreadable.
pub fn read_bytes(path: &Path, largest: u64) -> Result<Vec<u8>, Refusal> {
    read(path, largest, "check its name and the folder it is in")
}

fn read(path: &Path, largest: u64, if_missing: &str) -> Result<Vec<u8>, Refusal> {
    let refuse = |what: String, remedy: &str| {
        Source::new(path.display().to_string(), "").refuse(what, remedy)
    };
    let of_error = |error: std::io::Error| match error.kind() {
        ErrorKind::NotFound => refuse("there is no such file".into(), if_missing),
        ErrorKind::PermissionDenied => {
            refuse("this file may not be read".into(), "change its permissions")
        }
        _ => refuse(format!("it cannot be read: {error}"), "check the disk and the name"),
    };
    let facts = fs::metadata(path).map_err(of_error)?;
    if facts.is_dir() {
        return Err(refuse("this is a folder, not a file".into(), "name a file inside it"));
    }
    if !facts.is_file() {
        return Err(refuse("this is not an ordinary file".into(), "name an ordinary file"));
    }
    if facts.len() > largest {
        return Err(refuse(
            format!("it has {} bytes; allowed is up to {largest}", facts.len()),
            "shorten it",
        ));
    }
    fs::read(path).map_err(of_error)
}
