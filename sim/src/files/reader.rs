//! One table of a TOML file, read value by value; see [`crate::files::document`].

use std::cell::RefCell;
use std::ops::{Range, RangeInclusive};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::files::mistake::{Mistake, did_you_mean, out_of_range, quoted, range_remedy};
use crate::files::renamed;

/// One table of the file. When it goes out of scope it reports the keys nobody asked for.
pub(crate) struct Table<'d> {
    content: Option<&'d DeTable<'d>>,
    /// Empty for the file itself.
    name: String,
    span: Range<usize>,
    known: RefCell<Vec<&'static str>>,
    mistakes: &'d RefCell<Vec<Mistake>>,
    asked: &'d RefCell<Vec<Asked>>,
}

/// A number that the reader of a file asked for, whether the file gave it or not.
#[derive(Clone, Debug)]
pub struct Asked {
    /// Such as `motor.resistance_ohm`.
    pub path: String,
    /// What is allowed.
    pub range: RangeInclusive<f64>,
    /// Whether it must be a whole number.
    pub whole: bool,
}

impl<'d> Table<'d> {
    pub(crate) fn new(
        content: Option<&'d DeTable<'d>>,
        name: String,
        span: Range<usize>,
        mistakes: &'d RefCell<Vec<Mistake>>,
        asked: &'d RefCell<Vec<Asked>>,
    ) -> Self {
        Self { content, name, span, known: RefCell::new(Vec::new()), mistakes, asked }
    }

    /// Whether `key` is there at all.
    pub(crate) fn has(&self, key: &'static str) -> bool {
        self.known.borrow_mut().push(key);
        self.content.is_some_and(|table| table.contains_key(key))
    }

