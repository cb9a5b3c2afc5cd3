//! What is wrong with a file, told so that a person can mend it.

use std::ops::Range;

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

    /// Refuses this file for one mistake that concerns it as a whole.
    pub fn refuse(self, what: impl Into<String>, remedy: impl Into<String>) -> Refusal {
        let mistake = Mistake { what: what.into(), span: None, remedy: remedy.into() };
        Refusal { source: self, mistakes: vec![mistake] }
    }
}

impl Refusal {
    /// The text for the user: each mistake with its line, drawn under it.
    pub fn render(&self) -> String {
        let drawn: Vec<String> =
            self.mistakes.iter().map(|mistake| self.render_one(mistake)).collect();
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
