//! Programs as bytes, so that the next process need not make them again.
//!
//! The bytes are this program's own, for the machine and the version that wrote them, squeezed; a
//! checksum stands before them. Must not know where they are kept.

use std::fmt;
use std::hash::{DefaultHasher, Hasher};
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, Error, SeqAccess, Visitor};

use super::program::Program;

/// Bytes of the checksum in front.
const SUM: usize = 8;

fn checksum(bytes: &[u8]) -> [u8; SUM] {
    let mut hasher = DefaultHasher::new();
    hasher.write(bytes);
    hasher.finish().to_le_bytes()
}

impl Program {
    /// As bytes.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        // Vectors of numbers: there is nothing here that could fail to be written.
        let bytes = postcard::to_allocvec(self).expect("a program is numbers");
        let packed = lz4_flex::compress_prepend_size(&bytes);
        [&checksum(&packed)[..], &packed].concat()
    }

    /// From [`Program::to_bytes`]; nothing where they are damaged.
    #[must_use]
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let (sum, body) = bytes.split_at_checked(SUM)?;
        if checksum(body) != sum {
            return None;
        }
        let body = lz4_flex::decompress_size_prepended(body).ok()?;
        postcard::from_bytes(&body).ok()
    }
}

/// Reads a long list into memory of just its length. The usual way begins small and doubles, which
/// for a moment takes three times the memory. Where the bytes are not to be trusted, that is right.
pub(super) fn whole<'de, D, T>(deserializer: D) -> Result<Vec<T>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    struct Whole<T>(PhantomData<T>);
    impl<'de, T: Deserialize<'de>> Visitor<'de> for Whole<T> {
        type Value = Vec<T>;

        fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
            formatter.write_str("a list")
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Vec<T>, A::Error> {
            let mut out = Vec::new();
            let len = list.size_hint().unwrap_or(0);
            out.try_reserve_exact(len).map_err(A::Error::custom)?;
            while let Some(item) = list.next_element()? {
                out.push(item);
            }
            Ok(out)
        }
    }
    deserializer.deserialize_seq(Whole(PhantomData))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{Fold, Lane, Network, Request, Role, Seen, Slot, Variable};

    #[test]
    fn a_program_survives_being_bytes_and_damage_is_seen() {
        let mut network = Network::new();
        let mut add = |name: &str, drivers, rows| {
            let local = Fold::table(drivers, rows);
            let states = ["no", "yes"].map(str::to_owned).to_vec();
            let name = name.to_owned();
            let role = Role::Part;
            network.add(Variable {
                name,
                states,
                role,
                local,
            })
        };
        let rain = add("rain", vec![], vec![0.8, 0.2]).unwrap();
        let wet = add("wet", vec![rain], vec![0.9, 0.1, 0.2, 0.8]).unwrap();
        let request = Request {
            slots: vec![Slot {
                scope: vec![wet],
                seen: Seen::Soft,
            }],
            queries: vec![vec![rain]],
            restarts: 0,
        };
        let program = Program::compile(&network, &request).unwrap();
        let mut bytes = program.to_bytes();
        let again = Program::from_bytes(&bytes).unwrap();
        let lanes = [Lane {
            inputs: vec![0.0, 1.0],
            log_scale: 0.0,
        }];
        let run = |p: &Program| p.run(&p.bind(&network.figures()).unwrap(), &lanes);
        // By hand: .2 x .8 / (.2 x .8 + .8 x .1) = 2/3.
        let chance = run(&again)[0].as_ref().unwrap().chances[0][1];
        assert!((chance - 2.0 / 3.0).abs() < 1e-15);
        assert_eq!(run(&again), run(&program));
        for at in 0..bytes.len() {
            bytes[at] ^= 1;
            assert!(Program::from_bytes(&bytes).is_none(), "byte {at}");
            bytes[at] ^= 1;
            assert!(Program::from_bytes(&bytes[..at]).is_none(), "cut at {at}");
        }
    }
}