    /// A table that must be there.
    pub(crate) fn table(&self, key: &'static str) -> Table<'d> {
        if self.content.is_some() && !self.has(key) {
            self.missing(key, "a table");
        }
        self.optional_table(key)
    }

    /// A table that may be missing; it then reads as empty without complaint.
    pub(crate) fn optional_table(&self, key: &'static str) -> Table<'d> {
        let value = self.value(key);
        let span = value.map_or(self.span.clone(), Spanned::span);
        let content = value.and_then(|value| match value.get_ref() {
            DeValue::Table(inner) => Some(inner),
            other => {
                self.wrong_type(
                    key,
                    value,
                    other,
                    &format!("a table, begun with [{}]", self.path(key)),
                );
                None
            }
        });
        Table::new(content, self.path(key), span, self.mistakes, self.asked)
    }

    /// A list of tables, `[[key]]`; empty when missing.
    pub(crate) fn tables(&self, key: &'static str) -> Vec<Table<'d>> {
        let Some(value) = self.value(key) else { return Vec::new() };
        let DeValue::Array(items) = value.get_ref() else {
            let expected = format!("a list of tables, each begun with [[{key}]]");
            self.wrong_type(key, value, value.get_ref(), &expected);
            return Vec::new();
        };
        let mut tables = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::Table(inner) => {
                    tables.push(Table::new(
                        Some(inner),
                        self.path(key),
                        item.span(),
                        self.mistakes,
                        self.asked,
                    ));
                }
                other => self.wrong_type(key, item, other, "a table"),
            }
        }
        tables
    }

    /// A number that must be there and in `range`. Returns the range's start after a mistake.
    pub(crate) fn number(&self, key: &'static str, range: RangeInclusive<f64>) -> f64 {
        if self.content.is_some() && !self.has(key) {
            self.missing(key, &format!("a number, {} to {}", range.start(), range.end()));
        }
        let start = *range.start();
        self.optional_number(key, range).unwrap_or(start)
    }

    /// A number that may be missing.
    pub(crate) fn number_or(
        &self,
        key: &'static str,
        range: RangeInclusive<f64>,
        default: f64,
    ) -> f64 {
        self.optional_number(key, range).unwrap_or(default)
    }

    /// A number that may be missing; `None` then, and after a mistake.
    pub(crate) fn optional_number(
        &self,
        key: &'static str,
        range: RangeInclusive<f64>,
    ) -> Option<f64> {
        let asked = Asked { path: self.path(key), range: range.clone(), whole: false };
        self.asked.borrow_mut().push(asked);
        let value = self.value(key)?;
        let number = number_of(value.get_ref());
        match number {
            None => self.wrong_type(key, value, value.get_ref(), "a number"),
            Some(number) if !range.contains(&number) => {
                self.out_of_range(key, value, number, &range);
                return None;
            }
            Some(_) => {}
        }
        number
    }

    /// A number without a range of its own: the one who uses it checks it. Infinite and NaN are
    /// refused here already.
    pub(crate) fn bare_number(&self, key: &'static str) -> Option<f64> {
        self.optional_number(key, -1.0e9..=1.0e9)
    }

    /// A whole number that must be there. Returns the range's start after a mistake.
    pub(crate) fn whole(&self, key: &'static str, range: RangeInclusive<u32>) -> u32 {
        if self.content.is_some() && !self.has(key) {
            self.missing(key, &format!("a whole number, {} to {}", range.start(), range.end()));
        }
        let start = *range.start();
        self.whole_or(key, range, start)
    }

    /// A whole number that may be missing.
    pub(crate) fn whole_or(
        &self,
        key: &'static str,
        range: RangeInclusive<u32>,
        default: u32,
    ) -> u32 {
        let bounds = f64::from(*range.start())..=f64::from(*range.end());
        let number = self.optional_number(key, bounds);
        self.asked
            .borrow_mut()
            .iter_mut()
            .next_back()
            .into_iter()
            .for_each(|last| last.whole = true);
        let Some(number) = number else { return default };
        if number.fract() != 0.0 {
            let value = self.value(key);
            if let Some(value) = value {
                self.wrong_type(key, value, value.get_ref(), "a whole number");
            }
            return default;
        }
        number as u32
    }

    /// `true` or `false`; `default` when missing.
    pub(crate) fn flag_or(&self, key: &'static str, default: bool) -> bool {
        let Some(value) = self.value(key) else { return default };
        value.get_ref().as_bool().unwrap_or_else(|| {
            self.wrong_type(key, value, value.get_ref(), "true or false");
            default
        })
    }

    /// Text; `None` when missing.
    pub(crate) fn text(&self, key: &'static str) -> Option<String> {
        let value = self.value(key)?;
        let text = value.get_ref().as_str().map(str::to_owned);
        if text.is_none() {
            self.wrong_type(key, value, value.get_ref(), "text in quotes");
        }
        text
    }

    /// One of a list of named things; `default` when missing.
    pub(crate) fn choice_or<T: Copy>(
        &self,
        key: &'static str,
        named: &[(&str, T)],
        default: T,
    ) -> T {
        let Some(text) = self.text(key) else { return default };
        if let Some((_, found)) = named.iter().find(|(name, _)| *name == text) {
            return *found;
        }
        let names: Vec<&str> = named.iter().map(|(name, _)| *name).collect();
        let remedy = match (renamed::value(&self.path(key), &text), did_you_mean(&text, &names)) {
            (Some(now), _) => format!("it is now called \"{now}\""),
            (None, Some(near)) => format!("did you mean \"{near}\"?"),
            (None, None) => "choose one of these".into(),
        };
        self.mistake(
            key,
            format!("{} is \"{text}\"; allowed is {}", self.path(key), quoted(&names)),
            remedy,
        );
        default
    }

    /// A list of pairs of numbers, `[[0, 0.0], [1.5, 0.2]]`; the first of each pair must not fall.
    /// `ranges` bound the two members, `least` their number. `None` when missing or wrong.
    pub(crate) fn pairs(
        &self,
        key: &'static str,
        least: usize,
        ranges: [RangeInclusive<f64>; 2],
    ) -> Option<Vec<[f64; 2]>> {
        let value = self.value(key)?;
        let expected = "a list of pairs of numbers, such as [[0, 0], [2, 0.5]]";
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong_type(key, value, value.get_ref(), expected);
            return None;
        };
        let mut pairs: Vec<[f64; 2]> = Vec::with_capacity(items.len());
        let mut good = true;
        for item in items.iter() {
            let members: Option<Vec<f64>> = match item.get_ref() {
                DeValue::Array(pair) if pair.len() == 2 => {
                    pair.iter().map(|member| number_of(member.get_ref())).collect()
                }
                _ => None,
            };
            let Some(&[first, second]) = members.as_deref() else {
                self.wrong_type(key, item, item.get_ref(), expected);
                good = false;
                continue;
            };
            for (number, range) in [first, second].into_iter().zip(&ranges) {
                if !range.contains(&number) {
                    self.out_of_range(key, item, number, range);
                    good = false;
                }
            }
            if pairs.last().is_some_and(|before| before[0] > first) {
                self.mistakes.borrow_mut().push(Mistake {
                    what: format!("{} goes back to {first}", self.path(key)),
                    span: Some(item.span()),
                    remedy: "put the pairs in rising order of their first number".into(),
                });
                good = false;
            }
            pairs.push([first, second]);
        }
        if pairs.len() < least && good {
            self.mistake(
                key,
                format!("{} has {} pairs; allowed is {least} or more", self.path(key), pairs.len()),
                "add what is missing".into(),
            );
            return None;
        }
        good.then_some(pairs)
    }

