//! What things cost on this bench, all in minutes: what the job says, else what is usual.
//!
//! Must not know checks or repairs.

use crate::job::Bench;
use crate::knowledge::Risk;

/// Minutes a night's wait is worth when the bench does not say; own judgement.
const NIGHT: f64 = 60.0;
/// Minutes handing the job over is worth when the bench does not say; own judgement.
const HAND_OVER: f64 = 1000.0;
/// Minutes of a watched cold start that proves a repair; common practice, no source.
const PROOF: f64 = 10.0;
/// Minutes a job costs that comes back, when the bench does not say; own judgement.
const COME_BACK: f64 = 120.0;
/// Chance that an engine still faulty passes the cold start that should prove the repair, as in
/// a milder night; own judgement.
const WRONGLY_CURED: f64 = 0.1;
/// Minutes that one unit of the parts cost index (the price of an ordinary plug) is worth when
/// the bench does not say otherwise; own judgement.
const PLUG: f64 = 12.0;

/// Prices of one bench, minutes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prices {
    /// Waiting a night for a cold engine.
    pub night: f64,
    /// The cold start that proves a repair.
    pub proof: f64,
    /// Handing the job over.
    pub hand_over: f64,
    /// Expected cost of a repair that missed: the chance that it is thought to have cured, times
    /// what a job costs that comes back.
    pub missed: f64,
    /// The price of one ordinary plug.
    pub plug: f64,
    /// How much likelier than usual something breaks.
    pub breaking: f64,
}

impl Prices {
    /// The prices of a bench.
    #[must_use]
    pub fn of(bench: &Bench) -> Self {
        let plug = match (bench.plug_price, bench.minute_rate) {
            (Some(price), Some(rate)) if rate > 0.0 => price / rate,
            _ => PLUG,
        };
        Self {
            night: bench.night_minutes.unwrap_or(NIGHT),
            proof: PROOF,
            hand_over: bench.hand_over_minutes.unwrap_or(HAND_OVER),
            missed: WRONGLY_CURED * bench.come_back_minutes.unwrap_or(COME_BACK),
            plug,
            breaking: bench.break_factor.unwrap_or(1.0),
        }
    }

    /// Expected minutes of what something may break, once.
    #[must_use]
    pub fn damage(&self, risk: Option<&Risk>) -> f64 {
        risk.map_or(0.0, |r| (self.breaking * r.chance).min(1.0) * r.minutes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a plug of 8 at 0.5 a minute is 16 minutes; a risk of 0.3 of 100 minutes, four
    /// times likelier, is sure: 100; a tenth of 300 is 30.
    #[test]
    fn what_the_bench_says_is_what_is_reckoned_with() {
        let bench = Bench {
            minute_rate: Some(0.5),
            plug_price: Some(8.0),
            night_minutes: Some(5.0),
            break_factor: Some(4.0),
            come_back_minutes: Some(300.0),
            hand_over_minutes: Some(77.0),
            ..Bench::default()
        };
        let prices = Prices::of(&bench);
        assert_eq!((prices.plug, prices.night), (16.0, 5.0));
        assert_eq!((prices.missed, prices.hand_over), (30.0, 77.0));
        let risk = Risk {
            what: "it snaps".to_owned(),
            chance: 0.3,
            minutes: 100.0,
        };
        assert_eq!(prices.damage(Some(&risk)), 100.0);
        assert_eq!(prices.damage(None), 0.0);
    }
}
