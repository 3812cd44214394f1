//! What a belief is thought to cost where the lookahead stops.
//!
//! The repair-only figure is exact but too high, for it forgets the checks still to come;
//! the other two lean towards the cost of knowing. Which serves best depends on the
//! problem, so `choose` measures it. On small problems the hopeful ones win now and then,
//! by a percent or two. On a problem of real size (`random_listed_problem`, seed 0, 300
//! hypotheses, 60 simulated jobs) they lose badly: repair-only 380 minutes a job,
//! interpolated 560 to 2 000, entropy 1 500 to 2 000 (standard errors 40 for the first, 100
//! to 650 for the rest), for they go on checking. So repair-only is the default. Must not
//! look ahead.

/// How a belief is valued at the end of the lookahead, in minutes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Leaf {
    /// Acting without further checks: an upper bound that can be carried out.
    #[default]
    RepairOnly,
    /// `(1 - share) * repair-only + share * known`, where known is the mean over
    /// hypotheses of acting with that hypothesis certain.
    Interpolated {
        /// From 0 to 1.
        share: f64,
    },
    /// `min(repair-only, known + minutes_per_bit * bits left)`.
    Entropy {
        /// Minutes it takes, about, to learn one bit.
        minutes_per_bit: f64,
    },
}

impl Leaf {
    /// Value of a belief of any mass; `acting` and `known` are minutes times mass.
    pub(super) fn value(self, acting: f64, known: f64, belief: &[f64]) -> f64 {
        match self {
            Leaf::RepairOnly => acting,
            Leaf::Interpolated { share } => acting - share * (acting - known).max(0.0),
            Leaf::Entropy { minutes_per_bit } => acting.min(known + minutes_per_bit * bits(belief)),
        }
    }
}

/// Bits left, times mass.
pub(super) fn bits(belief: &[f64]) -> f64 {
    let mass: f64 = belief.iter().sum();
    if mass <= 0.0 {
        return 0.0;
    }
    let terms = belief.iter().filter(|&&b| b > 0.0);
    terms.map(|&b| -b * (b / mass).log2()).sum()
}