    /// Reports that two values do not go together.
    pub(crate) fn contradiction(&self, key: &'static str, what: String, remedy: &str) {
        self.mistake(key, what, remedy.into());
    }

    fn value(&self, key: &'static str) -> Option<&'d Spanned<DeValue<'d>>> {
        self.known.borrow_mut().push(key);
        self.content?.get(key)
    }

    fn path(&self, key: &str) -> String {
        if self.name.is_empty() { key.to_owned() } else { format!("{}.{key}", self.name) }
    }

    fn mistake(&self, key: &'static str, what: String, remedy: String) {
        let span = self.content.and_then(|table| table.get(key)).map(Spanned::span);
        let span = span.unwrap_or(self.span.clone());
        self.mistakes.borrow_mut().push(Mistake { what, span: Some(span), remedy });
    }

    fn missing(&self, key: &'static str, expected: &str) {
        let path = self.path(key);
        self.mistake(key, format!("{path} is missing; it is {expected}"), format!("add {path}"));
    }

    fn wrong_type(
        &self,
        key: &'static str,
        at: &Spanned<DeValue<'d>>,
        found: &DeValue<'d>,
        expected: &str,
    ) {
        self.mistakes.borrow_mut().push(Mistake {
            what: format!("{} is {}; allowed is {expected}", self.path(key), found.type_str()),
            span: Some(at.span()),
            remedy: "change it to that".into(),
        });
    }

    fn out_of_range(
        &self,
        key: &'static str,
        at: &Spanned<DeValue<'d>>,
        number: f64,
        range: &RangeInclusive<f64>,
    ) {
        self.mistakes.borrow_mut().push(Mistake {
            what: out_of_range(&self.path(key), number, range),
            span: Some(at.span()),
            remedy: range_remedy(number, range.start(), range.end()),
        });
    }
}

impl Drop for Table<'_> {
    fn drop(&mut self) {
        let Some(content) = self.content else { return };
        let mut known = self.known.borrow().clone();
        known.sort_unstable();
        known.dedup();
        for (key, value) in content.iter() {
            let name: &str = key.get_ref();
            if known.contains(&name) {
                continue;
            }
            let path = self.path(name);
            let remedy = match (renamed::key(&path), did_you_mean(name, &known)) {
                (Some(now), _) => format!("it is now called {now}"),
                (None, Some(near)) => format!("did you mean {near}?"),
                (None, None) => format!("remove it; known here: {}", known.join(", ")),
            };
            self.mistakes.borrow_mut().push(Mistake {
                what: format!("{path} is not a key of this file"),
                span: Some(key.span().start..value.span().end.min(key.span().end)),
                remedy,
            });
        }
    }
}

fn number_of(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(float) => float.as_str().replace('_', "").parse().ok(),
        DeValue::Integer(whole) => {
            let digits = whole.as_str().replace('_', "");
            let exact = i64::from_str_radix(&digits, whole.radix()).ok().map(|whole| whole as f64);
            exact.or_else(|| digits.parse().ok())
        }
        _ => None,
    }
}
