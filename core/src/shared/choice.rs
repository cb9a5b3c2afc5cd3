//! A choice among several: its enum, its names in files and its words from one list.

/// What there is to choose between, for everything that reads, writes, shows or describes settings.
///
/// ```
/// use easeoff_core::ReversePolicy;
/// let choice = ReversePolicy::CHOICE;
/// assert_eq!((choice.name, choice.names[2]), ("ReversePolicy", "never"));
/// assert_eq!(choice.each[2], "The far side only brakes.");
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Choice {
    /// The name of its type.
    pub name: &'static str,
    /// What is chosen, in one line.
    pub words: &'static str,
    /// Their names in files.
    pub names: &'static [&'static str],
    /// What each does, in one line.
    pub each: &'static [&'static str],
}

/// An enum with its `NAMED` and its `CHOICE`; the first line of a doc comment is its words.
macro_rules! choice {
    (
        $(#[doc = $words:literal])+
        pub enum $of:ident, by default $default:ident $(, $attribute:ident)? {
            $($(#[doc = $does:literal])+ $variant:ident = $name:expr,)+
        }
    ) => {
        $(#[doc = $words])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        $(#[$attribute])?
        #[cfg_attr(
            feature = "serde",
            derive(serde::Serialize, serde::Deserialize),
            serde(rename_all = "kebab-case")
        )]
        pub enum $of {
            $($(#[doc = $does])+ $variant,)+
        }

        impl Default for $of {
            fn default() -> Self {
                Self::$default
            }
        }

        impl $of {
            /// All of them with their names in files.
            pub const NAMED: [(&'static str, Self); [$($name),+].len()] =
                [$(($name, Self::$variant)),+];

            /// What there is to choose between.
            pub const CHOICE: $crate::Choice = $crate::Choice {
                name: stringify!($of),
                words: [$($words),+][0].trim_ascii(),
                names: &[$($name),+],
                each: &[$([$($does),+][0].trim_ascii()),+],
            };
        }
    };
}
pub(crate) use choice;
