//! Programs kept by what they were made for, within a bound on their bytes: in memory, some ready to
//! run and more of them packed, and, where there is a [`Store`], beyond the life of the process.
//!
//! A program is a function of the structure and the class of evidence alone, so neither what is
//! kept nor what was dropped changes an answer, only the time to it. Must not run programs.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::compile::{CompileError, Program, Request};
use super::least_used::LeastUsed;
use super::packed::Packed;
use super::shape_key::ShapeKey;
use super::variable::Network;

/// One part in so many of a bound on bytes is for programs that can run at once, the others for
/// packed ones. Own judgement.
const AT_ONCE: usize = 3;

/// Keeps bytes by name beyond the life of a process. What it loses is made again, so it has no
/// errors; what it gives back is checked here.
pub trait Store: Send + Sync + std::fmt::Debug {
    /// The bytes kept under a name.
    fn take(&self, name: &str) -> Option<Vec<u8>>;

    /// Keeps bytes under a name, where it can.
    fn put(&self, name: &str, bytes: &[u8]);
}

/// Programs on a shelf; copies of it are the same shelf.
#[derive(Debug, Clone, Default)]
pub struct Shelf(Option<Arc<Inner>>);

#[derive(Debug)]
struct Inner {
    packed: Packed,
    store: Option<Box<dyn Store>>,
    cache: Mutex<Cache>,
}

#[derive(Debug)]
struct Cache {
    kept: LeastUsed<ShapeKey, Arc<Program>>,
    made: u64,
}

impl Shelf {
    /// A shelf that keeps nothing: every program is made anew.
    #[must_use]
    pub fn none() -> Self {
        Self::default()
    }

    /// A shelf that keeps at most so many bytes of programs in memory, the longest unused dropped
    /// first.
    #[must_use]
    pub fn new(most_bytes: usize) -> Self {
        Self::with(most_bytes, None)
    }

    /// As [`Shelf::new`], some of the programs ready to run and the others packed: for runs over many
    /// jobs that come back to many programs. Where the next job is like the last one, unpacking would
    /// only cost time.
    #[must_use]
    pub fn packing(most_bytes: usize) -> Self {
        let at_once = most_bytes / AT_ONCE;
        Self::of(at_once, Packed::new(most_bytes - at_once), None)
    }

    /// As [`Shelf::new`], with a store behind it.
    #[must_use]
    pub fn with(most_bytes: usize, store: Option<Box<dyn Store>>) -> Self {
        Self::of(most_bytes, Packed::new(0), store)
    }

    fn of(most_bytes: usize, packed: Packed, store: Option<Box<dyn Store>>) -> Self {
        Self(Some(Arc::new(Inner {
            packed,
            store,
            cache: Mutex::new(Cache {
                kept: LeastUsed::new(most_bytes),
                made: 0,
            }),
        })))
    }

    /// Programs made so far, those dropped and made again counted each time.
    #[must_use]
    pub fn made(&self) -> u64 {
        self.0.as_ref().map_or(0, |inner| inner.lock().made)
    }

    /// Whether it keeps anything.
    #[must_use]
    pub fn keeps(&self) -> bool {
        self.0.is_some()
    }

    /// The program of a network for a class of evidence, made now if it is not there; refused where
    /// it needs more than `limit` table entries, kept or not.
    ///
    /// # Errors
    /// When exact work would be too wide.
    pub fn program(
        &self,
        network: &Network,
        request: &Request,
        limit: f64,
    ) -> Result<Arc<Program>, CompileError> {
        let make = || Program::compile_alike(network, request, limit);
        if !self.keeps() {
            return make().map(Arc::new);
        }
        let key = ShapeKey::new(network, &network.figures(), request);
        let program = self.get(key, make)?;
        let entries = program.width().entries;
        if entries > limit {
            return Err(CompileError::TooWide { entries, limit });
        }
        Ok(program)
    }

    /// The program of that key, made now if it is not there.
    pub(super) fn get(
        &self,
        key: ShapeKey,
        make: impl FnOnce() -> Result<Program, CompileError>,
    ) -> Result<Arc<Program>, CompileError> {
        let Some(inner) = &self.0 else {
            return make().map(Arc::new);
        };
        if let Some(program) = inner.lock().kept.get(&key) {
            return Ok(Arc::clone(program));
        }
        let program = match inner.packed.get(key) {
            Some(program) => program,
            None => inner.found_or_made(key, make)?,
        };
        let program = Arc::new(program);
        let bytes = program.bytes();
        let dropped = inner.lock().kept.keep(key, Arc::clone(&program), bytes);
        for (key, program) in dropped {
            inner.packed.put(key, &program);
        }
        Ok(program)
    }
}

impl Inner {
    /// The program out of the store, else made now and stored.
    fn found_or_made(
        &self,
        key: ShapeKey,
        make: impl FnOnce() -> Result<Program, CompileError>,
    ) -> Result<Program, CompileError> {
        let name = key.to_string();
        let stored = self.store.as_ref().and_then(|s| s.take(&name));
        if let Some(program) = stored.and_then(|bytes| Program::from_bytes(&bytes)) {
            return Ok(program);
        }
        let program = make()?;
        if let Some(store) = &self.store {
            store.put(&name, &program.to_bytes());
        }
        self.lock().made += 1;
        Ok(program)
    }

    fn lock(&self) -> MutexGuard<'_, Cache> {
        self.cache.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
