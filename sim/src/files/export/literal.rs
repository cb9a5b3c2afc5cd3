//! A value as an expression of Rust, from what it says of itself to a serialiser: its types' names,
//! its fields and its variants. No list of fields is kept here.

use std::fmt;

use serde::Serialize;
use serde::ser::{Error, Impossible, SerializeSeq, SerializeStruct, SerializeTuple};

/// The expression; for a value of a kind that settings do not have, what is the matter with it.
pub(super) fn literal(value: &impl Serialize) -> String {
    value.serialize(Literal).unwrap_or_else(|unknown| unknown.to_string())
}

struct Literal;

type Text = Result<String, Unknown>;

/// Fields of a struct or of a variant, or members of a list.
struct Parts {
    kind: String,
    parts: Vec<(&'static str, String)>,
}

impl Parts {
    fn new(kind: impl Into<String>) -> Result<Self, Unknown> {
        Ok(Self { kind: kind.into(), parts: Vec::new() })
    }

    fn members(self) -> String {
        let members: Vec<String> = self.parts.into_iter().map(|(_, member)| member).collect();
        format!("[{}]", members.join(", "))
    }
}

/// A struct's fields, a line each.
impl SerializeStruct for Parts {
    type Ok = String;
    type Error = Unknown;

    fn serialize_field<T: Serialize + ?Sized>(
        &mut self,
        key: &'static str,
        value: &T,
    ) -> Result<(), Unknown> {
        self.parts.push((key, value.serialize(Literal)?));
        Ok(())
    }

    fn end(self) -> Text {
        let lines: String =
            self.parts.iter().map(|(name, value)| format!("{name}: {value},\n")).collect();
        Ok(format!("{} {{\n    {}\n}}", self.kind, lines.trim_end().replace('\n', "\n    ")))
    }
}

/// A variant's fields, on one line.
impl serde::ser::SerializeStructVariant for Parts {
    type Ok = String;
    type Error = Unknown;

    fn serialize_field<T: Serialize + ?Sized>(
        &mut self,
        key: &'static str,
        value: &T,
    ) -> Result<(), Unknown> {
        SerializeStruct::serialize_field(self, key, value)
    }

    fn end(self) -> Text {
        let fields: Vec<String> =
            self.parts.iter().map(|(name, value)| format!("{name}: {value}")).collect();
        Ok(format!("{} {{ {} }}", self.kind, fields.join(", ")))
    }
}

impl SerializeSeq for Parts {
    type Ok = String;
    type Error = Unknown;

    fn serialize_element<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Unknown> {
        self.parts.push(("", value.serialize(Literal)?));
        Ok(())
    }

    fn end(self) -> Text {
        Ok(self.members())
    }
}

impl SerializeTuple for Parts {
    type Ok = String;
    type Error = Unknown;

    fn serialize_element<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Unknown> {
        SerializeSeq::serialize_element(self, value)
    }

    fn end(self) -> Text {
        Ok(self.members())
    }
}

/// A type's variant by its name in files, `first-order`, as Rust has it.
fn variant_of(kind: &str, name: &str) -> String {
    let words = name.split('-').map(|word| word[..1].to_uppercase() + &word[1..]);
    format!("{kind}::{}", words.collect::<String>())
}

/// As Rust prints it: shortest that reads back to the same bits.
macro_rules! as_printed {
    ($($method:ident $kind:ty),*) => { $(
        fn $method(self, value: $kind) -> Text {
            Ok(format!("{value:?}"))
        }
    )* };
}

macro_rules! none_such {
    ($($method:ident($($kind:ty),*) -> $out:ty;)*) => { $(
        fn $method(self, $(_: $kind),*) -> Result<$out, Unknown> {
            Err(Unknown::custom(concat!("no literal yet: ", stringify!($method))))
        }
    )* };
}

type No = Impossible<String, Unknown>;

impl serde::Serializer for Literal {
    type Ok = String;
    type Error = Unknown;
    type SerializeSeq = Parts;
    type SerializeTuple = Parts;
    type SerializeStruct = Parts;
    type SerializeStructVariant = Parts;
    type SerializeTupleStruct = No;
    type SerializeTupleVariant = No;
    type SerializeMap = No;

