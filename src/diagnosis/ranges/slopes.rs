//! What every figure does to the chance of every cause: exact derivatives of the kernel, one lane
//! a cause in which that cause is there, and one in which anything may be.
//!
//! Must not know strengths.

use super::super::DiagnosisError;
use super::super::reckoner::FaultPlace;
use super::moves::Move;
use crate::evidence::{Case, Evidence};
use crate::network::clamp::Clamped;
use crate::network::{Shelf, Slopes};

/// Tries of the search for an order.
const RESTARTS: usize = 4;

/// Derivatives of one case.
#[derive(Debug, Clone)]
pub(super) struct CaseSlopes {
    /// Logarithm of the chance of the evidence, and how each figure moves it.
    pub all: (f64, Vec<f64>),
    /// The same with each cause there; `None` where the engine has no such part.
    pub causes: Vec<Option<(f64, Vec<f64>)>>,
}

/// Derivatives of every case; `moves` is `[figure][case]`.
pub(super) fn slopes(
    evidence: &Evidence,
    causes: &[FaultPlace],
    moves: &[Vec<Move>],
) -> Result<Vec<CaseSlopes>, DiagnosisError> {
    let cases = evidence.cases.iter().enumerate();
    cases
        .map(|(at, case)| one(case, at, causes, moves))
        .collect()
}

fn one(
    case: &Case,
    at: usize,
    causes: &[FaultPlace],
    moves: &[Vec<Move>],
) -> Result<CaseSlopes, DiagnosisError> {
    let network = &case.model.network;
    let (request, lane) = case.request(Vec::new(), RESTARTS, |_| true);
    let clamped = Clamped::compile(
        &Shelf::none(),
        &case.model,
        &request.slots,
        Vec::new(),
        RESTARTS,
    )?;
    let bound = clamped.bind(network)?;
    let figures = network.figures().len();
    let first = clamped.program().inputs() - lane.inputs.len();
    let mut lanes = vec![clamped.lane(&lane.inputs, |_, _| true)];
    let mut places = Vec::new();
    for cause in causes {
        let place = cause.find(case);
        places.push(place.map(|_| lanes.len()));
        if let Some((variable, state)) = place {
            lanes.push(clamped.lane(&lane.inputs, |v, s| v != variable || s == state));
        }
    }
    let found = clamped.program().gradient(figures).run(&bound, &lanes)?;
    let along = |slopes: &Slopes| {
        let total = |list: &[(u32, f64)], slopes: &[f64]| -> f64 {
            list.iter().map(|(i, by)| slopes[*i as usize] * by).sum()
        };
        let of = |m: &Move| {
            let inputs = total(&m.inputs, &slopes.inputs[first..]);
            total(&m.figures, &slopes.figures) + inputs + m.log_scale + m.log_weight
        };
        let log = slopes.log_evidence + lane.log_scale + case.weight.ln();
        (log, moves.iter().map(|m| of(&m[at])).collect::<Vec<_>>())
    };
    Ok(CaseSlopes {
        all: along(&found[0]),
        causes: places.iter().map(|p| p.map(|l| along(&found[l]))).collect(),
    })
}
