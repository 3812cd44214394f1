//! Figures fitted from finished jobs: expectation-maximisation over the kernel's family marginals.
//!
//! What is moved: one log-weight a fault, the same in every context, shape and cylinder; one
//! log-odds a shop and system, from three shops up; the chance that a cause is confirmed; the
//! chance that a finding names the wrong cause, by proof. The likelihood of a job is
//!
//! ```text
//! P(what was seen and read, what was found, complaint) / P(complaint)
//! ```
//! so that jobs that are there because of a complaint, and causes that stay unconfirmed because
//! they are heavy work to reach, do not bend the shares. Starter figures are pseudo-counts.
//!
//! Reading order: [`moved`] (what is fitted), `terms` (what a finding says), `copies` (where a
//! fault stands in a network), `apart` (jobs too wide for the common programs), [`counts`] (sums over jobs, which merge bit for bit), [`expect`]
//! (jobs into counts), [`maximise`] (counts into figures), [`spread`] (how sure they are), [`run`]
//! (rounds), [`layer`] (as a knowledge layer). Reads no text and no files.

mod apart;
mod copies;
pub mod counts;
pub mod expect;
pub mod layer;
pub mod maximise;
pub mod moved;
pub mod run;
pub mod spread;
mod terms;
