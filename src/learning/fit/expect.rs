//! Jobs into counts under the present figures: the expectation of a round.
//!
//! For each job two programs are asked for the families of all parts: one with what was seen, read
//! and found, one with the complaint alone. Engines that never complained are counted as
//! (Dempster, Laird and Rubin 1977, truncated data)
//!
//! ```text
//! cases = E[cases | everything] + E[cases] / P(complaint) - E[cases | complaint]
//! ```
//! Must not change figures, read files, or sum in an order that depends on threads.

use std::collections::BTreeMap;
use std::sync::Arc;

use rayon::prelude::*;

use super::apart::{self, Further};
use super::copies::{Copy, copies};
use super::counts::{Counts, JobCounts, SCHEMA};
use super::moved::{EDGE, Moved, Starter};
use super::terms::{Said, Terms, Way};
use crate::evidence::{Case, Evidence, gather};
use crate::job::{Job, Wiring, shop};
use crate::knowledge::Knowledge;
use crate::learning::take::{AsOf, bare, bare_key, take};
use crate::network::build::RootContext;
use crate::network::{Answers, KernelError, Pool, PoolBatch, PoolError, Ticket};

/// Tries of the search for an order, as for scoring.
const RESTARTS: usize = 4;

/// Expectation under one set of figures.
#[derive(Debug)]
pub struct Expectation<'k> {
    starter: &'k Starter,
    over: String,
    now: Knowledge,
    moved: Moved,
    pool: &'k Pool,
}

/// A case with its lane taken into a batch.
struct Ready {
    case: Arc<Case>,
    ticket: Ticket,
    /// A way in which the findings are told apart; none for the complaint alone.
    way: Option<Arc<Way>>,
    further: Further,
    context: RootContext,
}

/// What one case says, beside its weight.
struct Told {
    share: f64,
    way: Option<Arc<Way>>,
    context: RootContext,
    /// For each copy: uses, cases, chance of each fault, starting chances.
    copies: Vec<CopyTold>,
}

struct CopyTold {
    part: String,
    faults: Vec<crate::network::build::FaultVariable>,
    uses: f64,
    cases: Vec<f64>,
    there: Vec<f64>,
    chances: Vec<f64>,
    /// Uses and cases before anything is known.
    before: (f64, Vec<f64>),
}

/// Everything about one side of a job: log of its chance, and its cases.
struct Side {
    log: f64,
    cases: Vec<Told>,
    /// Chances of the kinds before anything is known.
    weights: Vec<f64>,
}

impl<'k> Expectation<'k> {
    /// Under `moved`, over the starter's figures. Programs are kept in the pool from round to
    /// round: figures are inputs of them.
    #[must_use]
    pub fn new(knowledge: &Knowledge, starter: &'k Starter, moved: &Moved, pool: &'k Pool) -> Self {
        Self {
            starter,
            over: knowledge.sha256.clone(),
            now: moved.over(knowledge, starter),
            moved: moved.clone(),
            pool,
        }
    }

    /// Empty counts of this round.
    #[must_use]
    pub fn nothing(&self, rounds: u32) -> Counts {
        Counts {
            schema: SCHEMA.to_owned(),
            over: self.over.clone(),
            under: super::layer::hash(&self.moved),
            rounds,
            ..Counts::default()
        }
    }

