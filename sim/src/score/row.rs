//! What a row of the list of scores holds.

use std::fmt;

use serde::Serialize;
use serde::ser::{SerializeStruct, Serializer};

use crate::digits::digits;
use crate::score::{Measured, Value};

/// Which way a score is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Better {
    /// Less of it.
    Less,
    /// More of it.
    More,
    /// That depends: a gain here costs something there.
    Depends,
}

/// What a score is, whatever it is measured on.
#[derive(Clone, Copy, Debug)]
pub struct Meaning {
    /// Short name, and the key by which it is asked for.
    pub name: &'static str,
    /// Its unit; "-" for a ratio.
    pub unit: &'static str,
    /// What exactly it is.
    pub definition: &'static str,
    /// Which way it is better.
    pub better: Better,
}

/// A score with its value.
#[derive(Clone, Copy, Debug)]
pub struct Score {
    /// What it is.
    pub meaning: &'static Meaning,
    /// How much it is.
    pub value: Value,
}

/// A score that is measured on any run: a row of [`SCORES`](crate::score::SCORES).
pub struct ScoreRow {
    /// What it is.
    pub meaning: Meaning,
    /// The run that it is measured on besides the main one.
    pub needs: Needs,
    /// Measures it.
    pub measure: fn(&Measured<'_>) -> Value,
    /// How a difference of it is said.
    pub said: Said,
}

/// A run besides the main one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// None.
    Nothing,
    /// The trial on the slope, the drag brake fully on.
    CreepTrial,
    /// The same run with the speed hold off.
    HoldOff,
    /// The same run without any brake from letting off on.
    NoBrake,
    /// That on a rig without backlash, where there is some.
    NoBacklash,
    /// The trial with half throttle on the level.
    HalfThrottle,
}

/// How a score's difference is said.
#[derive(Clone, Copy, Debug)]
pub struct Said {
    /// What the number in the sentence is.
    pub kind: Kind,
    /// Of one that has more of it; `{}` is the number.
    pub more: &'static str,
    /// Of one that has less of it.
    pub less: &'static str,
    /// What then happens, of a score that may never come; `None` where nothing is said of that.
    pub happens: Option<&'static str>,
}

/// What the number in the sentence is.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// The difference in the score's unit times this, with these words for the unit.
    Differs(f64, &'static str),
    /// The ratio of the two; what is said of one that does it, and of one that does not.
    Times(&'static str, &'static str),
}

impl Better {
    /// Whether one with more of it is better; `None` where that depends.
    pub fn with_more(self) -> Option<bool> {
        match self {
            Self::Less => Some(false),
            Self::More => Some(true),
            Self::Depends => None,
        }
    }
}

impl Meaning {
    /// The score with this value.
    pub fn is(&'static self, value: Value) -> Score {
        Score { meaning: self, value }
    }

    /// A value in words, with its unit, short enough for a table.
    pub fn amount(&self, value: Value) -> String {
        match value {
            Value::Never => "never".into(),
            Value::NotInThisRun => "not in this run".into(),
            Value::Is(number) if self.unit == "-" => digits(number),
            Value::Is(number) => format!("{} {}", digits(number), self.unit),
        }
    }

    /// Name and unit, as on an axis.
    pub fn label(&self) -> String {
        if self.unit == "-" { self.name.to_owned() } else { self.column() }
    }

    /// Name and unit, as at the head of a column.
    pub fn column(&self) -> String {
        format!("{} [{}]", self.name, self.unit)
    }

    /// The name as part of a file's.
    pub fn file_name(&self) -> String {
        self.name.replace(' ', "-")
    }

    /// 1 where less is better, -1 where more is, `None` where that depends.
    pub fn sign(&self) -> Option<f64> {
        self.better.with_more().map(|more| if more { -1.0 } else { 1.0 })
    }
}

impl Score {
    /// The value in words, with its unit.
    pub fn amount(&self) -> String {
        self.meaning.amount(self.value)
    }
}

impl Serialize for Score {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Meaning { name, unit, definition, .. } = self.meaning;
        let mut fields = serializer.serialize_struct("Score", 4)?;
        fields.serialize_field("name", name)?;
        fields.serialize_field("value", &self.value)?;
        fields.serialize_field("unit", unit)?;
        fields.serialize_field("definition", definition)?;
        fields.end()
    }
}

impl PartialEq for ScoreRow {
    /// No two rows have one name.
    fn eq(&self, other: &Self) -> bool {
        self.meaning.name == other.meaning.name
    }
}

impl Eq for ScoreRow {}

impl fmt::Debug for ScoreRow {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{:?}", self.meaning.name)
    }
}
