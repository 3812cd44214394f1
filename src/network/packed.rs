//! Programs packed small: what no longer has room as it runs, but may be asked for again.
//!
//! Unpacking one takes a small part of the time of making it, and packed it takes a tenth of the
//! room. Must not decide which programs are unpacked.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::compile::Program;
use super::shape_key::ShapeKey;

/// Packed programs within a bound on their bytes, the longest unused dropped first.
#[derive(Debug, Default)]
pub(super) struct Packed {
    most_bytes: usize,
    kept: Mutex<Kept>,
}

#[derive(Debug, Default)]
struct Kept {
    programs: BTreeMap<ShapeKey, (Box<[u8]>, u64)>,
    bytes: usize,
    clock: u64,
}

impl Packed {
    pub fn new(most_bytes: usize) -> Self {
        Self {
            most_bytes,
            kept: Mutex::default(),
        }
    }

    /// A program, unpacked; it stays here too.
    pub fn get(&self, key: ShapeKey) -> Option<Program> {
        let bytes = {
            let mut kept = self.lock();
            kept.clock += 1;
            let clock = kept.clock;
            let (bytes, used) = kept.programs.get_mut(&key)?;
            *used = clock;
            bytes.clone()
        };
        Program::from_bytes(&bytes)
    }

    /// Packs a program, unless it is here.
    pub fn put(&self, key: ShapeKey, program: &Program) {
        if self.most_bytes == 0 || self.lock().programs.contains_key(&key) {
            return;
        }
        let bytes = program.to_bytes().into_boxed_slice();
        if bytes.len() > self.most_bytes {
            return;
        }
        let mut kept = self.lock();
        while kept.bytes > self.most_bytes - bytes.len() {
            let oldest = kept.programs.iter().min_by_key(|(_, p)| p.1);
            let Some(oldest) = oldest.map(|(k, _)| *k) else {
                break;
            };
            kept.bytes -= kept.programs.remove(&oldest).map_or(0, |p| p.0.len());
        }
        kept.bytes += bytes.len();
        let clock = kept.clock;
        if let Some((before, _)) = kept.programs.insert(key, (bytes, clock)) {
            kept.bytes -= before.len();
        }
    }

    fn lock(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
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
        assert_eq!(packed.lock().bytes, size(&a) + size(&c));
    }
}
