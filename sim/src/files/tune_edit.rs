//! A tune file with some of its values changed and everything else kept, comments too.

use toml_edit::{DocumentMut, Item, TableLike, Value};

use crate::files::mistake::{Refusal, Source};

/// A tune file being changed.
#[derive(Debug)]
pub struct TuneFile {
    document: DocumentMut,
    ends: LineEnds,
    keeps_columns: bool,
}

/// What the parser does not keep.
#[derive(Clone, Copy, Debug)]
struct LineEnds {
    byte_order_mark: bool,
    carriage_returns: bool,
}

impl TuneFile {
    /// The file as it is.
    ///
    /// # Errors
    /// When it is not TOML, or when it could not be written again byte for byte: its line ends are of
    /// both kinds.
    pub fn parse(source: &Source) -> Result<Self, Refusal> {
        let text = &source.text;
        let document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| {
            let what = format!("this is not TOML: {}", error.message());
            source.clone().refuse(what, "write it as key = value; text goes in quotes")
        })?;
        let ends = LineEnds {
            byte_order_mark: text.starts_with(BYTE_ORDER_MARK),
            carriage_returns: text.contains("\r\n"),
        };
        let file = Self { document, ends, keeps_columns: false };
        if file.text() == *text {
            return Ok(file);
        }
        let what = "its lines end in more than one way, so that it cannot be changed byte for byte";
        Err(source.clone().refuse(what, "save it with one kind of line ends"))
    }

    /// From now on a comment beside a value keeps its column; the spaces before it then change.
    pub fn keep_columns(&mut self) {
        self.keeps_columns = true;
    }

    /// The file's text.
    pub fn text(&self) -> String {
        let mut text = self.document.to_string();
        if self.ends.carriage_returns {
            // Within a string the parser does keep them.
            text = text.replace("\r\n", "\n").replace('\n', "\r\n");
        }
        if self.ends.byte_order_mark {
            text.insert(0, BYTE_ORDER_MARK);
        }
        text
    }

    /// Sets a number in a table, such as `hold.give_way`; one that reads the same already stays as it is written.
    pub fn number(&mut self, table: &str, key: &str, number: f32) {
        let found = self.table(table).and_then(|table| table.get(key));
        let whole = |item: &Item| item.as_integer().map(|whole| whole as f64);
        let old = found.and_then(|item| item.as_float().or_else(|| whole(item)));
        if old.is_some_and(|old| (old as f32).to_bits() == number.to_bits()) {
            return;
        }
        // Every finite number is a TOML value as written; others never pass the core's check.
        let value = number_text(number).parse().unwrap_or(Value::from(f64::from(number)));
        self.set(table, key, value);
    }

    /// Sets a word, or a flag.
    pub fn set(&mut self, table: &str, key: &str, value: impl Into<Value>) {
        let mut value = value.into();
        let keeps_columns = self.keeps_columns;
        let Some(table) = self.table(table) else { return };
        if let Some(old) = table.get_mut(key).and_then(Item::as_value_mut) {
            let mut decor = old.decor().clone();
            let suffix = decor.suffix().and_then(|suffix| suffix.as_str()).unwrap_or_default();
            let comment = suffix.trim_start_matches(' ');
            if keeps_columns && comment.starts_with('#') {
                let length = |value: &Value| value.clone().decorated("", "").to_string().len();
                let column = length(old) + suffix.len() - comment.len();
                let spaces = column.saturating_sub(length(&value)).max(1);
                decor.set_suffix(format!("{}{comment}", " ".repeat(spaces)));
            }
            *value.decor_mut() = decor;
            *old = value;
        } else {
            table.insert(key, Item::Value(value));
        }
    }

    /// Takes a key out, with the comment beside it.
    pub fn remove(&mut self, table: &str, key: &str) {
        let mut found: Option<&mut dyn TableLike> = Some(self.document.as_table_mut());
        for name in names(table) {
            found = found.and_then(|found| found.get_mut(name)).and_then(Item::as_table_like_mut);
        }
        if let Some(found) = found {
            found.remove(key);
        }
    }

    /// The table at a path, made where it is missing.
    fn table(&mut self, path: &str) -> Option<&mut dyn TableLike> {
        let mut table: &mut dyn TableLike = self.document.as_table_mut();
        for key in names(path) {
            table = table.entry(key).or_insert(toml_edit::table()).as_table_like_mut()?;
        }
        Some(table)
    }
}

