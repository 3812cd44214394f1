//! Sums over jobs that a round of fitting rests on: parts of a run merge to the whole, bit for bit.
//!
//! Must not know where jobs come from.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::learning::exact_sum::ExactSum;
use crate::network::build::RootContext;

/// Schema of counts.
pub const SCHEMA: &str = "hardstart/fit_counts/1";

/// A context of starting chances, so that it can be a key of JSON.
fn key(context: &RootContext) -> String {
    let others = context.contexts.iter().filter(|c| !c.starts_with("shop:"));
    let others = others.cloned().collect::<Vec<_>>().join("+");
    format!(
        "{}|{}|{}|{others}",
        context.band, context.chamber, context.preheat
    )
}

/// The context of a key; `None` for what is no key.
#[must_use]
pub fn context(key: &str) -> Option<RootContext> {
    let [band, chamber, preheat, others] = key.split('|').collect::<Vec<_>>()[..] else {
        return None;
    };
    let others = others
        .split('+')
        .filter(|o| !o.is_empty())
        .map(str::to_owned);
    Some(RootContext {
        band: band.to_owned(),
        chamber: chamber.to_owned(),
        preheat: preheat.to_owned(),
        contexts: others.collect(),
    })
}

/// By shop, then by name.
type ByShop<T> = BTreeMap<String, BTreeMap<String, T>>;

/// The sums.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Counts {
    /// [`SCHEMA`].
    pub schema: String,
    /// Hash of the figures that are fitted.
    pub over: String,
    /// Hash of the figures under which the jobs were counted.
    pub under: String,
    /// Hashes of the files of jobs, or of their parts.
    pub data: Vec<String>,
    /// Rounds made before this one.
    pub rounds: u32,
    /// Jobs counted.
    pub jobs: u64,
    /// Jobs left out, by reason.
    pub left_out: BTreeMap<String, u64>,
    /// Jobs counted, by kind of engine.
    pub engines: BTreeMap<String, u64>,
    /// Jobs counted, by shop; those that name none under the empty name.
    pub shops: BTreeMap<String, u64>,
    /// First and last day among the jobs.
    pub days: Option<(String, String)>,
    /// Log likelihood of the jobs under those figures.
    pub log_likelihood: ExactSum,
    /// Expected cases of each fault, those of engines without a complaint among them.
    pub cases: ByShop<ExactSum>,
    /// Expected uses of the starting chances of each part, by context.
    pub uses: ByShop<BTreeMap<String, ExactSum>>,
    /// Of faults that are there: found, and missed.
    pub found: BTreeMap<String, [ExactSum; 2]>,
    /// Of findings with a proof: wrong, and right.
    pub wrong: BTreeMap<String, [ExactSum; 2]>,
    /// Products of the derivatives of each job by two log-odds that are fitted, lower triangle:
    /// weights of the starter's faults, chances of being confirmed, chances of a wrong name.
    pub information: Vec<ExactSum>,
    /// Derivative by the log-odds of a shop's system, and its square, summed over jobs.
    pub shop_slopes: ByShop<[ExactSum; 2]>,
}

/// What one job adds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct JobCounts {
    /// Shop, empty if it names none.
    pub shop: String,
    /// Kind of engine.
    pub engine: String,
    /// Day.
    pub day: Option<String>,
    /// Log likelihood.
    pub log_likelihood: f64,
    /// Cases by fault.
    pub cases: BTreeMap<String, f64>,
    /// Uses by context and part.
    pub uses: BTreeMap<RootContext, BTreeMap<String, f64>>,
    /// Found and missed.
    pub found: BTreeMap<String, [f64; 2]>,
    /// Wrong and right.
    pub wrong: BTreeMap<String, [f64; 2]>,
    /// Derivative by each log-odds that is fitted: weights of the starter's faults, chances of
    /// being confirmed, chances of a wrong name.
    pub slopes: Vec<f64>,
    /// Derivative by the log-odds of each system.
    pub system_slopes: BTreeMap<String, f64>,
}

