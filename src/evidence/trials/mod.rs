//! Repeated timings judged cylinder by cylinder, and the published outlier rules beside them.

pub mod reference;
