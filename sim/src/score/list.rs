//! The list of scores.

use super::{
    MASKING, SPEED_DROP, ScoreRow, UTILISATION, easing_off, load, speed, standing, strength,
};
use crate::files::mistake::{did_you_mean, quoted};

/// The rows of one subject: each by its own name, and all of them as `ROWS`, so that a row is written once.
macro_rules! rows {
    ($($(#[$doc:meta])* $name:ident = $row:expr;)*) => {
        $($(#[$doc])* pub static $name: ScoreRow = $row;)*
        pub(super) const ROWS: &[&ScoreRow] = &[$(&$name),*];
    };
}
pub(super) use rows;

const SUBJECTS: [&[&ScoreRow]; 5] =
    [easing_off::ROWS, standing::ROWS, load::ROWS, strength::ROWS, speed::ROWS];

/// All scores, in the order of reports.
pub const SCORES: &[&ScoreRow] = &joined::<{ count(&SUBJECTS) }>(&SUBJECTS);

const fn count(subjects: &[&[&ScoreRow]]) -> usize {
    match subjects {
        [first, rest @ ..] => first.len() + count(rest),
        [] => 0,
    }
}

const fn joined<const N: usize>(subjects: &[&[&'static ScoreRow]]) -> [&'static ScoreRow; N] {
    let mut all = [subjects[0][0]; N];
    let (mut subject, mut at) = (0, 0);
    while subject < subjects.len() {
        let mut row = 0;
        while row < subjects[subject].len() {
            all[at] = subjects[subject][row];
            (row, at) = (row + 1, at + 1);
        }
        subject += 1;
    }
    all
}

/// Whether a score judges the let-off.
pub(crate) fn of_let_off(row: &ScoreRow) -> bool {
    easing_off::ROWS.contains(&row)
}

/// What scores were called before.
const RENAMED: [(&str, &ScoreRow); 3] =
    [("strain", &UTILISATION), ("sag", &SPEED_DROP), ("mask", &MASKING)];

/// The score of this name.
///
/// # Errors
/// Which there are, with the one that was likely meant; of a name from before, the new one.
pub fn find(name: &str) -> Result<&'static ScoreRow, String> {
    if let Some((was, row)) = RENAMED.iter().find(|(was, _)| *was == name) {
        return Err(format!("\"{was}\" is now \"{}\"", row.meaning.name));
    }
    SCORES.iter().find(|row| row.meaning.name == name).copied().ok_or_else(|| {
        let names: Vec<&str> = SCORES.iter().map(|row| row.meaning.name).collect();
        let near = did_you_mean(name, &names).map(|near| format!("; did you mean \"{near}\"?"));
        let near = near.unwrap_or_default();
        format!("there is no score \"{name}\"; allowed is {}{near}", quoted(&names))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::Kind;

    #[test]
    fn every_score_is_found_by_its_name_alone() {
        for row in SCORES {
            let name = row.meaning.name;
            assert!(std::ptr::eq(find(name).unwrap(), *row), "{name} stands twice");
            let said = [row.said.more, row.said.less];
            assert!(said.iter().all(|words| words.contains("{}")), "{name}: {said:?}");
            assert!(!row.meaning.definition.is_empty() && !row.meaning.unit.is_empty(), "{name}");
            if let Kind::Differs(factor, _) = row.said.kind {
                assert!(factor > 0.0, "{name}");
            }
        }
        assert_eq!(find("strain").unwrap_err(), "\"strain\" is now \"utilisation\"");
        assert_eq!(find("sag").unwrap_err(), "\"sag\" is now \"speed drop\"");
        assert_eq!(find("mask").unwrap_err(), "\"mask\" is now \"masking\"");
        let reported = find("lurhc").unwrap_err();
        assert!(
            reported.contains("there is no score \"lurhc\"; allowed is \"stop jerk\", "),
            "{reported}"
        );
        assert!(reported.ends_with("did you mean \"lurch\"?"), "{reported}");
    }
}
