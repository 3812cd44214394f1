//! Programs with every part open to be clamped: "all sound", "this fault and nothing else",
//! "not this fault".
//!
//! Chances of such groups need no variables of their own: they are ratios of P(evidence).
//! Must not know what is worth asking.

use std::sync::Arc;

use super::build::Model;
use super::compile::{CompileError, ENTRY_LIMIT, Program, Request, Seen, Slot};
use super::kernel::{Bound, KernelError, Lane};
use super::shelf::Shelf;
use super::sums::Group;
use super::variable::{Network, VarId};

/// A program whose first inputs are likelihoods on the parts as they are now.
#[derive(Debug, Clone)]
pub struct Clamped {
    program: Arc<Program>,
    parts: Vec<(VarId, usize)>,
}

impl Clamped {
    /// Compiles a model for some evidence, with all parts, as they are now, left open, and queries;
    /// the program is taken from `shelf` where it is there.
    ///
    /// # Errors
    /// When exact work would be too wide.
    pub fn compile(
        shelf: &Shelf,
        model: &Model,
        evidence: &[Slot],
        queries: Vec<Vec<VarId>>,
        restarts: usize,
    ) -> Result<Self, CompileError> {
        Self::compile_within(shelf, model, evidence, queries, (restarts, ENTRY_LIMIT))
    }

    /// As [`Clamped::compile`], refusing what needs more than so many table entries:
    /// `(restarts, limit)`.
    ///
    /// # Errors
    /// When exact work would be too wide.
    pub fn compile_within(
        shelf: &Shelf,
        model: &Model,
        evidence: &[Slot],
        queries: Vec<Vec<VarId>>,
        effort: (usize, f64),
    ) -> Result<Self, CompileError> {
        Self::with(shelf, model, evidence, queries, effort, |_| Seen::Soft)
    }

    /// As [`Clamped::compile`], for lanes that say of every part but those in `open` which state
    /// it is in: far narrower, for the functions hang together only through the parts.
    ///
    /// # Errors
    /// When exact work would be too wide.
    pub fn assigned(
        shelf: &Shelf,
        model: &Model,
        evidence: &[Slot],
        queries: Vec<Vec<VarId>>,
        open: &[VarId],
    ) -> Result<Self, CompileError> {
        Self::with(shelf, model, evidence, queries, (0, ENTRY_LIMIT), |id| {
            if open.contains(&id) {
                Seen::Soft
            } else {
                Seen::Known
            }
        })
    }

    fn with(
        shelf: &Shelf,
        model: &Model,
        evidence: &[Slot],
        queries: Vec<Vec<VarId>>,
        (restarts, limit): (usize, f64),
        seen: impl Fn(VarId) -> Seen,
    ) -> Result<Self, CompileError> {
        let parts = model
            .parts_now()
            .into_iter()
            .map(|id| (id, model.network.size(id)))
            .collect::<Vec<_>>();
        let mut slots = parts
            .iter()
            .map(|(id, _)| Slot {
                scope: vec![*id],
                seen: seen(*id),
            })
            .collect::<Vec<_>>();
        slots.extend_from_slice(evidence);
        let request = Request {
            slots,
            queries,
            restarts,
        };
        let program = shelf.program(&model.network, &request, limit)?;
        Ok(Self { program, parts })
    }

    /// Fills in the figures.
    ///
    /// # Errors
    /// As [`Program::bind`].
    pub fn bind(&self, network: &Network) -> Result<Bound, KernelError> {
        self.program.bind(&network.figures())
    }

    /// A lane in which only the states of parts that `allowed` admits can be; `inputs` are the
    /// evidence's own.
    #[must_use]
    pub fn lane(&self, inputs: &[f64], mut allowed: impl FnMut(VarId, usize) -> bool) -> Lane {
        let mut all = Vec::with_capacity(self.program.inputs());
        for (id, size) in &self.parts {
            all.extend((0..*size).map(|s| f64::from(allowed(*id, s))));
        }
        all.extend_from_slice(inputs);
        Lane {
            inputs: all,
            log_scale: 0.0,
        }
    }

    /// As [`Clamped::lane`], for evidence that is a sum of terms.
    #[must_use]
    pub fn group(&self, evidence: &Group, mut allowed: impl FnMut(VarId, usize) -> bool) -> Group {
        let open = self.lane(&[], &mut allowed).inputs;
        let put = |lane: &Lane| Lane {
            inputs: open.iter().chain(&lane.inputs).copied().collect(),
            log_scale: lane.log_scale,
        };
        Group {
            terms: evidence.terms.iter().map(put).collect(),
            guard: evidence.guard.iter().map(put).collect(),
        }
    }

    /// Natural logarithm of P(evidence, the parts as admitted) for each lane; minus infinity
    /// where that cannot be.
    ///
    /// # Errors
    /// Any error but "impossible" and "too small".
    pub fn log_weights(&self, bound: &Bound, lanes: &[Lane]) -> Result<Vec<f64>, KernelError> {
        self.program
            .run_upward(bound, lanes)
            .into_iter()
            .map(|answer| match answer {
                // Too small to be reckoned is nought beside the lanes that are not.
                Err(KernelError::Impossible | KernelError::TooSmall(_)) => Ok(f64::NEG_INFINITY),
                other => other,
            })
            .collect()
    }

    /// The parts that are open.
    pub fn parts(&self) -> impl Iterator<Item = VarId> + '_ {
        self.parts.iter().map(|(id, _)| *id)
    }

    /// The compiled program.
    #[must_use]
    pub fn program(&self) -> &Program {
        &self.program
    }
}
