//! Both ways between the core's settings and C's, from one list of where each lies here and there.

/// The core's row of a path. It is looked up while compiling: of the list the library carries nothing.
macro_rules! kind {
    ($path:literal) => {
        const { Setting::of($path).kind }
    };
}
pub(super) use kind;

/// A setting of C's into the core's: skipped where what it belongs to is off.
macro_rules! read {
    (number $path:literal $ours:expr; $core:ident $wrong:ident) => {
        if let Kind::Number { at, .. } = kind!($path)
            && let Some(place) = at(&mut $core)
        {
            *place = $ours;
        }
    };
    (whole $path:literal $ours:expr; $core:ident $wrong:ident) => {
        if let Kind::Whole { at, .. } = kind!($path)
            && let Some(place) = at(&mut $core)
        {
            *place = $ours;
        }
    };
    (optional $path:literal $ours:expr, $has_path:literal $has:expr; $core:ident $wrong:ident) => {
        if let Kind::Optional { at, .. } = kind!($path)
            && let Some(place) = at(&mut $core)
        {
            *place = $wrong.flag($has_path, $has).then_some($ours);
        }
    };
    (flag $path:literal $ours:expr; $core:ident $wrong:ident) => {
        if let Kind::Flag { at } = kind!($path)
            && let Some(place) = at(&mut $core)
        {
            *place = $wrong.flag($path, $ours);
        }
    };
    (choice $path:literal $ours:expr; $core:ident $wrong:ident) => {
        if let Kind::Choice { of, set, .. } = kind!($path)
            && let Some(index) = $wrong.pick($path, $ours, of.names.len())
        {
            set(&mut $core, index);
        }
    };
    (part $path:literal $ours:expr, $has_path:literal $has:expr; $core:ident $wrong:ident) => {
        if let Kind::Part { get, set } = kind!($path)
            && get(&mut $core).is_some()
        {
            set(&mut $core, $wrong.flag($has_path, $has));
        }
    };
    (knots $path:literal $ours:expr; $core:ident $wrong:ident) => {
        if let Kind::Knots { at, .. } = kind!($path) {
            $ours.read(at(&mut $core), &mut $wrong);
        }
    };
}
pub(super) use read;

/// A setting of the core's into C's; a part that is off is switched on, for its defaults.
macro_rules! tell {
    (number $path:literal $ours:expr; $core:ident) => {
        if let Kind::Number { at, .. } = kind!($path) {
            $ours = at(&mut $core).copied().unwrap_or_default();
        }
    };
    (whole $path:literal $ours:expr; $core:ident) => {
        if let Kind::Whole { at, .. } = kind!($path) {
            $ours = at(&mut $core).copied().unwrap_or_default();
        }
    };
    (optional $path:literal $ours:expr, $has_path:literal $has:expr; $core:ident) => {
        if let Kind::Optional { at, .. } = kind!($path) {
            let value = at(&mut $core).copied().flatten();
            ($ours, $has) = (value.unwrap_or_default(), value.is_some().into());
        }
    };
    (flag $path:literal $ours:expr; $core:ident) => {
        if let Kind::Flag { at } = kind!($path) {
            $ours = at(&mut $core).copied().unwrap_or_default().into();
        }
    };
    (choice $path:literal $ours:expr; $core:ident) => {
        if let Kind::Choice { get, .. } = kind!($path) {
            $ours = u8::try_from(get(&$core)).unwrap_or_default();
        }
    };
    (part $path:literal $ours:expr, $has_path:literal $has:expr; $core:ident) => {
        if let Kind::Part { get, set } = kind!($path) {
            $has = get(&mut $core).unwrap_or_default().into();
            set(&mut $core, true);
        }
    };
    (knots $path:literal $ours:expr; $core:ident) => {
        if let Kind::Knots { at, .. } = kind!($path) {
            $ours.tell(at(&mut $core));
        }
    };
}
pub(super) use tell;

/// Both ways for all settings: each with its kind, its path, and its places in C.
macro_rules! translated {
    ($(
        $kind:ident $path:literal $($place:ident).* $(, $has_path:literal $($has:ident).+)?;
    )+) => {
        impl easeoff_settings {
            /// As the core's, and the choices that do not exist: there the default is in force.
            pub fn read(&self) -> (Settings, Wrong) {
                let (mut core, mut wrong) = (Settings::default(), Wrong::new());
                $(read!($kind $path self$(.$place)* $(, $has_path self$(.$has)+)?; core wrong);)+
                (core, wrong)
            }
        }

        impl From<Settings> for easeoff_settings {
            fn from(mut core: Settings) -> Self {
                let mut ours = Self::default();
                $(tell!($kind $path ours$(.$place)* $(, $has_path ours$(.$has)+)?; core);)+
                ours
            }
        }
    };
}
pub(super) use translated;
