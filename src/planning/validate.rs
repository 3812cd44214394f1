//! Says everything that is wrong with a problem's figures, at once.
//!
//! Must not change a problem or guess a missing figure.

use super::error::{Complaints, ProblemError};
use super::problem::{Hypotheses, Outcomes, Problem};

/// Most faults of [`Hypotheses::AnyFaults`]: 2^12 sets is where one table a check stops
/// being small (own judgement).
pub const MAX_INDEPENDENT_FAULTS: usize = 12;
/// Groups are kept as bits of one word.
pub(super) const MAX_GROUPS: usize = 64;
/// Readings are kept in one byte, with two values spoken for.
pub(super) const MAX_OUTCOMES: usize = 200;
/// How far a row of chances may be from summing to one: what figures written with six
/// decimals need.
const SUM_TOLERANCE: f64 = 1e-5;

/// Checks every figure of `problem`.
///
/// # Errors
/// [`ProblemError::Fields`] with every field that cannot be used.
pub(super) fn validate(problem: &Problem) -> Result<(), ProblemError> {
    let mut bad = Complaints::default();
    hypotheses(problem, &mut bad);
    checks(problem, &mut bad);
    for (i, r) in problem.repairs.iter().enumerate() {
        let path = format!("repairs[{i}]");
        cost(&mut bad, format!("{path}.cost"), r.minutes);
        groups(&mut bad, problem, &format!("{path}.group"), &r.access);
        length(
            &mut bad,
            format!("{path}.fix"),
            r.fix.len(),
            problem.faults.len(),
            "fault",
        );
        for (f, &p) in r.fix.iter().enumerate() {
            chance(&mut bad, || format!("{path}.fix[{f}]"), p);
        }
    }
    if problem.groups.len() > MAX_GROUPS {
        bad.add(
            "groups",
            "more than 64 groups",
            "merge groups that are opened together",
        );
    }
    for (i, g) in problem.groups.iter().enumerate() {
        cost(&mut bad, format!("groups[{i}].open_cost"), g.open_minutes);
    }
    cost(&mut bad, "verify_cost".into(), problem.verify_minutes);
    cost(&mut bad, "call_cost".into(), problem.hand_over_minutes);
    groups(&mut bad, problem, "verify_access", &problem.verify_access);
    groups(&mut bad, problem, "open_now", &problem.open_now);
    bad.into_result()
}

fn hypotheses(problem: &Problem, bad: &mut Complaints) {
    let n = problem.faults.len();
    if n == 0 {
        bad.add("faults", "no fault is listed", "list at least one");
    }
    match &problem.hypotheses {
        Hypotheses::OneFault { weights } => {
            length(bad, "faults".into(), weights.len(), n, "fault");
            for (i, &w) in weights.iter().enumerate() {
                chance(bad, || format!("faults[{i}].prior"), w);
            }
            let sum: f64 = weights.iter().sum();
            if (sum - 1.0).abs() > SUM_TOLERANCE {
                bad.add(
                    "faults",
                    format!("the chances sum to {sum}"),
                    "make them sum to 1",
                );
            }
        }
        Hypotheses::AnyFaults { chances } => {
            length(bad, "faults".into(), chances.len(), n, "fault");
            if chances.len() > MAX_INDEPENDENT_FAULTS {
                let what = format!("{} independent faults", chances.len());
                bad.add(
                    "faults",
                    what,
                    "list the likely sets instead (model listed)",
                );
            }
            for (i, &p) in chances.iter().enumerate() {
                chance(bad, || format!("faults[{i}].prior"), p);
            }
            if chances.iter().all(|&p| p == 0.0) {
                bad.add("faults", "every chance is 0", "give one fault a chance");
            }
        }
        Hypotheses::Listed(list) => {
            for (i, h) in list.iter().enumerate() {
                cost(bad, format!("hypotheses[{i}].weight"), h.weight);
                if h.faults.iter().any(|&f| f >= n) {
                    let path = format!("hypotheses[{i}].faults");
                    bad.add(path, "no such fault", "use indices into faults");
                }
                if h.faults.windows(2).any(|w| w[0] >= w[1]) {
                    let path = format!("hypotheses[{i}].faults");
                    bad.add(path, "not ascending", "list each fault once, in order");
                }
            }
            if list.iter().map(|h| h.weight).sum::<f64>() <= 0.0 {
                bad.add(
                    "hypotheses",
                    "no weight at all",
                    "give one a weight above 0",
                );
            }
            closed_under_repair(problem, list.iter().map(|h| h.faults.as_slice()), bad);
        }
    }
}

