//! How a layout that was is read as what it is now.

/// A value as it was, that is another now.
pub(super) trait Was<N> {
    fn now(self) -> N;
}

/// What never changes.
macro_rules! same {
    ($($kind:ty),*) => {
        $(impl Was<$kind> for $kind {
            fn now(self) -> $kind {
                self
            }
        })*
    };
}

same!(f32, u8, bool);

impl<N, T: Was<N>> Was<Option<N>> for Option<T> {
    fn now(self) -> Option<N> {
        self.map(T::now)
    }
}

/// A struct as it was, and its values put over the defaults of what it is now.
macro_rules! was {
    (struct $old:ident now $new:ident { $($field:ident: $kind:ty),* $(,)? }) => {
        #[derive(Deserialize)]
        pub(super) struct $old {
            $($field: $kind,)*
        }

        impl Was<$new> for $old {
            fn now(self) -> $new {
                let mut new = $new::default();
                $(new.$field = self.$field.now();)*
                new
            }
        }
    };
    (enum $old:ident now $new:ident { $($variant:ident),* $(,)? }) => {
        #[derive(Deserialize)]
        pub(super) enum $old {
            $($variant,)*
        }

        impl Was<$new> for $old {
            fn now(self) -> $new {
                match self {
                    $($old::$variant => $new::$variant,)*
                }
            }
        }
    };
}
pub(super) use was;
