//! Figures of the timing model and the law of one trial. Must not know cylinders or verdicts.
//!
//! `log y = log nominal + shift + u + e + B·x`: `shift ~ N(0, kap)` shared by the set;
//! `u ~ N(0, tau)` for a sound plug and `dmin + Exp(dmean) + N(0, tau)` for a slow one;
//! `e ~ N(0, sig)`; `B ~ Bernoulli(eps)`, `x ~ Exp(lam)`: a bad contact only delays. Exponential
//! laws are given by their means.

use statrs::function::erf::erfc;

use super::readings::{Observed, TrialsError};

/// The figures of the timing model. All scales are in log units (0.05 is about 5 %).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Spread of repeats on one plug.
    pub sig: f64,
    /// Spread of sound plugs of one set.
    pub tau: f64,
    /// Spread of a set about its catalogue time.
    pub kap: f64,
    /// Chance that a trial met a bad contact.
    pub eps: f64,
    /// Mean delay of a bad contact.
    pub lam: f64,
    /// Chance that a plug is slow.
    pub pslow: f64,
    /// Least delay of a slow plug.
    pub dmin: f64,
    /// Mean of its further delay.
    pub dmean: f64,
    /// Chance that a trial is anything at all (stopwatch slip, wrong plug), so that no single
    /// reading proves more than this lets it.
    pub wild: f64,
    /// Chance that the set keeps no listed time at all.
    pub unlisted: f64,
}

impl Default for Figures {
    /// Own judgement: within-plug spread 5–8 %, between sound plugs 6–10 %, bad contacts in 5–15
    /// of 100 trials with clip leads, slow plugs 1.4 to 3 times the others.
    fn default() -> Self {
        Figures {
            sig: 0.05,
            tau: 0.06,
            kap: 0.08,
            eps: 0.10,
            lam: 0.35,
            pslow: 0.12,
            dmin: 0.15,
            dmean: 0.35,
            wild: 0.000_5,
            unlisted: 0.003,
        }
    }
}

/// Times to glow that sets of plugs are made for, with their weights.
#[derive(Debug, Clone, PartialEq)]
pub struct Catalogue {
    /// Seconds and weight; weights need not sum to one.
    pub nominals: Vec<(f64, f64)>,
}

impl Default for Catalogue {
    /// 6, 8 and 11 s. Own judgement.
    fn default() -> Self {
        Catalogue {
            nominals: vec![(6.0, 0.3), (8.0, 0.4), (11.0, 0.3)],
        }
    }
}

/// Centre (s) and log spread of the time of a set that keeps no listed time: quick types glow in
/// some 5 s, standard ones in up to 25 s (published plug data); the width is own judgement.
pub(super) const UNLISTED_SECONDS: f64 = 11.0;
pub(super) const UNLISTED_SPREAD: f64 = 0.6;

/// A wild reading is spread evenly in log time from 0.3 s to 300 s. Own judgement.
const WILD_FAST: f64 = 0.3;
const WILD_SLOW: f64 = 300.0;

/// `~ 8 s`: how much wider than a timed reading. Own judgement.
const ABOUT_WIDER: f64 = 2.0;

impl Figures {
    /// Every figure that cannot be used.
    pub(super) fn problems(&self) -> Vec<TrialsError> {
        let scales = [
            ("the spread of repeats", self.sig),
            ("the spread of sound plugs", self.tau),
            ("the spread of a set", self.kap),
            ("the mean delay of a bad contact", self.lam),
            ("the mean delay of a slow plug", self.dmean),
        ];
        let chances = [
            ("the chance of a bad contact", self.eps),
            ("the chance of a slow plug", self.pslow),
            ("the chance of an unlisted set", self.unlisted),
        ];
        // Beyond these bounds the grid would be too coarse or endless.
        let bad_scale = |v: f64| !(0.005..=5.0).contains(&v);
        let bad_chance = |v: f64| !(0.0..1.0).contains(&v);
        let scales = scales.into_iter().filter(|(_, v)| bad_scale(*v));
        let chances = chances.into_iter().filter(|(_, v)| bad_chance(*v));
        let mut problems: Vec<TrialsError> = scales
            .chain(chances)
            .map(|(what, value)| TrialsError::Figure { what, value })
            .collect();
        // Without any chance of a wild reading one slip could rule everything out.
        if !(1e-9..0.5).contains(&self.wild) {
            problems.push(TrialsError::Figure {
                what: "the chance of a wild reading",
                value: self.wild,
            });
        }
        if !(0.0..=5.0).contains(&self.dmin) {
            problems.push(TrialsError::Figure {
                what: "the least delay of a slow plug",
                value: self.dmin,
            });
        }
        problems
    }
}

impl Catalogue {
    /// Every nominal that cannot be used.
    pub(super) fn problems(&self) -> Vec<TrialsError> {
        let mut problems: Vec<TrialsError> = Vec::new();
        for &(seconds, weight) in &self.nominals {
            if !(0.5..=120.0).contains(&seconds) {
                problems.push(TrialsError::Figure {
                    what: "a catalogue time",
                    value: seconds,
                });
            }
            if !(weight >= 0.0 && weight.is_finite()) {
                problems.push(TrialsError::Figure {
                    what: "the weight of a catalogue time",
                    value: weight,
                });
            }
        }
        let total: f64 = self.nominals.iter().map(|n| n.1).sum();
        if problems.is_empty() && !(total > 0.0 && total.is_finite()) {
            problems.push(TrialsError::Figure {
                what: "the total weight of the catalogue",
                value: total,
            });
        }
        problems
    }
}

