//! Published values beside ours, computed anew: one that does not agree stops the book.

use super::table;
use crate::stages::Failure;

/// A published value and ours.
pub(super) struct Held {
    /// What it is, with unit.
    pub(super) what: String,
    /// As its source prints it.
    pub(super) published: &'static str,
    /// What this project computes.
    pub(super) ours: f64,
    /// How far both may be apart.
    pub(super) within: f64,
    /// Where it was published, and how that was seen.
    pub(super) source: &'static str,
}

/// Both beside each other, ours with the digits of the published one.
///
/// # Errors
/// Where ours is further off than told.
pub(super) fn alongside(values: &[Held]) -> Result<String, Failure> {
    let row = |held: &Held| {
        let published: f64 = held.published.parse()?;
        let apart = (held.ours - published).abs();
        if apart.is_nan() || apart > held.within {
            let (what, ours) = (&held.what, held.ours);
            return Err(format!("{what} is {ours}, published is {published}").into());
        }
        let places = held.published.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        let ours = format!("{:.places$}", held.ours);
        Ok(vec![held.what.clone(), held.published.into(), ours, held.source.into()])
    };
    let rows = values.iter().map(row).collect::<Result<Vec<_>, Failure>>()?;
    Ok(table(&["", "published", "ours", "source"], &rows))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_that_is_off_is_refused() {
        let held = |ours| Held {
            what: "ratio".into(),
            published: "1.31",
            ours,
            within: 0.01,
            source: "somebody",
        };
        assert!(alongside(&[held(1.3144)]).unwrap().contains("| ratio | 1.31 | 1.31 | somebody |"));
        assert!(alongside(&[held(1.3144), held(1.33)]).is_err());
        assert!(alongside(&[held(f64::NAN)]).is_err(), "no number agrees with nothing");
    }
}
