//! Repeated timings judged cylinder by cylinder, and the published outlier rules beside them.
//!
//! Reading order: `readings` (what was timed, and the supply correction), `law` (figures and
//! densities of one trial), `grid` (likelihoods over the shared pace), `chances` (who is slow,
//! which trial is odd), `drift`, `verdict` and `advice`, `answer` and `judge`, `shared`
//! (what the network takes), `reference` (published rules). Nothing here drops a reading.

mod advice;
mod answer;
mod chances;
mod drift;
mod grid;
mod judge;
mod law;
mod readings;
pub mod reference;
mod shared;
mod verdict;

pub use advice::Advice;
pub use answer::{
    Counts, CylinderAnswer, Judgement, NominalChance, Pace, PaceSource, Reference, TrialAnswer,
    TrialsAnswer,
};
pub use drift::{Drift, DriftKind};
pub use judge::judge;
pub use law::{Catalogue, Figures};
pub use readings::{Bench, Observed, SupplyNote, Timing, TimingNote, TrialsError};
pub use shared::{PacePoint, SharedPace, shared_pace};
pub use verdict::{CylinderChances, SetChances, Verdict};
