//! Programs made on first use and kept, within a bound on their bytes.
//!
//! A program is a pure function of the network and the request, so dropping one changes no
//! answer, only the time to make it again. Must not be shared between networks.

use std::sync::Arc;

use super::compile::{CompileError, Program, Request};
use super::kernel::Bound;
use super::least_used::LeastUsed;
use super::variable::Network;

/// A program with its figures filled in.
#[derive(Debug, Clone)]
pub struct Ready {
    /// The program.
    pub program: Program,
    /// Its figures.
    pub bound: Bound,
}

/// Programs of one network by request.
#[derive(Debug)]
pub struct Programs {
    network: Network,
    made: u64,
    kept: LeastUsed<Request, Arc<Ready>>,
}

impl Programs {
    /// An empty cache that keeps at most `most_bytes` of programs.
    #[must_use]
    pub fn new(network: Network, most_bytes: usize) -> Self {
        Self {
            network,
            made: 0,
            kept: LeastUsed::new(most_bytes),
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
        if let Some(ready) = self.kept.get(request) {
            return Ok(Arc::clone(ready));
        }
        let program = Program::compile(&self.network, request)?;
        let figures = self.network.figures();
        let bound = program.bind(&figures).expect("the figures it was made of");
        let bytes = program.bytes();
        self.made += 1;
        let ready = Arc::new(Ready { program, bound });
        self.kept.keep(request.clone(), Arc::clone(&ready), bytes);
        Ok(ready)
    }

    /// Programs made so far, those dropped and made again counted each time.
    #[must_use]
    pub fn made(&self) -> u64 {
        self.made
    }

    /// Bytes of the programs kept now.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.kept.bytes()
    }
}
