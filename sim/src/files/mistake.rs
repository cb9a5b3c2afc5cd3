//! What is wrong with a file, told so that a person can mend it.

use std::fmt::Display;
use std::ops::{Range, RangeInclusive};

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

/// A file as it was read.
#[derive(Clone, Debug)]
pub struct Source {
    /// How the user named it.
    pub name: String,
    /// Its whole text.
    pub text: String,
}

/// One mistake in one file.
#[derive(Clone, Debug)]
pub struct Mistake {
    /// What is wrong, with key, value and allowed range.
    pub what: String,
    /// Where in the file, as a range of bytes; `None` when it concerns the file as a whole.
    pub span: Option<Range<usize>>,
    /// What to do about it.
    pub remedy: String,
}

/// All mistakes of one file.
#[derive(Clone, Debug)]
pub struct Refusal {
    /// The file.
    pub source: Source,
    /// What is wrong with it; never empty.
    pub mistakes: Vec<Mistake>,
}

impl Source {
    /// The whole of an embedded file or of a test's text.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self { name: name.into(), text: text.into() }
    }

    /// The mistake of a text whose last line has no line end, the sign of a cut-off file. An empty
    /// text has none.
    pub(crate) fn cut_off(&self) -> Option<Mistake> {
        let (last, character) = self.text.char_indices().next_back()?;
        (character != '\n').then(|| Mistake {
            what: "the last line has no line end; the file may have been cut off".into(),
            span: Some(last..self.text.len()),
            remedy: "check that the end of the file is there, then end it with a new line".into(),
        })
    }

    /// Refuses this file for one mistake that concerns it as a whole.
    pub fn refuse(self, what: impl Into<String>, remedy: impl Into<String>) -> Refusal {
        let mistake = Mistake { what: what.into(), span: None, remedy: remedy.into() };
        Refusal { source: self, mistakes: vec![mistake] }
    }
}

/// More than anybody mends at once, and drawing each takes a while.
const MOST_SHOWN: usize = 50;

impl Refusal {
    /// The text for the user: each mistake with its line, drawn under it.
    pub fn render(&self) -> String {
        let shown = self.mistakes.iter().take(MOST_SHOWN);
        let mut drawn: Vec<String> = shown.map(|mistake| self.render_one(mistake)).collect();
        let more = self.mistakes.len().saturating_sub(MOST_SHOWN);
        if more > 0 {
            drawn.push(format!("{}: {more} more mistakes; mend these first", self.source.name));
        }
        drawn.join("\n\n")
    }

    fn render_one(&self, mistake: &Mistake) -> String {
        let title = match mistake.span {
            Some(_) => mistake.what.clone(),
            None => format!("{}: {}", self.source.name, mistake.what),
        };
        let title = Level::ERROR.primary_title(title);
        let help = Level::HELP.message(mistake.remedy.clone());
        let group = match &mistake.span {
            Some(span) => {
                let end = span.end.min(self.source.text.len());
                let shown = Snippet::source(&self.source.text)
                    .path(&self.source.name)
                    .annotation(AnnotationKind::Primary.span(span.start.min(end)..end));
                Group::with_title(title).element(shown).element(help)
            }
            None => Group::with_title(title).element(help),
        };
        Renderer::plain().render(&[group])
    }
}

/// The text of all mistakes of several files.
pub fn render(refusals: &[Refusal]) -> String {
    refusals.iter().map(Refusal::render).collect::<Vec<_>>().join("\n\n")
}

/// The words for a value outside its range, the same in every file.
pub fn out_of_range(path: &str, value: impl Display, range: &RangeInclusive<f64>) -> String {
    format!("{path} is {value}; allowed is {} to {}", range.start(), range.end())
}

/// What to do about a value outside its range.
pub(crate) fn range_remedy(value: f64, min: impl Display, max: impl Display) -> String {
    if value.is_finite() {
        format!("choose a value from {min} to {max}; check the unit at the key's end")
    } else {
        format!("write an ordinary number from {min} to {max}")
    }
}

/// The name most like `wrong`, if one is like it at all.
pub fn did_you_mean<'n>(wrong: &str, names: &[&'n str]) -> Option<&'n str> {
    names
        .iter()
        .map(|name| (strsim::jaro_winkler(wrong, name), *name))
        .filter(|(likeness, _)| *likeness > 0.8)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name)
}

/// The names in quotes, separated by commas.
pub(crate) fn quoted(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
    quoted.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The mark stands under a whole character, of however many bytes.
    #[test]
    fn a_file_cut_off_after_any_character_is_told() {
        for text in ["a", "a = 1\nb = \u{e9}", "\u{1f697}"] {
            let source = Source::new("t", text);
            let mistakes = vec![source.cut_off().unwrap()];
            assert!(Refusal { source, mistakes }.render().contains("cut off"));
        }
        assert!(Source::new("t", "a\n").cut_off().is_none());
        assert!(Source::new("t", "").cut_off().is_none());
    }
}