impl Counts {
    /// Adds a job.
    pub fn add(&mut self, job: &JobCounts) {
        self.jobs += 1;
        *self.engines.entry(job.engine.clone()).or_insert(0) += 1;
        *self.shops.entry(job.shop.clone()).or_insert(0) += 1;
        if let Some(day) = &job.day {
            self.day(day, day);
        }
        self.log_likelihood.add(job.log_likelihood);
        let cases = self.cases.entry(job.shop.clone()).or_default();
        for (fault, n) in &job.cases {
            cases.entry(fault.clone()).or_default().add(*n);
        }
        let uses = self.uses.entry(job.shop.clone()).or_default();
        for (context, parts) in &job.uses {
            let uses = uses.entry(key(context)).or_default();
            for (part, n) in parts {
                uses.entry(part.clone()).or_default().add(*n);
            }
        }
        pairs(&mut self.found, &job.found);
        pairs(&mut self.wrong, &job.wrong);
        let n = job.slopes.len();
        self.information
            .resize(n * (n + 1) / 2, ExactSum::default());
        let mut at = 0;
        for (i, a) in job.slopes.iter().enumerate() {
            let row = &mut self.information[at..=at + i];
            at += row.len();
            if *a != 0.0 {
                let sums = row.iter_mut().zip(&job.slopes);
                sums.for_each(|(sum, b)| sum.add(a * b));
            }
        }
        let slopes = self.shop_slopes.entry(job.shop.clone()).or_default();
        for (system, slope) in &job.system_slopes {
            let sums = slopes.entry(system.clone()).or_default();
            sums[0].add(*slope);
            sums[1].add(slope * slope);
        }
    }

    /// A job that could not be counted.
    pub fn leave_out(&mut self, why: &str) {
        *self.left_out.entry(why.to_owned()).or_insert(0) += 1;
    }

    fn day(&mut self, first: &str, last: &str) {
        let days = self
            .days
            .get_or_insert_with(|| (first.to_owned(), last.to_owned()));
        if *first < *days.0 {
            first.clone_into(&mut days.0);
        }
        if *last > *days.1 {
            last.clone_into(&mut days.1);
        }
    }

    /// Adds the counts of another part of the same run.
    ///
    /// # Errors
    /// What differs, where the parts are not of one round over one set of figures.
    pub fn merge(&mut self, other: &Self) -> Result<(), &'static str> {
        if self.over != other.over {
            return Err("they were counted over different figures");
        }
        if self.under != other.under || self.rounds != other.rounds {
            return Err("they were counted in different rounds");
        }
        for hash in &other.data {
            if !self.data.contains(hash) {
                self.data.push(hash.clone());
            }
        }
        self.data.sort();
        self.jobs += other.jobs;
        let whole = |to: &mut BTreeMap<String, u64>, from: &BTreeMap<String, u64>| {
            from.iter()
                .for_each(|(k, n)| *to.entry(k.clone()).or_insert(0) += n);
        };
        whole(&mut self.left_out, &other.left_out);
        whole(&mut self.engines, &other.engines);
        whole(&mut self.shops, &other.shops);
        if let Some((first, last)) = &other.days {
            self.day(first, last);
        }
        self.log_likelihood.merge(other.log_likelihood);
        for (shop, from) in &other.cases {
            merge(self.cases.entry(shop.clone()).or_default(), from);
        }
        for (shop, contexts) in &other.uses {
            let to = self.uses.entry(shop.clone()).or_default();
            for (context, from) in contexts {
                merge(to.entry(context.clone()).or_default(), from);
            }
        }
        merge_pairs(&mut self.found, &other.found);
        merge_pairs(&mut self.wrong, &other.wrong);
        let n = self.information.len().max(other.information.len());
        self.information.resize(n, ExactSum::default());
        let parts = self.information.iter_mut().zip(&other.information);
        parts.for_each(|(to, from)| to.merge(*from));
        for (shop, from) in &other.shop_slopes {
            merge_pairs(self.shop_slopes.entry(shop.clone()).or_default(), from);
        }
        Ok(())
    }
}

fn pairs(to: &mut BTreeMap<String, [ExactSum; 2]>, from: &BTreeMap<String, [f64; 2]>) {
    for (id, pair) in from {
        let sums = to.entry(id.clone()).or_default();
        sums.iter_mut().zip(pair).for_each(|(sum, x)| sum.add(*x));
    }
}

fn merge(to: &mut BTreeMap<String, ExactSum>, from: &BTreeMap<String, ExactSum>) {
    from.iter()
        .for_each(|(id, sum)| to.entry(id.clone()).or_default().merge(*sum));
}

fn merge_pairs(to: &mut BTreeMap<String, [ExactSum; 2]>, from: &BTreeMap<String, [ExactSum; 2]>) {
    for (id, pair) in from {
        let sums = to.entry(id.clone()).or_default();
        sums.iter_mut().zip(pair).for_each(|(sum, x)| sum.merge(*x));
    }
}
