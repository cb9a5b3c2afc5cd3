//! What is varied, and over which values.

use toml_edit::Value as Setting;

use super::ready::twice;
use crate::files::overrides::Path;

/// One thing that is varied, with its values.
#[derive(Clone, Debug)]
pub struct Axis {
    /// As the user wrote it.
    pub name: String,
    /// Which value in which file.
    pub path: Path,
    /// The values in turn.
    pub values: Vec<Setting>,
    /// Both ends, where it was given as a range.
    pub ends: Option<[f64; 2]>,
}

const USUAL_COUNT: usize = 5;
const MOST_VALUES: usize = 100_000;

impl Axis {
    /// Reads `tune.drag.onset_ms=0..900:7`, both ends included, or `tune.drag.law=duty,current`.
    ///
    /// # Errors
    /// What is wrong with it, and how to write it.
    pub fn parse(text: &str) -> Result<Self, String> {
        let how = "write KEY=FROM..TO:COUNT or KEY=VALUE,VALUE";
        let (name, values) = text.split_once('=').ok_or(how)?;
        let (values, ends) = match values.split_once("..") {
            Some((from, rest)) => {
                let (to, count) = rest.split_once(':').unwrap_or((rest, ""));
                let count = if count.is_empty() { Ok(USUAL_COUNT) } else { count.parse() };
                let range = (from.parse::<f64>(), to.parse::<f64>(), count);
                let (Ok(from), Ok(to), Ok(count @ 2..=MOST_VALUES)) = range else {
                    return Err(format!(
                        "{values} is no range; {how}, COUNT from 2 to {MOST_VALUES}"
                    ));
                };
                if !from.is_finite() || !to.is_finite() {
                    return Err(format!("{values} has an end that is not finite; {how}"));
                }
                let part = |index: usize| index as f64 / (count - 1) as f64;
                let values = (0..count).map(|index| tidy(from + (to - from) * part(index)));
                (values.collect(), Some([from, to]))
            }
            None => (values.split(',').map(setting).collect::<Vec<_>>(), None),
        };
        Ok(Self { ends, ..Self::listed(name, values)? })
    }

    /// Over these values of a key.
    ///
    /// # Errors
    /// What is wrong with the key or the values.
    pub fn listed(name: &str, values: Vec<Setting>) -> Result<Self, String> {
        let path = Path::parse(name)?;
        if values.is_empty() {
            return Err(format!("{name} has no value; give one or more"));
        }
        let bare: Vec<String> = values.iter().map(bare).collect();
        if let Some(value) = twice(bare.iter().map(String::as_str)) {
            return Err(format!("{value} stands twice; write each value once"));
        }
        Ok(Self { name: name.into(), path, values, ends: None })
    }
}

/// Twelve digits are enough for a setting, and 0.3 is then 0.3.
pub fn tidy(number: f64) -> Setting {
    whole(format!("{number:.11e}").parse().unwrap_or(number))
}

/// A number as a setting. What is whole is written so: some keys take nothing else, and all take it.
pub fn whole(number: f64) -> Setting {
    if number.fract() == 0.0 && number.abs() < 1.0e12 {
        return Setting::from(number as i64);
    }
    Setting::from(number)
}

/// A setting without quotes and what stands round it.
pub fn bare(value: &Setting) -> String {
    value.as_str().map_or_else(|| value.to_string().trim().to_owned(), str::to_owned)
}

fn setting(text: &str) -> Setting {
    let read = text.trim().parse::<Setting>().ok().filter(|value| !value.is_array());
    read.unwrap_or_else(|| Setting::from(text.trim()))
}