/// How likely a trial is, split by how it came about. Densities of log time, or chances where
/// the reading only bounds the time.
#[derive(Debug, Clone, Copy)]
pub(super) struct Split {
    /// Good contact.
    pub clean: f64,
    /// Bad contact, which delayed it.
    pub contact: f64,
    /// Anything at all.
    pub wild: f64,
}

impl Split {
    pub(super) fn total(self) -> f64 {
        self.clean + self.contact + self.wild
    }

    pub(super) fn odd(self) -> f64 {
        self.contact + self.wild
    }
}

/// Law of a trial on a plug whose own log time is `level`, shifted by `-shift` in log time.
pub(super) fn trial(figures: &Figures, observed: Observed, shift: f64, level: f64) -> Split {
    let r = observed.seconds().ln() - shift - level;
    let (sig, lam) = (figures.sig, figures.lam);
    let width = WILD_SLOW.ln() - WILD_FAST.ln();
    let wild_above = ((WILD_SLOW.ln() - observed.seconds().ln()) / width).clamp(0.001, 1.0);
    let (clean, contact, wild) = match observed {
        Observed::Exact(_) => (normal(r, sig), delayed(r, sig, lam), 1.0 / width),
        Observed::About(_) => {
            let sig = sig * ABOUT_WIDER;
            (normal(r, sig), delayed(r, sig, lam), 1.0 / width)
        }
        Observed::Above(_) => (
            upper(r / sig),
            upper(r / sig) + lam * delayed(r, sig, lam),
            wild_above,
        ),
        Observed::Below(_) => (
            upper(-r / sig),
            (upper(-r / sig) - lam * delayed(r, sig, lam)).max(0.0),
            (1.0 - wild_above).max(0.001),
        ),
    };
    let sane = 1.0 - figures.wild;
    Split {
        clean: sane * (1.0 - figures.eps) * clean,
        contact: sane * figures.eps * contact,
        wild: figures.wild * wild,
    }
}

/// Chance that a plug that cannot glow is recorded as glowing (the wrong one was watched). Own
/// judgement.
const DEAD_SEEN_TO_GLOW: f64 = 0.01;

/// Law of a trial on a plug that cannot glow: no glow within any time, but for a slip, which is
/// spread as a wild reading.
pub(super) fn never(figures: &Figures, observed: Observed) -> f64 {
    let slip = DEAD_SEEN_TO_GLOW.max(figures.wild);
    let width = WILD_SLOW.ln() - WILD_FAST.ln();
    let above = ((WILD_SLOW.ln() - observed.seconds().ln()) / width).clamp(0.001, 1.0);
    match observed {
        Observed::Exact(_) | Observed::About(_) => slip / width,
        Observed::Above(_) => 1.0 - slip + slip * above,
        Observed::Below(_) => slip * (1.0 - above).max(0.001),
    }
}

/// Density of `N(0, s)` at `x`.
pub(super) fn normal(x: f64, s: f64) -> f64 {
    (-0.5 * (x / s).powi(2)).exp() / (s * (2.0 * std::f64::consts::PI).sqrt())
}

/// `P(Z > z)` of the standard normal.
pub(super) fn upper(z: f64) -> f64 {
    0.5 * erfc(z / std::f64::consts::SQRT_2)
}

/// Density at `x` of `Exp(mean) + N(0, s)`:
/// `exp(s²/2m² − x/m) · Φ(x/s − s/m) / m`. The exponent is bounded where Φ is not yet zero.
pub(super) fn delayed(x: f64, s: f64, mean: f64) -> f64 {
    let tail = upper(s / mean - x / s);
    if tail == 0.0 {
        return 0.0;
    }
    (s * s / (2.0 * mean * mean) - x / mean).exp() * tail / mean
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: each law integrates to one, and a bound is the integral of the density.
    #[test]
    fn densities_sum_to_one_and_bounds_are_their_integrals() {
        let figures = Figures {
            wild: 0.0,
            ..Figures::default()
        };
        let step = 1e-3;
        let times: Vec<f64> = (-4000..9000).map(|k| f64::from(k) * step).collect();
        let density = |y: f64| trial(&figures, Observed::Exact(y.exp()), 0.0, 2.0).total();
        let total: f64 = times.iter().map(|&y| density(y) * step).sum();
        assert!((total - 1.0).abs() < 1e-9, "{total}");
        for bound in [1.5_f64, 2.0, 2.05, 2.4, 3.0] {
            let beyond = |y: &&f64| **y > bound;
            let area: f64 = times
                .iter()
                .filter(beyond)
                .map(|&y| density(y) * step)
                .sum();
            let above = trial(&figures, Observed::Above(bound.exp()), 0.0, 2.0).total();
            let below = trial(&figures, Observed::Below(bound.exp()), 0.0, 2.0).total();
            assert!((area - above).abs() < 5e-3, "{bound}: {area} {above}");
            assert!((above + below - 1.0).abs() < 1e-12);
        }
    }
}
