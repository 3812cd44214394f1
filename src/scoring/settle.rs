//! Minutes to settle under the suggested order, on a sample of jobs.
//!
//! A sampled job is played again from its first look: of the checks it holds a result of, the one
//! suggested first is taken next, until the suggestion is to act. What a check that is not on
//! record would have shown nobody knows, so such a check is passed over and counted. Minutes are
//! those of the checks themselves, as prices have them; opening up is not counted. Must not score
//! chances, and must not see entries after the first work.

use rayon::prelude::*;

use super::interval::{Interval, percentiles};
use super::take::{AsOf, take};
use crate::evidence::gather;
use crate::job::{EntryBody, Job};
use crate::knowledge::Knowledge;
use crate::learning::simulate::Luck;
use crate::planning::bench::{MoveKind, next};

/// Draws of the resampling.
const DRAWS: usize = 1000;
const CONFIDENCE: f64 = 0.95;

/// A sample of so many jobs of a stream, the same whatever it is read in.
#[derive(Debug, Clone)]
pub struct Sample {
    most: usize,
    seed: u64,
    /// Rank drawn for a job, its place, the job; the lowest ranks stay.
    kept: Vec<(f64, u64, Job)>,
}

impl Sample {
    /// At most `most` jobs.
    #[must_use]
    pub fn new(most: usize, seed: u64) -> Self {
        Self {
            most,
            seed,
            kept: Vec::new(),
        }
    }

    /// Offers job number `at` of the whole input.
    pub fn offer(&mut self, at: u64, job: &Job) {
        if self.most == 0 {
            return;
        }
        let rank = Luck::new(self.seed, at).share();
        let place = self.kept.partition_point(|k| (k.0, k.1) < (rank, at));
        if place < self.most {
            self.kept.insert(place, (rank, at, job.clone()));
            self.kept.truncate(self.most);
        }
    }

    /// Plays the sampled jobs again.
    #[must_use]
    pub fn settle(&self, knowledge: &Knowledge) -> Settling {
        let mut kept = self.kept.iter().collect::<Vec<_>>();
        kept.sort_by_key(|k| k.1);
        let played = kept.par_iter().map(|k| play(knowledge, &k.2));
        Settling::of(&played.collect::<Vec<_>>())
    }
}

/// One job played again.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Played {
    /// Minutes of the checks taken in the suggested order.
    pub minutes: f64,
    /// Checks taken.
    pub checks: usize,
    /// Minutes of all checks on record.
    pub on_record: f64,
    /// Suggested before one that was taken, and not on record.
    pub passed: usize,
    /// The suggestion came to act before the record ran out.
    pub settled: bool,
    /// It could not be reckoned.
    pub failed: bool,
}

/// A sample played again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settling {
    /// Jobs played.
    pub jobs: usize,
    /// Those that could not be reckoned.
    pub failed: usize,
    /// Those settled before the record ran out.
    pub settled: usize,
    /// Mean minutes of checks of those settled.
    pub minutes: f64,
    /// Its 95 % interval over jobs.
    pub interval: Interval,
    /// Mean number of checks of those settled.
    pub checks: f64,
    /// Mean minutes of all checks on record of those settled.
    pub on_record: f64,
    /// Mean number of suggested checks that were passed over, all jobs.
    pub passed: f64,
}

/// Checks a job has results of, in the order of the file.
fn checks_of(job: &Job) -> Vec<String> {
    let mut checks: Vec<String> = Vec::new();
    for entry in job.entries.iter().filter(|e| e.is_used()) {
        if let EntryBody::Reading(reading) = &entry.body
            && !checks.contains(&reading.check)
        {
            checks.push(reading.check.clone());
        }
    }
    checks
}