    as_printed!(
        serialize_bool bool, serialize_f32 f32, serialize_u8 u8, serialize_u16 u16,
        serialize_u32 u32, serialize_i8 i8, serialize_i16 i16, serialize_i32 i32
    );
    none_such! {
        serialize_i64(i64) -> String;
        serialize_u64(u64) -> String;
        serialize_f64(f64) -> String;
        serialize_char(char) -> String;
        serialize_str(&str) -> String;
        serialize_bytes(&[u8]) -> String;
        serialize_unit() -> String;
        serialize_unit_struct(&'static str) -> String;
        serialize_tuple_struct(&'static str, usize) -> No;
        serialize_tuple_variant(&'static str, u32, &'static str, usize) -> No;
        serialize_map(Option<usize>) -> No;
    }

    fn serialize_none(self) -> Text {
        Ok("None".into())
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Text {
        Ok(format!("Some({})", value.serialize(self)?))
    }

    fn serialize_unit_variant(self, kind: &'static str, _: u32, name: &'static str) -> Text {
        Ok(variant_of(kind, name))
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        kind: &'static str,
        value: &T,
    ) -> Text {
        Ok(format!("{kind}({})", value.serialize(self)?))
    }

    /// The one variant of this form holds a list that its type makes with `new`. More points than it
    /// has room for cannot be in a tune; the default stands in without a panic path.
    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        kind: &'static str,
        _: u32,
        name: &'static str,
        value: &T,
    ) -> Text {
        let inner = variant_of("", name).replace("::", "");
        let list = value.serialize(self)?;
        Ok(format!("{}({inner}::new(&{list}).unwrap_or_default())", variant_of(kind, name)))
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Parts, Unknown> {
        Parts::new("")
    }

    fn serialize_tuple(self, _: usize) -> Result<Parts, Unknown> {
        Parts::new("")
    }

    fn serialize_struct(self, kind: &'static str, _: usize) -> Result<Parts, Unknown> {
        Parts::new(kind)
    }

    fn serialize_struct_variant(
        self,
        kind: &'static str,
        _: u32,
        name: &'static str,
        _: usize,
    ) -> Result<Parts, Unknown> {
        Parts::new(variant_of(kind, name))
    }
}

/// A kind of value that has no literal here.
#[derive(Debug)]
pub(super) struct Unknown(String);

impl fmt::Display for Unknown {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0)
    }
}

impl std::error::Error for Unknown {}

impl Error for Unknown {
    fn custom<T: fmt::Display>(what: T) -> Self {
        Self(what.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_core::{CurveSettings, DragLaw, Knots, Settings, Shape};

    #[test]
    fn a_tune_is_an_expression() {
        let mut tune = Settings::in_full();
        (tune.drag.shape, tune.drag.law) =
            (Shape::FirstOrder, DragLaw::Current { full_a: 0.1 + 0.2 });
        let text = literal(&tune);
        for part in [
            "Settings {\n    pulse: PulseSettings {\n        plausible_low_us: 800.0,\n",
            "curve: CurveSettings::Cubic { blend: 0.0 },",
            "reverse: ReversePolicy::AfterStop,",
            "shape: Shape::FirstOrder,",
            "law: DragLaw::Current { full_a: 0.3 },",
            "give_way: Some(GiveWaySettings {\n",
            "drive_a: Some(40.0),",
            "cells: 3,",
            "reversed: false,",
        ] {
            let found = text.contains(part);
            assert!(found, "{part}\n{text}");
        }
        tune.curve = CurveSettings::Knots(Knots::new(&[[0.2, 0.05], [0.6, 0.3]]).unwrap());
        let knots =
            "CurveSettings::Knots(Knots::new(&[[0.2, 0.05], [0.6, 0.3]]).unwrap_or_default())";
        assert!(literal(&tune).contains(knots));
        assert!(literal(&Settings::default()).contains("rest: None,"));
        assert!(literal(&"a word").contains("no literal yet"));
    }
}
