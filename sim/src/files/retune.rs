//! Other tunes put in force during a run, as a person does who turns settings while driving.
//!
//! In a file each is a time and the tune's [`blob`] in hexadecimal digits, so that the
//! very same bits come back.

use easeoff_core::{Settings, blob};
use serde::Serialize;

use crate::files::mistake::{Mistake, Refusal, Source};

/// A tune and when it comes into force.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Retune {
    /// From the first tick at or after this time \[s\].
    pub at_s: f64,
    /// The whole tune.
    pub tune: Settings,
}

const HEADER: &str = "time_s,tune_blob_hex";

/// Reads a file of tunes, the times never falling.
///
/// # Errors
/// Every row that is no time and blob.
pub fn read(source: &Source) -> Result<Vec<Retune>, Refusal> {
    let mut mistakes: Vec<Mistake> = source.cut_off().into_iter().collect();
    let mut found: Vec<Retune> = Vec::new();
    let mut start = 0;
    for (index, line) in source.text.split_inclusive('\n').enumerate() {
        let span = start..start + line.trim_end().len();
        start += line.len();
        let mut say = |what: String, remedy: &str| {
            mistakes.push(Mistake { what, span: Some(span.clone()), remedy: remedy.into() });
        };
        let line = line.trim();
        if index == 0 {
            if line != HEADER {
                say(format!("the header is not {HEADER}"), "export the drive again");
                break;
            }
            continue;
        }
        let before_s = found.last().map_or(0.0, |before| before.at_s);
        match row(line) {
            Ok(next) if next.at_s >= before_s => found.push(next),
            Ok(next) => {
                say(format!("time_s goes back to {}", next.at_s), "sort the rows by time_s");
            }
            Err(what) => say(what, "export the drive again"),
        }
    }
    if source.text.is_empty() {
        let what = format!("it is empty; its header is {HEADER}");
        return Err(source.clone().refuse(what, "export the drive again"));
    }
    if mistakes.is_empty() {
        Ok(found)
    } else {
        mistakes.truncate(20);
        Err(Refusal { source: source.clone(), mistakes })
    }
}

fn row(line: &str) -> Result<Retune, String> {
    let (time, digits) = line.split_once(',').ok_or("the row has no time and tune")?;
    let at_s = time.trim().parse::<f64>().ok().filter(|time| (0.0..=3_600.0).contains(time));
    let at_s = at_s.ok_or(format!("time_s is \"{time}\"; allowed is 0 to 3600"))?;
    let bytes = hex::decode(digits.trim())
        .map_err(|_| "the tune is not written in pairs of hexadecimal digits")?;
    let tune = blob::read(&bytes).map_err(|error| error.to_string())?;
    Ok(Retune { at_s, tune })
}

/// The file that reads as these.
pub fn to_csv(retunes: &[Retune]) -> String {
    let mut text = format!("{HEADER}\n");
    for Retune { at_s, tune } in retunes {
        let mut page = [0; blob::MOST_BYTES];
        // Every tune fits, as the core promises.
        let used = blob::write(tune, &mut page).unwrap_or_default();
        text.push_str(&format!("{at_s},{}\n", hex::encode(&page[..used])));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_is_read_and_anything_else_is_refused() {
        let mut tune = Settings::default();
        tune.drag.onset_ms = 0.1 + 0.2;
        let all =
            [Retune { at_s: 0.1 + 0.2, tune }, Retune { at_s: 7.0, tune: Settings::default() }];
        let text = to_csv(&all);
        let of = |text: &str| read(&Source::new("r.csv", text));
        assert_eq!(of(&text).unwrap(), all);
        assert_eq!(of(&to_csv(&[])).unwrap(), []);
        let back = text.replace("\n7,", "\n0.2,");
        let cut = &text[..text.len() - 3];
        let flipped = text.replacen("7,65", "7,64", 1);
        for wrong in [back.as_str(), cut, &flipped, "time_s\n", "", &text.replace("7,", "-1,")] {
            assert!(of(wrong).is_err(), "{wrong}");
        }
    }
}