/// Plays one job again.
#[must_use]
pub fn play(knowledge: &Knowledge, job: &Job) -> Played {
    let whole = take(job, AsOf::BeforeRepair).job;
    let mut left = checks_of(&whole);
    let minutes = |id: &str| {
        let check = knowledge.checks.iter().find(|c| c.id.get_ref() == id);
        check.map_or(0.0, |c| c.minutes)
    };
    let mut played = Played {
        on_record: left.iter().map(|c| minutes(c)).sum(),
        ..Played::default()
    };
    loop {
        // What is known so far: all but the readings of checks that were not taken yet.
        let mut now = whole.clone();
        now.entries.retain(|e| match &e.body {
            EntryBody::Reading(reading) => !left.contains(&reading.check),
            _ => true,
        });
        let found = gather(knowledge, &now)
            .ok()
            .and_then(|evidence| next(knowledge, &now, &evidence).ok());
        let Some(next) = found else {
            played.failed = true;
            return played;
        };
        let acts = next
            .moves
            .first()
            .is_none_or(|m| m.kind == MoveKind::Repair || m.kind == MoveKind::HandOver);
        if next.stop || acts {
            played.settled = true;
            return played;
        }
        let checks = next.moves.iter().filter(|m| m.kind == MoveKind::Check);
        let taken = checks.enumerate().find_map(|(at, m)| {
            let on_record = left.iter().position(|c| *c == m.id)?;
            Some((at, on_record))
        });
        // Nothing that is suggested is on record.
        let Some((before, at)) = taken else {
            return played;
        };
        let check = left.remove(at);
        played.minutes += minutes(&check);
        played.checks += 1;
        played.passed += before;
    }
}

impl Settling {
    /// Of jobs played again.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a sample of jobs")]
    pub fn of(played: &[Played]) -> Self {
        let settled = played.iter().filter(|p| p.settled).collect::<Vec<_>>();
        let n = settled.len();
        let mean = |of: &dyn Fn(&Played) -> f64| {
            settled.iter().map(|p| of(p)).sum::<f64>() / n.max(1) as f64
        };
        let mut luck = Luck::new(n as u64, 0);
        let draw = |_| {
            let drawn = (0..n).map(|_| settled[luck.one_of(n)].minutes);
            drawn.sum::<f64>() / n.max(1) as f64
        };
        let mut drawn = (0..DRAWS).map(draw).collect::<Vec<_>>();
        Self {
            jobs: played.len(),
            failed: played.iter().filter(|p| p.failed).count(),
            settled: n,
            minutes: mean(&|p| p.minutes),
            interval: percentiles(&mut drawn, CONFIDENCE),
            checks: mean(&|p| p.checks as f64),
            on_record: mean(&|p| p.on_record),
            passed: played.iter().map(|p| p.passed as f64).sum::<f64>()
                / played.len().max(1) as f64,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::{KnowledgeFiles, load};
    use crate::learning::simulate::{SimulationSettings, Simulator};

    /// Expected: the sample does not depend on the order of the jobs, and never takes more
    /// minutes than all checks on record.
    #[test]
    fn a_sample_is_played_again_from_its_first_look() {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let simulator = Simulator::new(&knowledge, SimulationSettings::plain(3));
        let jobs = (0..12).map(|n| simulator.job(n).unwrap().job);
        let jobs = jobs.collect::<Vec<_>>();
        let (mut up, mut down) = (Sample::new(3, 1), Sample::new(3, 1));
        for (at, job) in jobs.iter().enumerate() {
            up.offer(at as u64, job);
        }
        for (at, job) in jobs.iter().enumerate().rev() {
            down.offer(at as u64, job);
        }
        let found = up.settle(&knowledge);
        assert_eq!(found, down.settle(&knowledge));
        assert_eq!(found.jobs, 3);
        assert_eq!(found.failed, 0);
        assert!(found.minutes <= found.on_record);
    }

    /// Expected values by hand.
    #[test]
    fn means_are_over_the_settled() {
        let one = |minutes, settled| Played {
            minutes,
            checks: 2,
            on_record: 30.0,
            passed: 1,
            settled,
            failed: false,
        };
        let found = Settling::of(&[one(10.0, true), one(20.0, true), one(99.0, false)]);
        assert_eq!((found.jobs, found.settled), (3, 2));
        assert!((found.minutes - 15.0).abs() < 1e-12);
        assert!(found.interval.low >= 10.0 && found.interval.high <= 20.0);
    }
}