/// Whatever repairs can leave must be listed, or nothing could be said about it.
fn closed_under_repair<'a>(
    problem: &Problem,
    list: impl Iterator<Item = &'a [usize]>,
    bad: &mut Complaints,
) {
    let mut sets: Vec<(&[usize], usize)> = list.enumerate().map(|(i, s)| (s, i)).collect();
    sets.sort_unstable();
    for w in sets.windows(2) {
        if w[0].0 == w[1].0 {
            let path = format!("hypotheses[{}].faults", w[1].1);
            bad.add(path, "listed twice", "list each set once");
        }
    }
    let fixable = |f: usize| {
        let some = |r: &super::problem::Repair| r.fix.get(f).is_some_and(|&p| p > 0.0);
        problem.repairs.iter().any(some)
    };
    for &(set, i) in &sets {
        for (k, &f) in set.iter().enumerate() {
            if set.len() < 2 || !fixable(f) {
                continue;
            }
            let mut left = set.to_vec();
            left.remove(k);
            if sets.binary_search_by(|(s, _)| (*s).cmp(&left)).is_err() {
                bad.add(
                    format!("hypotheses[{i}].faults"),
                    format!("removing fault {f} leaves a set that is not listed"),
                    "list it, with weight 0 if need be",
                );
            }
        }
    }
}

fn checks(problem: &Problem, bad: &mut Complaints) {
    let n = problem.hypothesis_count();
    for (i, c) in problem.checks.iter().enumerate() {
        let path = format!("tests[{i}]");
        cost(bad, format!("{path}.cost"), c.minutes);
        cost(bad, format!("{path}.repeat_cost"), c.repeat_minutes);
        chance(bad, || format!("{path}.persist"), c.persist);
        groups(bad, problem, &format!("{path}.group"), &c.access);
        groups(bad, problem, &format!("{path}.closes"), &c.closes);
        if !(1..=2).contains(&c.max_times) {
            let what = format!("{} times", c.max_times);
            bad.add(format!("{path}.max_times"), what, "use 1 or 2");
        }
        if !c.risk.is_empty() {
            length(bad, format!("{path}.risk"), c.risk.len(), n, "hypothesis");
        }
        for (h, &r) in c.risk.iter().enumerate() {
            cost(bad, format!("{path}.risk[{h}]"), r);
        }
        let outcomes = match &c.outcomes {
            Outcomes::Table { outcomes, chances } => {
                table(bad, &path, n, *outcomes, chances);
                *outcomes
            }
            Outcomes::NoisyOr { leak, link } => {
                chance(bad, || format!("{path}.leak"), *leak);
                let faults = problem.faults.len();
                length(bad, format!("{path}.link"), link.len(), faults, "fault");
                for (f, &p) in link.iter().enumerate() {
                    chance(bad, || format!("{path}.link[{f}]"), p);
                }
                2
            }
        };
        if !c.outcome_names.is_empty() {
            let path = format!("{path}.outcomes");
            length(bad, path, c.outcome_names.len(), outcomes, "outcome");
        }
    }
}

fn table(bad: &mut Complaints, path: &str, n: usize, outcomes: usize, chances: &[f64]) {
    if outcomes == 0 || outcomes > MAX_OUTCOMES {
        let what = format!("{outcomes} outcomes");
        bad.add(format!("{path}.lik"), what, "use 1 to 200 outcomes");
        return;
    }
    length(
        bad,
        format!("{path}.lik"),
        chances.len(),
        n * outcomes,
        "hypothesis and outcome",
    );
    for (h, row) in chances.chunks(outcomes).enumerate() {
        for (o, &p) in row.iter().enumerate() {
            chance(bad, || format!("{path}.lik[{h}][{o}]"), p);
        }
        let sum: f64 = row.iter().sum();
        if (sum - 1.0).abs() > SUM_TOLERANCE {
            let what = format!("the row sums to {sum}");
            bad.add(format!("{path}.lik[{h}]"), what, "make it sum to 1");
        }
    }
}

fn cost(bad: &mut Complaints, path: String, value: f64) {
    if !(value.is_finite() && value >= 0.0) {
        bad.add(
            path,
            format!("{value} is not a cost"),
            "give a number, 0 or more",
        );
    }
}

/// The path is only written when it is needed: there are tens of thousands of chances.
fn chance(bad: &mut Complaints, path: impl FnOnce() -> String, value: f64) {
    if !(0.0..=1.0).contains(&value) {
        bad.add(
            path(),
            format!("{value} is not a chance"),
            "give a number from 0 to 1",
        );
    }
}

fn length(bad: &mut Complaints, path: String, is: usize, want: usize, what: &str) {
    if is != want {
        let text = format!("{is} entries, {want} expected");
        bad.add(path, text, &format!("give one entry a {what}"));
    }
}

fn groups(bad: &mut Complaints, problem: &Problem, path: &str, list: &[usize]) {
    for &g in list {
        if g >= problem.groups.len() {
            bad.add(
                path,
                format!("there is no group {g}"),
                "use an index into groups",
            );
        }
    }
}
