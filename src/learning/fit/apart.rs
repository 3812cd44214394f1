//! The families of a job whose evidence ties cylinders together: too wide in one piece, narrow as
//! a sum of terms.
//!
//! Must not count.

use crate::evidence::Case;
use crate::network::{
    Answers, CompileError, Group, Lane, PoolError, Program, Request, Seen, Slot, VarId,
};

/// Tries of the search for an order.
const RESTARTS: usize = 2;
/// Table entries a program of one job may need.
const WIDEST: f64 = 2e7;
/// Error of a sum of terms that is let pass, relative to the chance of the evidence.
const MOST_ERROR: f64 = 1e-9;

/// Likelihoods on some variables beside a case's evidence.
pub(super) type Further = Vec<(Vec<VarId>, Vec<f64>)>;

/// Answers of a case in terms.
pub(super) fn answer(
    case: &Case,
    further: &Further,
    queries: Vec<Vec<VarId>>,
) -> Result<Answers, PoolError> {
    let switched = case.switched(true);
    let soft = further.iter().map(|(scope, _)| Slot {
        scope: scope.clone(),
        seen: Seen::Soft,
    });
    let slots = soft.chain(switched.slots.iter().cloned()).collect();
    let request = Request {
        slots,
        queries,
        restarts: RESTARTS,
    };
    let network = &case.model.network;
    let program = Program::compile_within(network, &request, WIDEST)?;
    let bound = program.bind(&network.figures())?;
    let before = further
        .iter()
        .flat_map(|(_, values)| values.iter().copied());
    let before = before.collect::<Vec<_>>();
    let put = |lane: &Lane| Lane {
        inputs: before.iter().chain(&lane.inputs).copied().collect(),
        log_scale: lane.log_scale,
    };
    let group = switched.group(true, |_| true);
    let group = Group {
        terms: group.terms.iter().map(put).collect(),
        guard: group.guard.iter().map(put).collect(),
    };
    let Some(found) = program.run_groups(&bound, &[group], true).pop() else {
        return Err(crate::network::KernelError::Impossible.into());
    };
    let found = found?;
    if found.error > MOST_ERROR {
        // What cancels too much is not narrow in truth.
        let entries = program.width().entries;
        return Err(CompileError::TooWide {
            entries,
            limit: WIDEST,
        }
        .into());
    }
    Ok(found.answers)
}
