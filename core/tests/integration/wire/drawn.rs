//! Values of any type that can be deserialised, drawn number by number: the tests that use them
//! need no list of fields, and so miss none.

use serde::de::value::{Error, U32Deserializer};
use serde::de::{
    DeserializeOwned, DeserializeSeed, Deserializer, EnumAccess, Error as _, IntoDeserializer,
    SeqAccess, VariantAccess, Visitor,
};

/// Where the numbers come from.
pub(crate) trait Source {
    /// The bits of a number.
    fn bits(&mut self) -> u32;
    /// One of `count` choices.
    fn choice(&mut self, count: u32) -> u32;
    /// Whether an option holds something.
    fn some(&mut self) -> bool;
}

/// Anything, the awkward bit patterns more often than chance would have them.
#[derive(Clone, Debug)]
pub(crate) struct Any(pub(crate) u64);

impl Any {
    /// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
    pub(crate) fn next(&mut self) -> u32 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 16) as u32
    }
}

/// As floats: zeros, infinities, quiet and signalling NaN with payloads, subnormal; as integers:
/// the ends.
const AWKWARD: [u32; 12] = [
    0,
    1,
    0x7f80_0000,
    0xff80_0000,
    0x7fc0_0000,
    0xffc0_1234,
    0x7f80_0001,
    0xffbf_ffff,
    0x0000_0fff,
    0x7fff_ffff,
    0x8000_0000,
    0xffff_ffff,
];

impl Source for Any {
    fn bits(&mut self) -> u32 {
        let bits = self.next();
        let pick = (self.next() % 24) as usize;
        AWKWARD.get(pick).copied().unwrap_or(bits)
    }

    fn choice(&mut self, count: u32) -> u32 {
        self.next() % count
    }

    fn some(&mut self) -> bool {
        self.choice(2) == 0
    }
}

/// What takes the most bytes: every option filled, every number long; variants by chance, so that
/// the longest is found among many draws.
#[derive(Clone, Debug)]
pub(crate) struct Largest(pub(crate) Any);

impl Source for Largest {
    fn bits(&mut self) -> u32 {
        // Long as a signed number too, and on that side of zero on which a share is not clamped
        // to nothing.
        0x7fff_ffff
    }

    fn choice(&mut self, count: u32) -> u32 {
        self.0.choice(count)
    }

    fn some(&mut self) -> bool {
        true
    }
}

/// A value with its numbers from `source`.
pub(crate) fn drawn<T: DeserializeOwned>(source: &mut impl Source) -> T {
    T::deserialize(Draw(source)).unwrap()
}

/// The most bytes `size` says of 1,000 large values.
pub(crate) fn most<T: DeserializeOwned>(size: impl Fn(&T) -> usize) -> usize {
    let mut source = Largest(Any(1));
    (0..1_000).map(|_| size(&drawn(&mut source))).max().unwrap()
}

struct Draw<'s, S>(&'s mut S);

macro_rules! numbers {
    ($($method:ident $visit:ident $kind:ty),*) => {
        $(fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
            visitor.$visit(self.0.bits() as $kind)
        })*
    };
}

impl<'de, S: Source> Deserializer<'de> for Draw<'_, S> {
    type Error = Error;

    numbers!(
        deserialize_i8 visit_i8 i8, deserialize_i16 visit_i16 i16, deserialize_i32 visit_i32 i32,
        deserialize_u8 visit_u8 u8, deserialize_u16 visit_u16 u16, deserialize_u32 visit_u32 u32
    );

    fn deserialize_f32<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_f32(f32::from_bits(self.0.bits()))
    }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_bool(self.0.choice(2) == 1)
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        if self.0.some() { visitor.visit_some(self) } else { visitor.visit_none() }
    }

    fn deserialize_unit<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_unit()
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_tuple<V: Visitor<'de>>(
        self,
        count: usize,
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_seq(Several(self.0, count))
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        count: usize,
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_seq(Several(self.0, count))
    }

    /// As many as a list of knots may have.
    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        let count = self.0.choice(easeoff_core::MOST_KNOTS as u32 + 1) as usize;
        visitor.visit_seq(Several(self.0, count))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_seq(Several(self.0, fields.len()))
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        let choice = self.0.choice(variants.len() as u32);
        visitor.visit_enum(Variant(self.0, choice))
    }

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Error> {
        Err(Error::custom("nothing of this type is drawn yet: add it"))
    }

    serde::forward_to_deserialize_any! {
        i64 i128 u64 u128 f64 char str string bytes byte_buf unit_struct map identifier
        ignored_any
    }
}

struct Several<'s, S>(&'s mut S, usize);

impl<'de, S: Source> SeqAccess<'de> for Several<'_, S> {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, Error> {
        let Some(left) = self.1.checked_sub(1) else { return Ok(None) };
        self.1 = left;
        seed.deserialize(Draw(self.0)).map(Some)
    }
}

struct Variant<'s, S>(&'s mut S, u32);

impl<'de, 's, S: Source> EnumAccess<'de> for Variant<'s, S> {
    type Error = Error;
    type Variant = Draw<'s, S>;

    fn variant_seed<T: DeserializeSeed<'de>>(
        self,
        seed: T,
    ) -> Result<(T::Value, Self::Variant), Error> {
        let index: U32Deserializer<Error> = self.1.into_deserializer();
        Ok((seed.deserialize(index)?, Draw(self.0)))
    }
}

impl<'de, S: Source> VariantAccess<'de> for Draw<'_, S> {
    type Error = Error;

    fn unit_variant(self) -> Result<(), Error> {
        Ok(())
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, Error> {
        seed.deserialize(self)
    }

    fn tuple_variant<V: Visitor<'de>>(self, count: usize, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_seq(Several(self.0, count))
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_seq(Several(self.0, fields.len()))
    }
}