/// The keys of a dotted path; of an empty one none.
fn names(path: &str) -> impl Iterator<Item = &str> {
    path.split('.').filter(|name| !name.is_empty())
}

const BYTE_ORDER_MARK: char = '\u{feff}';

/// A number as short as it can be written so that reading it gives the same bits. The reader reads in
/// f64 and rounds then; where that would round twice and go wrong, all digits are written. Of all numbers
/// up to 1e9, every one tried, that is 7.038531e-26 alone.
pub fn number_text(number: f32) -> String {
    let short = format!("{number:?}");
    let same = short.parse::<f64>().is_ok_and(|read| (read as f32).to_bits() == number.to_bits());
    let text = if same { short } else { format!("{:?}", f64::from(number)) };
    // "-0" would be read as a whole number, and those have one zero only.
    match text.strip_suffix(".0") {
        Some(whole) if whole != "-0" => whole.into(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edited(text: &str, edit: impl FnOnce(&mut TuneFile)) -> String {
        let mut file = TuneFile::parse(&Source::new("t.toml", text)).unwrap();
        edit(&mut file);
        file.text()
    }

    fn rest(file: &mut TuneFile) {
        file.number("calibration", "neutral_us", 1_520.062_5);
    }

    #[test]
    fn only_the_value_changes_whatever_stands_around_it() {
        let before = "\u{feff}# a\r\nx = 1 # c\r\n[calibration]# h\r\n\tneutral_us   =  1_500   # let go\r\n\r\n\r\n[z]\r\ny = '''a\r\nb'''\r\n# end\r\n";
        for text in [before.to_owned(), before.replace("\r\n", "\n")] {
            assert_eq!(edited(&text, rest), text.replace("1_500", "1520.0625"));
        }
        assert!(TuneFile::parse(&Source::new("t.toml", "a = 1\r\nb = 2\n")).is_err());
        assert!(TuneFile::parse(&Source::new("t.toml", "a = \n")).is_err());
    }

    #[test]
    fn what_is_missing_is_put_in_however_the_table_is_written() {
        for (before, after) in [
            ("a = 1 # x\n", "a = 1 # x\n\n[calibration]\nneutral_us = 1520.0625\n"),
            ("", "[calibration]\nneutral_us = 1520.0625\n"),
            (
                "[calibration]\nlow_us = 1 # l\n\n[z]\n",
                "[calibration]\nlow_us = 1 # l\nneutral_us = 1520.0625\n\n[z]\n",
            ),
            (
                "calibration.low_us = 1\n",
                "calibration.low_us = 1\ncalibration.neutral_us = 1520.0625\n",
            ),
            (
                "calibration = { low_us = 1 }\n",
                "calibration = { low_us = 1 , neutral_us = 1520.0625 }\n",
            ),
        ] {
            assert_eq!(edited(before, rest), after);
        }
    }

    #[test]
    fn what_says_the_same_stays_and_a_column_is_kept_on_demand() {
        let text = "[calibration]\nneutral_us = 1_520.062_5  # a\nlow_us = 1000   # b\n";
        let change = |file: &mut TuneFile| {
            rest(file);
            file.number("calibration", "low_us", 987.5);
        };
        assert_eq!(edited(text, change), text.replace("1000", "987.5"));
        let aligned = edited(text, |file| {
            file.keep_columns();
            change(file);
            file.set("calibration", "neutral_us", "a word that is far too long");
        });
        let far = "neutral_us = \"a word that is far too long\" # a\nlow_us = 987.5  # b\n";
        assert_eq!(aligned, format!("[calibration]\n{far}"));
    }

    #[test]
    fn a_number_reads_back_to_the_bit() {
        assert_eq!(
            [1_500.0, 0.3, -0.0, 1.0e-10].map(number_text),
            ["1500", "0.3", "-0.0", "1e-10"]
        );
        // A prime, so that all exponents and many fractions come; and the one that rounds twice.
        for bits in (0..=u32::MAX).step_by(104_729).chain([0x15ae_43fd, 0x95ae_43fd]) {
            let number = f32::from_bits(bits);
            if number.abs() <= 1.0e9 {
                let text = edited("[calibration]\nneutral_us = 1\n", |file| {
                    file.number("calibration", "neutral_us", number);
                });
                let read: toml::Table = toml::from_str(&text).unwrap();
                let value = &read["calibration"]["neutral_us"];
                let read = value.as_float().or(value.as_integer().map(|whole| whole as f64));
                assert_eq!((read.unwrap() as f32).to_bits(), bits, "{text}");
            }
        }
    }
}
