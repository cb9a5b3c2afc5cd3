//! Writes what the programs in `tests/reference` need to compute the same once more, and what came out
//! here, as JSON.

mod delayed;
mod drives;
pub(crate) mod fits;
mod loops;
mod motors;

use std::fs;
use std::path::Path;

use serde_json::Value;

pub(crate) type Failure = Box<dyn std::error::Error>;

/// Writes one program's cases into a folder, which must be there; their names.
pub(crate) type Write = fn(&Path) -> Result<Vec<&'static str>, Failure>;

/// The programs, and what writes their cases.
pub(crate) const PROGRAMS: [(&str, Write); 4] = [
    ("reference.py", drives::write),
    ("loops.py", loops::write),
    ("motors.py", motors::write),
    ("fit.py", fits::write),
];

fn put(folder: &Path, name: &str, value: &Value) -> Result<(), Failure> {
    fs::write(folder.join(name).with_extension("json"), serde_json::to_vec(value)?)?;
    Ok(())
}