    /// Adds jobs to counts, in their order.
    pub fn count(&self, jobs: &[&Job], counts: &mut Counts) {
        let batch = self.pool.batch();
        let taken = jobs
            .iter()
            .map(|j| take(j, AsOf::BeforeRepair).job)
            .collect::<Vec<_>>();
        let terms = jobs
            .iter()
            .map(|j| Terms::of(j, &self.now))
            .collect::<Vec<_>>();
        let keys = taken.iter().map(bare_key).collect::<Vec<_>>();
        let mut known: BTreeMap<&String, usize> = BTreeMap::new();
        let mut alone = Vec::new();
        for (key, job) in keys.iter().zip(&taken) {
            known.entry(key).or_insert_with(|| {
                alone.push(bare(job));
                alone.len() - 1
            });
        }
        let full = taken.par_iter().zip(&terms);
        let full = full.map(|(job, terms)| self.ready(job, Some(terms), &batch));
        let full = full.collect::<Vec<_>>();
        let alone = alone.par_iter().map(|job| self.ready(job, None, &batch));
        let alone = alone.collect::<Vec<_>>();
        let all = full.iter().chain(&alone).flatten().flatten();
        let answers = batch.run(all.map(|r| r.ticket.clone()).collect());
        let mut answers = answers.into_iter();
        let mut asked = |ready: Result<Vec<Ready>, &'static str>| {
            ready.map(|ready| {
                let own = answers.by_ref().take(ready.len()).collect::<Vec<_>>();
                (ready, own)
            })
        };
        let full = full.into_iter().map(&mut asked).collect::<Vec<_>>();
        let alone = alone.into_iter().map(&mut asked).collect::<Vec<_>>();
        let side = |asked: Result<(Vec<Ready>, Vec<_>), &'static str>| {
            let (ready, answers) = asked?;
            self.side(&ready, answers)
        };
        let full = full.into_par_iter().map(side).collect::<Vec<_>>();
        let alone = alone.into_par_iter().map(side).collect::<Vec<_>>();
        let zipped = jobs.par_iter().zip(full.par_iter().zip(&keys));
        let found = zipped.map(|(job, (full, key))| {
            let complaint = alone[known[key]].as_ref().map_err(|why| *why)?;
            let full = full.as_ref().map_err(|why| *why)?;
            Ok(self.one(job, full, complaint))
        });
        for job in found.collect::<Vec<Result<JobCounts, &'static str>>>() {
            match job {
                Ok(job) => counts.add(&job),
                Err(why) => counts.leave_out(why),
            }
        }
    }

    fn ready(
        &self,
        job: &Job,
        terms: Option<&Terms>,
        batch: &PoolBatch<'_>,
    ) -> Result<Vec<Ready>, &'static str> {
        let evidence: Evidence = gather(&self.now, job).map_err(|_| "no_network")?;
        let (temperature, contexts) = (evidence.temperature, evidence.contexts);
        let band = crate::network::build::band(&self.now, temperature).to_owned();
        let series = job.engine.preheat_wiring == Wiring::Series;
        let ways = terms.map_or_else(|| vec![None], |t| t.ways().into_iter().map(Some).collect());
        let ways = ways
            .into_iter()
            .map(|w| w.map(Arc::new))
            .collect::<Vec<_>>();
        let mut list = Vec::new();
        for case in evidence.cases {
            let case = Arc::new(case);
            let preheat = if case.preheat == "plugs" && series {
                "plugs_series"
            } else {
                &case.preheat
            };
            let context = RootContext {
                band: band.clone(),
                chamber: case.chamber.clone(),
                preheat: preheat.to_owned(),
                contexts: contexts.clone(),
            };
            let usual = context.unmoved(&self.now);
            let queries = copies(&self.now, &case.model);
            let queries = queries.iter().map(Copy::query).collect::<Vec<_>>();
            for way in &ways {
                let further = way
                    .as_ref()
                    .map(|t| t.slots(&case.model, &self.moved, &usual));
                let further: Further = further.unwrap_or_default();
                let (request, lane) = case.merged_with(further.clone(), queries.clone(), RESTARTS);
                list.push(Ready {
                    ticket: batch.take(case.model.network.clone(), request, lane),
                    case: Arc::clone(&case),
                    way: way.clone(),
                    further,
                    context: context.clone(),
                });
            }
        }
        Ok(list)
    }

    fn side(
        &self,
        ready: &[Ready],
        answers: Vec<Result<Answers, PoolError>>,
    ) -> Result<Side, &'static str> {
        let mut good = Vec::new();
        for (ready, answer) in ready.iter().zip(answers) {
            let answer = match answer {
                Err(PoolError::Compile(_)) => {
                    let queries = copies(&self.now, &ready.case.model);
                    let queries = queries.iter().map(Copy::query).collect();
                    apart::answer(&ready.case, &ready.further, queries)
                }
                answer => answer,
            };
            match answer {
                Ok(answer) => good.push((ready, answer)),
                // A kind on which this cannot be seen is ruled out, the others are not.
                Err(PoolError::Kernel(KernelError::Impossible)) => {}
                Err(PoolError::Kernel(_)) => return Err("not_reckoned"),
                Err(PoolError::Compile(_)) => return Err("too_wide"),
            }
        }
        let log =
            |(ready, answer): &(&Ready, Answers)| ready.case.weight.ln() + answer.log_evidence;
        let most = good.iter().map(&log).fold(f64::NEG_INFINITY, f64::max);
        if most == f64::NEG_INFINITY {
            return Err("impossible");
        }
        let counts = |ready: &Ready| ready.way.as_ref().map_or(1.0, |way| way.counts);
        let share = |g: &(&Ready, Answers)| counts(g.0) * (log(g) - most).exp();
        let total: f64 = good.iter().map(share).sum();
        if total.is_nan() || total <= 0.0 {
            return Err("not_reckoned");
        }
        let cases = good.iter().map(|g| self.told(g.0, &g.1, share(g) / total));
        Ok(Side {
            log: most + total.ln(),
            cases: cases.collect(),
            weights: good.iter().map(|g| g.0.case.weight).collect(),
        })
    }

    fn told(&self, ready: &Ready, answer: &Answers, share: f64) -> Told {
        let network = &ready.case.model.network;
        let list = copies(&self.now, &ready.case.model);
        let copies = list.iter().zip(&answer.chances).map(|(copy, family)| {
            let (uses, cases) = copy.counted(family);
            CopyTold {
                part: copy.part.to_owned(),
                faults: copy.faults.iter().map(|f| (*f).clone()).collect(),
                uses,
                cases,
                there: copy.there(family),
                chances: copy.chances(network),
                before: copy.counted(&copy.before(network)),
            }
        });
        Told {
            share,
            way: ready.way.clone(),
            context: ready.context.clone(),
            copies: copies.collect(),
        }
    }

    fn one(&self, job: &Job, full: &Side, complaint: &Side) -> JobCounts {
        let mut counts = JobCounts {
            shop: shop(job).unwrap_or_default().to_owned(),
            engine: format!("{}/{}", job.engine.chamber.id(), job.engine.preheat.id()),
            day: job
                .entries
                .iter()
                .find_map(|e| e.at.as_ref())
                .map(|at| day(at)),
            log_likelihood: full.log - complaint.log,
            slopes: vec![0.0; self.starter.faults.len()],
            ..JobCounts::default()
        };
        for told in &full.cases {
            add(&mut counts, told, told.share, |c| (c.uses, &c.cases));
            self.labels(&mut counts, told);
        }
        let never = (-complaint.log).exp();
        for (told, weight) in complaint.cases.iter().zip(&complaint.weights) {
            add(&mut counts, told, weight * never, |c| {
                (c.before.0, &c.before.1)
            });
            add(&mut counts, told, -told.share, |c| (c.uses, &c.cases));
        }
        // Derivatives by log-weights: what is there beyond what the starting chances expect.
        let position = |id: &str| self.starter.faults.iter().position(|f| f.0 == id);
        let sides = full.cases.iter().map(|c| (c, 1.0));
        for (told, sign) in sides.chain(complaint.cases.iter().map(|c| (c, -1.0))) {
            for copy in &told.copies {
                for (at, fault) in copy.faults.iter().enumerate() {
                    let id = id_of(&copy.part, &fault.fault);
                    let beyond = copy.cases[at] - copy.uses * copy.chances[at];
                    let slope = sign * told.share * beyond;
                    if let Some(at) = position(&id) {
                        counts.slopes[at] += slope;
                    }
                    if let Some(system) = self.starter.system.get(&id) {
                        *counts.system_slopes.entry(system.clone()).or_insert(0.0) += slope;
                    }
                }
            }
        }
        // Derivatives by the log-odds of what labels are worth.
        let labels = [
            (
                &self.starter.confirmed,
                &self.moved.confirmed,
                &counts.found,
            ),
            (&self.starter.wrong, &self.moved.wrong, &counts.wrong),
        ];
        for (known, now, counted) in labels {
            for (id, pseudo) in known {
                let [hit, miss] = counted.get(id).copied().unwrap_or_default();
                let p = now.get(id).copied().unwrap_or(pseudo.p);
                counts.slopes.push(hit * (1.0 - p) - miss * p);
            }
        }
        counts
    }

    fn labels(&self, counts: &mut JobCounts, told: &Told) {
        let Some(way) = &told.way else {
            return;
        };
        for copy in &told.copies {
            for (fault, there) in copy.faults.iter().zip(&copy.there) {
                let id = id_of(&copy.part, &fault.fault);
                let there = told.share * there;
                let c = self.moved.confirmed.get(&id).copied();
                let mut found = |hit: f64, miss: f64| {
                    if c.is_some() {
                        let pair = counts.found.entry(id.clone()).or_insert([0.0; 2]);
                        pair[0] += hit;
                        pair[1] += miss;
                    }
                };
                let said = way.said(fault);
                let (wrong, proof) = match said {
                    Said::Named(proof) => (0.0, Some(proof)),
                    Said::NamedWrongly(proof) => (told.share, Some(proof)),
                    _ => (0.0, None),
                };
                if let Some(proof) = proof {
                    let pair = counts
                        .wrong
                        .entry(proof.id().to_owned())
                        .or_insert([0.0; 2]);
                    pair[0] += wrong;
                    pair[1] += told.share - wrong;
                }
                match said {
                    Said::Named(_) => found(there, 0.0),
                    Said::NamedWrongly(_) => found(0.0, there),
                    Said::NotNamed => {
                        let [hit, miss] = way.unnamed(c.unwrap_or(EDGE));
                        found(there * hit, there * miss);
                    }
                    Said::Refuted | Said::Nothing => {}
                }
            }
        }
    }
}

fn id_of(part: &str, fault: &str) -> String {
    format!("{part}.{fault}")
}

/// The day of a moment.
fn day(at: &str) -> String {
    at.chars().take("2024-01-31".len()).collect()
}

fn add<'t>(
    counts: &mut JobCounts,
    told: &'t Told,
    weight: f64,
    of: impl Fn(&'t CopyTold) -> (f64, &'t Vec<f64>),
) {
    for copy in &told.copies {
        let (uses, cases) = of(copy);
        let parts = counts.uses.entry(told.context.clone()).or_default();
        *parts.entry(copy.part.clone()).or_insert(0.0) += weight * uses;
        for (fault, n) in copy.faults.iter().zip(cases) {
            let id = id_of(&copy.part, &fault.fault);
            *counts.cases.entry(id).or_insert(0.0) += weight * n;
        }
    }
}
