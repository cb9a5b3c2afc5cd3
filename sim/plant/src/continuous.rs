//! What changes continuously: numbers, and structs of them that a part owns, stepped field by field.

/// No field of a believable state comes near this.
const BEYOND: f64 = 1.0e8;

/// A number or a struct of them that has a rate of its own type.
pub trait Continuous: Copy {
    /// `self + h * rate`, field by field.
    fn plus(&self, h: f64, rate: &Self) -> Self;

    /// The name of the first field that is no number, or beyond anything a small vehicle does; a number goes
    /// by the name it is given.
    fn lost(&self, name: &'static str) -> Option<&'static str>;
}

impl Continuous for f64 {
    fn plus(&self, h: f64, rate: &Self) -> Self {
        self + h * rate
    }

    fn lost(&self, name: &'static str) -> Option<&'static str> {
        (self.is_nan() || self.abs() > BEYOND).then_some(name)
    }
}

/// A struct of numbers, or of such structs; the same type holds its rates of change.
macro_rules! continuous {
    ($(#[$meta:meta])* $name:ident { $($(#[$doc:meta])* $field:ident: $type:ty,)* }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, Default, PartialEq)]
        pub struct $name {
            $($(#[$doc])* pub $field: $type,)*
        }

        impl $crate::continuous::Continuous for $name {
            fn plus(&self, h: f64, rate: &Self) -> Self {
                Self { $($field: self.$field.plus(h, &rate.$field),)* }
            }

            fn lost(&self, _: &'static str) -> Option<&'static str> {
                $(if let Some(name) = self.$field.lost(stringify!($field)) { return Some(name); })*
                None
            }
        }
    };
}

pub(crate) use continuous;
