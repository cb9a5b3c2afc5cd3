//! What was just done, or could not be: shown for a while in the place of the status line.

/// So long it is shown \[s\].
const SHOWN_S: f64 = 6.0;

/// The last message, until its time is up.
#[derive(Default)]
pub struct Message {
    words: Option<String>,
    /// When it was first shown \[s\].
    since_s: Option<f64>,
}

impl Message {
    /// Shows these words from the next frame on.
    pub fn say(&mut self, words: impl Into<String>) {
        *self = Self { words: Some(words.into()), since_s: None };
    }

    /// What there is to say of something that can fail: nothing, if it did not.
    pub fn of(&mut self, done: Result<(), String>) {
        *self = Self { words: done.err(), since_s: None };
    }

    /// The words.
    pub fn words(&self) -> Option<&str> {
        self.words.as_deref()
    }

    /// Lets go what has been shown for long enough; how long the rest will be shown yet \[s\].
    pub(crate) fn age(&mut self, now_s: f64) -> Option<f64> {
        self.words.as_ref()?;
        let since_s = *self.since_s.get_or_insert(now_s);
        let left_s = since_s + SHOWN_S - now_s;
        if left_s > 0.0 {
            return Some(left_s);
        }
        *self = Self::default();
        None
    }
}
