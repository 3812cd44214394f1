//! Closed lists of words: enums whose variants are written as fixed ids in job files.
//!
//! Must not hold any list itself; each stands beside the thing it describes.

/// A closed list of words, for the reader.
pub(super) trait Named: Copy + 'static {
    /// Every variant.
    fn all() -> &'static [Self];
    /// The word used in files.
    fn word(self) -> &'static str;
}

/// Declares an enum whose variants have ids: gives `ALL`, `id` and `from_id`.
macro_rules! named {
    (
        $(#[$meta:meta])*
        $name:ident { $( $(#[$vmeta:meta])* $variant:ident = $id:literal ),+ $(,)? }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $( $(#[$vmeta])* $variant ),+ }

        impl $name {
            /// Every variant, in the order in which they are listed to people.
            pub const ALL: &'static [$name] = &[ $( $name::$variant ),+ ];

            /// The word used in files.
            #[must_use]
            pub fn id(self) -> &'static str {
                match self { $( $name::$variant => $id ),+ }
            }

            /// The variant of that word.
            #[must_use]
            pub fn from_id(id: &str) -> Option<$name> {
                match id { $( $id => Some($name::$variant), )+ _ => None }
            }
        }

        impl crate::job::names::Named for $name {
            fn all() -> &'static [Self] { Self::ALL }
            fn word(self) -> &'static str { self.id() }
        }
    };
}

pub(super) use named;

#[cfg(test)]
mod tests {
    use crate::job::{Chamber, Fact, PreheatKind, Proof, Sure, Wiring};

    #[test]
    fn every_id_reads_back() {
        assert!(
            Chamber::ALL
                .iter()
                .all(|c| Chamber::from_id(c.id()) == Some(*c))
        );
        assert!(
            PreheatKind::ALL
                .iter()
                .all(|c| PreheatKind::from_id(c.id()) == Some(*c))
        );
        assert!(
            Wiring::ALL
                .iter()
                .all(|c| Wiring::from_id(c.id()) == Some(*c))
        );
        assert!(
            Proof::ALL
                .iter()
                .all(|c| Proof::from_id(c.id()) == Some(*c))
        );
        assert!(Fact::ALL.iter().all(|c| Fact::from_id(c.id()) == Some(*c)));
        assert_eq!(Sure::from_id("certain"), None);
    }
}
