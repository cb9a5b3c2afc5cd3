//! The tune back into its file, or as text.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use easeoff_core::Settings;
use easeoff_plant::rig::Rig;
use easeoff_sim::files::mistake::Source;
use easeoff_sim::files::tune_edit::TuneFile;
use easeoff_sim::files::{tune, tune_text};
use easeoff_sim::results::write_file;

/// What was done about the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Saved {
    /// Its values were changed, everything else kept.
    Changed,
    /// The file was gone; it was written anew.
    Anew,
}

/// `text` with the values of `tune`, comments kept.
///
/// # Errors
/// When the text is no tune file, or the program would refuse it with these values for `rig`.
pub fn with_values(text: &str, tune: &Settings, rig: &Rig) -> Result<String, String> {
    let mut file =
        TuneFile::parse(&Source::new("tune.toml", text)).map_err(|refusal| refusal.render())?;
    file.keep_columns();
    tune_text::put(&mut file, tune, Some(rig));
    let text = file.text();
    tune::read(&Source::new("tune.toml", text.as_str()), rig).map_err(|refusal| {
        format!("a file with these values is refused, so nothing is written:\n{}", refusal.render())
    })?;
    Ok(text)
}

/// Puts `tune` into the file at `path`. `known` is its text as it was last read or written, and becomes
/// what was written.
///
/// # Errors
/// When somebody else changed the file since, the program would refuse it, or the disk does: the file is then
/// as it was.
pub fn save(path: &Path, known: &mut String, tune: &Settings, rig: &Rig) -> Result<Saved, String> {
    let (saved, base) = match fs::read_to_string(path) {
        Ok(text) if text == *known => (Saved::Changed, text),
        Ok(_) => {
            return Err(format!(
                "{} was changed by somebody else since it was read; nothing was written: copy the tune as \
                 text, or start the window again",
                path.display()
            ));
        }
        Err(error) if error.kind() == ErrorKind::NotFound => (Saved::Anew, known.clone()),
        Err(error) => return Err(format!("{} cannot be read: {error}", path.display())),
    };
    let text = with_values(&base, tune, rig)?;
    // What is there was compared whole, so anything may be replaced.
    write_file(path, text.as_bytes(), b"").map_err(|error| error.to_string())?;
    *known = text;
    Ok(saved)
}
