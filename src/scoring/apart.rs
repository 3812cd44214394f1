//! A job whose evidence ties cylinders together: too wide for the common programs, reckoned by
//! itself as a ranking reckons it, as a sum of terms.
//!
//! Must not score.

use super::solve::{SolveError, Solved};
use crate::diagnosis::{DiagnosisError, FaultPlace, Reckoner};
use crate::evidence::gather;
use crate::job::Job;
use crate::knowledge::Knowledge;

/// Chances of one job.
///
/// # Errors
/// As for any other job.
pub(super) fn solve(knowledge: &Knowledge, job: &Job) -> Result<Solved, SolveError> {
    let evidence = gather(knowledge, job)?;
    let told = |error: DiagnosisError| match error {
        DiagnosisError::Compile(error) => SolveError::Compile(error),
        DiagnosisError::Kernel(error) => SolveError::Kernel(error),
        DiagnosisError::TooManyEntries { .. } => {
            SolveError::Kernel(crate::network::KernelError::Impossible)
        }
    };
    let reckoner = Reckoner::new(&evidence).map_err(told)?;
    let all = vec![true; reckoner.items()];
    let log_evidence = reckoner
        .log_evidence(std::slice::from_ref(&all))
        .map_err(told)?;
    let answers = reckoner.parts(&all).map_err(told)?;
    let mut chances: Vec<(std::sync::Arc<str>, f64)> = Vec::new();
    for ((share, answer), case) in answers.iter().zip(&evidence.cases) {
        for fault in case.model.faults.iter().filter(|f| !f.wear_only) {
            let place = FaultPlace::of(fault).find(case);
            let chance = place.and_then(|(v, s)| answer.parts.get(&v).map(|p| p[s]));
            let chance = share * chance.unwrap_or(0.0);
            let id = fault.id();
            match chances.iter_mut().find(|c| *c.0 == *id) {
                Some(known) => known.1 += chance,
                None => chances.push((id.into(), chance)),
            }
        }
    }
    Ok(Solved {
        log_evidence: log_evidence[0],
        chances,
    })
}
