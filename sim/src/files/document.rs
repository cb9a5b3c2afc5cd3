//! Reads TOML key by key, gathering every mistake with its place instead of stopping at the first.

use std::cell::RefCell;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::files::mistake::{Mistake, Refusal, Source};
use crate::files::reader::{Asked, Table};

/// A parsed file and the mistakes found in it so far.
pub(crate) struct Document<'s> {
    source: &'s Source,
    root: Spanned<DeTable<'s>>,
    mistakes: RefCell<Vec<Mistake>>,
    asked: RefCell<Vec<Asked>>,
}

impl<'s> Document<'s> {
    /// Parses the text; what is not TOML at all is reported by [`Document::finish`].
    ///
    /// # Errors
    /// The syntax errors, all of them, and a missing last line end, the sign of a cut-off file.
    pub(crate) fn parse(source: &'s Source) -> Result<Self, Refusal> {
        let (root, errors) = DeTable::parse_recoverable(&source.text);
        let mut mistakes: Vec<Mistake> = Vec::new();
        for error in &errors {
            let what = format!("this is not TOML: {}", error.message());
            // One slip makes the parser repeat itself line after line.
            if mistakes.iter().any(|mistake| mistake.what == what) {
                continue;
            }
            let remedy = if what.contains("duplicate") {
                "keep one of the two; a list of tables begins each with [[name]]"
            } else {
                "write it as key = value; text goes in quotes"
            };
            mistakes.push(Mistake { what, span: error.span(), remedy: remedy.into() });
        }
        mistakes.extend(source.cut_off());
        if mistakes.is_empty() {
            Ok(Self { source, root, mistakes: RefCell::new(mistakes), asked: RefCell::default() })
        } else {
            Err(Refusal { source: source.clone(), mistakes })
        }
    }

    /// The top of the file.
    pub(crate) fn top(&self) -> Table<'_> {
        Table::new(Some(self.root.get_ref()), String::new(), 0..0, &self.mistakes, &self.asked)
    }

    /// Adds a mistake found elsewhere about `path` (such as `drag.onset_ms`).
    pub(crate) fn report(&self, path: &str, what: String, remedy: String) {
        let span = self.span_of(path);
        self.mistakes.borrow_mut().push(Mistake { what, span, remedy });
    }

    /// Where the value at `path` stands.
    pub(crate) fn span_of(&self, path: &str) -> Option<Range<usize>> {
        let mut table = self.root.get_ref();
        let mut span = None;
        for key in path.split('.') {
            let value = table.get(key)?;
            span = Some(value.span());
            match value.get_ref() {
                DeValue::Table(inner) => table = inner,
                _ => return span,
            }
        }
        span
    }

    /// Every number that was asked for so far, with its range.
    pub(crate) fn asked(&self) -> Vec<Asked> {
        self.asked.borrow().clone()
    }

    /// `value` if nothing was wrong.
    ///
    /// # Errors
    /// Everything that was.
    pub(crate) fn finish<T>(self, value: T) -> Result<T, Refusal> {
        let mut mistakes = self.mistakes.into_inner();
        if mistakes.is_empty() {
            return Ok(value);
        }
        mistakes.sort_by_key(|mistake| mistake.span.as_ref().map_or(0, |span| span.start));
        Err(Refusal { source: self.source.clone(), mistakes })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mistakes(text: &str) -> Vec<String> {
        let source = Source::new("test.toml", text);
        let read = || {
            let document = Document::parse(&source)?;
            {
                let top = document.top();
                let body = top.table("body");
                body.number("mass_kg", 0.1..=100.0);
                body.whole_or("axles", 1..=9, 2);
                body.pairs("points", 2, [0.0..=9.0, -1.0..=1.0]);
                body.choice_or("colour", &[("red", 1), ("blue", 2)], 1);
            }
            document.finish(())
        };
        match read() {
            Ok(()) => Vec::new(),
            Err(refusal) => {
                refusal.mistakes.into_iter().map(|m| m.what + " | " + &m.remedy).collect()
            }
        }
    }

    #[test]
    fn all_mistakes_come_in_one_run_in_the_order_of_the_file() {
        let found = mistakes(
            "[body]\nmass_kgs = 2\naxles = 2.5\npoints = [[0, 0], [3, 2], [1, 0]]\ncolour = \"bleu\"\n",
        );
        assert_eq!(found.len(), 6, "{found:#?}");
        assert!(found[0].contains("body.mass_kg is missing"));
        assert!(found[1].contains("did you mean mass_kg?"));
        assert!(found[2].contains("body.axles is float; allowed is a whole number"));
        assert!(found[3].contains("body.points is 2; allowed is -1 to 1"));
        assert!(found[4].contains("goes back to 1"));
        assert!(found[5].contains("did you mean \"blue\"?"));
    }

    #[test]
    fn numbers_that_are_none_are_refused() {
        for bad in ["nan", "inf", "-inf", "1e999", "-0.1", "100.5"] {
            let found = mistakes(&format!("[body]\nmass_kg = {bad}\n"));
            assert_eq!(found.len(), 1, "{bad}: {found:?}");
            assert!(found[0].contains("allowed is 0.1 to 100"), "{found:?}");
        }
    }

    #[test]
    fn a_cut_off_file_is_noticed() {
        assert!(mistakes("[body]\nmass_kg = 3")[0].contains("cut off"));
        assert!(mistakes("[body]\nmass_kg = 3.0\n").is_empty());
        assert!(mistakes("[body\n")[0].contains("not TOML"));
    }
}
