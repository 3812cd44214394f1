//! Programs packed small: what no longer has room as it runs, but may be asked for again.
//!
//! Unpacking one takes a small part of the time of making it, and packed it takes a tenth of the
//! room; the longest unused makes way. Must not decide which programs are unpacked.

use std::sync::{Mutex, MutexGuard, PoisonError};

use super::compile::Program;
use super::least_used::LeastUsed;
use super::shape_key::ShapeKey;

/// Packed programs within a bound on their bytes.
#[derive(Debug)]
pub(super) struct Packed(Mutex<LeastUsed<ShapeKey, Box<[u8]>>>);

impl Packed {
    pub fn new(most_bytes: usize) -> Self {
        Self(Mutex::new(LeastUsed::new(most_bytes)))
    }

    /// A program, unpacked; it stays here too.
    pub fn get(&self, key: ShapeKey) -> Option<Program> {
        let bytes = self.lock().get(&key)?.clone();
        Program::from_bytes(&bytes)
    }

    /// Packs a program, unless it is here or nothing may be kept.
    pub fn put(&self, key: ShapeKey, program: &Program) {
        let wanted = |kept: &LeastUsed<_, _>| kept.most_bytes() > 0 && !kept.has(&key);
        if wanted(&self.lock()) {
            // Not while others wait.
            let bytes = program.to_bytes().into_boxed_slice();
            let len = bytes.len();
            self.lock().keep(key, bytes, len);
        }
    }

    fn lock(&self) -> MutexGuard<'_, LeastUsed<ShapeKey, Box<[u8]>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{Fold, Network, Request, Role, VarId, Variable};

    /// A program about so many variables, and its key.
    fn program(count: u32) -> (ShapeKey, Program) {
        let mut network = Network::new();
        for at in 0..count {
            let local = Fold::table(Vec::new(), vec![0.8, 0.2]);
            let states = ["no", "yes"].map(str::to_owned).to_vec();
            let name = format!("v{at}");
            let role = Role::Part;
            let variable = Variable {
                name,
                states,
                role,
                local,
            };
            network.add(variable).unwrap();
        }
        let request = Request {
            queries: (0..count).map(|v| vec![VarId(v)]).collect(),
            ..Request::default()
        };
        let key = ShapeKey::new(&network, &network.figures(), &request);
        (key, Program::compile(&network, &request).unwrap())
    }

    #[test]
    fn the_longest_unused_makes_room() {
        let [a, b, c] = [program(3), program(4), program(5)];
        let size = |p: &(ShapeKey, Program)| p.1.to_bytes().len();
        let packed = Packed::new(size(&b) + size(&c));
        packed.put(a.0, &a.1);
        packed.put(b.0, &b.1);
        packed.get(a.0).unwrap();
        packed.put(c.0, &c.1);
        assert!(packed.get(b.0).is_none());
        assert_eq!(packed.get(a.0).unwrap().to_bytes(), a.1.to_bytes());
        assert_eq!(packed.get(c.0).unwrap().to_bytes(), c.1.to_bytes());
        assert_eq!(packed.lock().bytes(), size(&a) + size(&c));
    }
}
