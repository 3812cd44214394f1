//! Draws from a seeded generator: the only source of chance in a simulation.
//!
//! Every job has a stream of its own, so that its draws do not depend on other jobs. Must not
//! know what is drawn.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A seeded generator with the draws a simulation needs.
#[derive(Debug, Clone)]
pub struct Luck(ChaCha8Rng);

impl Luck {
    /// The stream of one job, or of one shop.
    #[must_use]
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(stream);
        Self(random)
    }

    /// A number in `[0, 1)`.
    pub fn share(&mut self) -> f64 {
        self.0.random::<f64>()
    }

    /// True with this chance.
    pub fn happens(&mut self, chance: f64) -> bool {
        self.share() < chance
    }

    /// A position among weights that need not add to one; the last where all are nought.
    pub fn position(&mut self, weights: &[f64]) -> usize {
        let total: f64 = weights.iter().sum();
        let mut left = self.share() * total;
        for (at, weight) in weights.iter().enumerate() {
            left -= weight;
            if left < 0.0 {
                return at;
            }
        }
        let positive = weights.iter().rposition(|w| *w > 0.0);
        positive.unwrap_or(weights.len().saturating_sub(1))
    }

    /// A position below `n`, all alike.
    pub fn one_of(&mut self, n: usize) -> usize {
        #[expect(clippy::cast_precision_loss, reason = "short lists")]
        let at = (self.share() * n as f64) as usize;
        at.min(n.saturating_sub(1))
    }

    /// A normal number (Box and Muller 1958).
    pub fn normal(&mut self, mean: f64, sd: f64) -> f64 {
        let radius = (-2.0 * (1.0 - self.share()).ln()).sqrt();
        mean + sd * radius * (std::f64::consts::TAU * self.share()).cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: shares of the weights, within four standard errors of 20 000 draws.
    #[test]
    fn positions_come_as_often_as_their_weights_say() {
        let mut luck = Luck::new(7, 0);
        let mut seen = [0_u32; 3];
        for _ in 0..20_000 {
            seen[luck.position(&[1.0, 0.0, 3.0])] += 1;
        }
        assert_eq!(seen[1], 0);
        assert!((f64::from(seen[0]) / 20_000.0 - 0.25).abs() < 0.0123);
    }

    #[test]
    fn streams_differ_and_repeat() {
        let first = |stream| Luck::new(1, stream).share().to_bits();
        assert_eq!(first(3), first(3));
        assert_ne!(first(3), first(4));
    }
}
