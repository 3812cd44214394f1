//! Programs made on first use and kept, within a bound on their bytes.
//!
//! A program is a pure function of the network and the request, so dropping one changes no
//! answer, only the time to make it again. Must not be shared between networks.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::compile::{CompileError, Program, Request};
use super::kernel::Bound;
use super::variable::Network;

/// A program with its figures filled in.
#[derive(Debug, Clone)]
pub struct Ready {
    /// The program.
    pub program: Program,
    /// Its figures.
    pub bound: Bound,
}

#[derive(Debug)]
struct Kept {
    ready: Arc<Ready>,
    bytes: usize,
    used: u64,
}

/// Programs of one network by request, the longest unused dropped first.
#[derive(Debug)]
pub struct Programs {
    network: Network,
    most_bytes: usize,
    bytes: usize,
    clock: u64,
    made: u64,
    kept: BTreeMap<Request, Kept>,
}

impl Programs {
    /// An empty cache that keeps at most `most_bytes` of programs, and always the last one.
    #[must_use]
    pub fn new(network: Network, most_bytes: usize) -> Self {
        Self {
            network,
            most_bytes,
            bytes: 0,
            clock: 0,
            made: 0,
            kept: BTreeMap::new(),
        }
    }

    /// The network.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// The program for a request, made now if it is not there.
    ///
    /// # Errors
    /// When exact work would be too wide.
    pub fn get(&mut self, request: &Request) -> Result<Arc<Ready>, CompileError> {
        self.clock += 1;
        if let Some(kept) = self.kept.get_mut(request) {
            kept.used = self.clock;
            return Ok(Arc::clone(&kept.ready));
        }
        let program = Program::compile(&self.network, request)?;
        let figures = self.network.figures();
        let bound = program.bind(&figures).expect("the figures it was made of");
        let bytes = program.bytes();
        self.made += 1;
        self.bytes += bytes;
        let ready = Arc::new(Ready { program, bound });
        while self.bytes > self.most_bytes && !self.kept.is_empty() {
            self.drop_oldest();
        }
        let kept = Kept {
            ready: Arc::clone(&ready),
            bytes,
            used: self.clock,
        };
        self.kept.insert(request.clone(), kept);
        Ok(ready)
    }

    fn drop_oldest(&mut self) {
        let oldest = self.kept.iter().min_by_key(|(_, k)| k.used);
        if let Some(request) = oldest.map(|(r, _)| r.clone())
            && let Some(kept) = self.kept.remove(&request)
        {
            self.bytes -= kept.bytes;
        }
    }

    /// Programs made so far, those dropped and made again counted each time.
    #[must_use]
    pub fn made(&self) -> u64 {
        self.made
    }

    /// Bytes of the programs kept now.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.bytes
    }
}
