//! What may be varied, as numbers that a search can divide.

use toml_edit::Value as Setting;

use crate::files::mistake::Refusal;
use crate::study::sweep::{Axis, Bench, short};

/// One thing that may be varied.
#[derive(Clone, Debug)]
pub struct Dimension {
    /// Its key.
    pub key: String,
    /// The least; 0 for a list.
    pub from: f64,
    /// The most; the last place for a list.
    pub to: f64,
    /// Which numbers in between there are.
    pub kind: Kind,
}

/// Which numbers a dimension has.
#[derive(Clone, Debug)]
pub enum Kind {
    /// All.
    Any,
    /// Whole ones.
    Whole,
    /// Places in this list.
    List(Vec<Setting>),
}

impl Dimension {
    /// The number nearest to `value` that the dimension has. Four digits of the range are enough for a setting.
    pub fn tidy(&self, value: f64) -> f64 {
        let value = value.clamp(self.from, self.to);
        match self.kind {
            Kind::Any => {
                let decade = libm::pow(10.0, libm::log10(self.to - self.from).floor());
                // By division: 3128.9 / 10 is 312.89 and 3128.9 * 0.1 is not.
                let per_unit = (1.0e4 / decade).round().max(1.0e4 / decade);
                let rounded = (value * per_unit).round() / per_unit;
                rounded.clamp(self.from, self.to)
            }
            Kind::Whole | Kind::List(_) => value.round(),
        }
    }

    /// As a setting in a file.
    pub fn setting(&self, value: f64) -> Setting {
        match &self.kind {
            Kind::List(list) => list[(value as usize).min(list.len() - 1)].clone(),
            Kind::Any | Kind::Whole => crate::study::sweep::tidy(value),
        }
    }

    /// As it is told.
    pub fn describe(&self, value: f64) -> String {
        crate::study::sweep::bare(&self.setting(value))
    }

    /// The key's last part.
    pub fn short(&self) -> &str {
        short(&self.key)
    }
}

/// The dimensions of axes that were given as `KEY=FROM..TO` or as lists. What the files refuse is found here.
///
/// # Errors
/// A value that is refused, or a file without a place for the key.
pub fn dimensions(
    bench: &Bench<'_>,
    axes: &[Axis],
) -> Result<Result<Vec<Dimension>, Vec<Refusal>>, String> {
    let mut found = Vec::new();
    for axis in axes {
        let key = axis.name.clone();
        let (from, to, kind) = match axis.ends {
            Some([first, last]) => {
                let [from, to] = [first.min(last), first.max(last)];
                for end in [from, to] {
                    if let Err(refusals) = bench.try_alone(axis, &crate::study::sweep::tidy(end))? {
                        return Ok(Err(refusals));
                    }
                }
                (from, to, if whole(bench, axis, from)? { Kind::Whole } else { Kind::Any })
            }
            None => {
                for value in &axis.values {
                    if let Err(refusals) = bench.try_alone(axis, value)? {
                        return Ok(Err(refusals));
                    }
                }
                (0.0, (axis.values.len() - 1) as f64, Kind::List(axis.values.clone()))
            }
        };
        found.push(Dimension { key, from, to, kind });
    }
    Ok(Ok(found))
}

/// Whether the file's reader takes whole numbers only here.
fn whole(bench: &Bench<'_>, axis: &Axis, from: f64) -> Result<bool, String> {
    let between = crate::study::sweep::tidy(from.floor() + 0.5);
    let refused = bench.try_alone(axis, &between)?.err().unwrap_or_default();
    let mut mistakes = refused.iter().flat_map(|refusal| &refusal.mistakes);
    Ok(mistakes.any(|mistake| mistake.what.contains("whole number")))
}
