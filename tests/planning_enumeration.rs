//! The exact solver against every policy of tiny problems.
//!
//! The rules of the game are written here a second time, straight from their wording and
//! over plain joint chances: no memo, no pruning, nothing of the crate but the problem's
//! public fields. Every deterministic policy is a tree; `policies` returns the cost of each.

use hardstart::planning::{
    GeneratorLimits, Hypotheses, Leaf, Outcomes, Planner, Problem, Settings, Situation, Tables,
    policy_cost, random_problem, solve_exact,
};

/// Policies of one problem that are still enumerated.
const MOST: u64 = 400_000;

/// A point in the game: weights of the sets of faults, which are left over from all
/// histories that look the same so far.
#[derive(Clone)]
struct Point {
    /// Fault sets as bits, with joint weight.
    weights: Vec<(usize, f64)>,
    /// Readings of each check, in order.
    readings: Vec<Vec<usize>>,
    repaired: Vec<bool>,
    open: Vec<bool>,
}

fn start(p: &Problem) -> Point {
    let weights = match &p.hypotheses {
        Hypotheses::OneFault { weights } => weights
            .iter()
            .enumerate()
            .map(|(f, &w)| (1 << f, w))
            .collect(),
        Hypotheses::AnyFaults { chances } => {
            let joint = |bits: usize| -> f64 {
                let each = chances.iter().enumerate();
                each.map(|(f, c)| if bits & (1 << f) != 0 { *c } else { 1.0 - c })
                    .product()
            };
            let all: f64 = (1..1usize << chances.len()).map(joint).sum();
            (1..1usize << chances.len())
                .map(|bits| (bits, joint(bits) / all))
                .collect()
        }
        Hypotheses::Listed(_) => panic!("the generator makes none of these"),
    };
    Point {
        weights,
        readings: vec![vec![]; p.checks.len()],
        repaired: vec![false; p.repairs.len()],
        open: vec![false; p.groups.len()],
    }
}

/// Row of a set of faults in the problem's tables.
fn row(p: &Problem, bits: usize) -> usize {
    match p.hypotheses {
        Hypotheses::OneFault { .. } => bits.trailing_zeros() as usize,
        _ => bits - 1,
    }
}

fn outcomes(p: &Problem, check: usize) -> usize {
    match &p.checks[check].outcomes {
        Outcomes::Table { outcomes, .. } => *outcomes,
        Outcomes::NoisyOr { .. } => 2,
    }
}

fn chance(p: &Problem, check: usize, outcome: usize, bits: usize) -> f64 {
    match &p.checks[check].outcomes {
        Outcomes::Table { outcomes, chances } => chances[row(p, bits) * outcomes + outcome],
        Outcomes::NoisyOr { leak, link } => {
            let present = (0..link.len()).filter(|f| bits & (1 << f) != 0);
            let missed = present.fold(1.0 - leak, |m, f| m * (1.0 - link[f]));
            if outcome == 0 { 1.0 - missed } else { missed }
        }
    }
}

fn mass(point: &Point) -> f64 {
    point.weights.iter().map(|w| w.1).sum()
}

/// Opens what is needed; minutes it takes.
fn open(p: &Problem, point: &mut Point, access: &[usize]) -> f64 {
    let mut minutes = 0.0;
    for &g in access {
        if !point.open[g] {
            minutes += p.groups[g].open_minutes;
            point.open[g] = true;
        }
    }
    minutes
}

/// Cost (times mass) of a check, and the points after it.
fn after_check(p: &Problem, point: &Point, check: usize) -> Option<(f64, Vec<Point>)> {
    let c = &p.checks[check];
    let before = &point.readings[check];
    if before.len() >= usize::from(c.max_times) {
        return None;
    }
    let mut next = point.clone();
    let access = open(p, &mut next, &c.access);
    let minutes = if before.is_empty() {
        c.minutes
    } else {
        c.repeat_minutes
    };
    let risk = |bits| c.risk.get(row(p, bits)).copied().unwrap_or(0.0);
    let cost = point
        .weights
        .iter()
        .map(|&(bits, w)| w * (minutes + access + risk(bits)))
        .sum();
    let points = (0..outcomes(p, check)).map(|o| {
        let mut next = next.clone();
        for (bits, w) in &mut next.weights {
            let fresh = chance(p, check, o, *bits);
            *w *= match before.first() {
                None => fresh,
                Some(&first) => {
                    let copy = if first == o { 1.0 } else { 0.0 };
                    c.persist * copy + (1.0 - c.persist) * fresh
                }
            };
        }
        next.readings[check].push(o);
        next
    });
    Some((cost, points.filter(|n| mass(n) > 0.0).collect()))
}

/// Cost (times mass) of a repair with its run-up check, and the point when it failed.
fn after_repair(p: &Problem, point: &Point, repair: usize) -> Option<(f64, Option<Point>)> {
    if point.repaired[repair] {
        return None;
    }
    let r = &p.repairs[repair];
    let mut next = point.clone();
    let access = open(p, &mut next, &r.access);
    let cost = mass(point) * (r.minutes + access + p.verify_minutes);
    for (g, group) in p.groups.iter().enumerate() {
        next.open[g] &= group.stays_open;
    }
    for (f, &fix) in r.fix.iter().enumerate() {
        let mut split = Vec::new();
        for &(bits, w) in &next.weights {
            if bits & (1 << f) != 0 {
                split.push((bits & !(1 << f), w * fix));
                split.push((bits, w * (1.0 - fix)));
            } else {
                split.push((bits, w));
            }
        }
        next.weights = split;
    }
    next.weights.retain(|&(bits, w)| bits != 0 && w > 0.0);
    next.repaired[repair] = true;
    Some((cost, (!next.weights.is_empty()).then_some(next)))
}

/// How many policies there are from a point (a bound that stops early).
fn count(p: &Problem, point: &Point) -> u64 {
    let mut n = 1u64;
    for c in 0..p.checks.len() {
        if let Some((_, points)) = after_check(p, point, c) {
            let all = points
                .iter()
                .fold(1u64, |n, q| n.saturating_mul(count(p, q)));
            n = n.saturating_add(all);
        }
        if n > MOST {
            return n;
        }
    }
    for r in 0..p.repairs.len() {
        if let Some((_, next)) = after_repair(p, point, r) {
            n = n.saturating_add(next.map_or(1, |q| count(p, &q)));
        }
    }
    n
}

/// Cost of every policy from a point, times its mass.
fn policies(p: &Problem, point: &Point) -> Vec<f64> {
    let mut costs = vec![p.hand_over_minutes * mass(point)];
    for c in 0..p.checks.len() {
        if let Some((cost, points)) = after_check(p, point, c) {
            let mut sums = vec![cost];
            for q in &points {
                let later = policies(p, q);
                sums = sums
                    .iter()
                    .flat_map(|s| later.iter().map(move |l| s + l))
                    .collect();
            }
            costs.extend(sums);
        }
    }
    for r in 0..p.repairs.len() {
        match after_repair(p, point, r) {
            None => {}
            Some((cost, None)) => costs.push(cost),
            Some((cost, Some(q))) => costs.extend(policies(p, &q).iter().map(|l| cost + l)),
        }
    }
    costs
}

#[test]
fn the_exact_solver_equals_the_best_of_all_policies() {
    let limits = GeneratorLimits {
        faults: 3,
        checks: 2,
        groups: 2,
        several: 0.3,
    };
    let (mut compared, mut several, mut repeats, mut grouped) = (0, 0, 0, 0);
    for seed in 0..300 {
        let p = random_problem(seed, &limits);
        let first = start(&p);
        if count(&p, &first) > MOST {
            continue;
        }
        let all = policies(&p, &first);
        let best = all.iter().copied().fold(f64::INFINITY, f64::min);
        let tables = Tables::new(&p).expect("generated problems are sound");
        let start = Situation::start(&tables);
        let solved = solve_exact(&tables, &start, 100_000).expect("tiny").minutes;
        assert!(
            (solved - best).abs() <= 1e-9 * best,
            "{seed}: {solved} for {best}"
        );
        let planner = Planner::new(&tables, Settings::default(), Leaf::RepairOnly);
        let followed = policy_cost(&planner, &start, 100_000).expect("tiny");
        let is_one = all.iter().any(|c| (c - followed).abs() <= 1e-9 * followed);
        assert!(
            is_one,
            "{seed}: following costs {followed}, which no policy does"
        );
        compared += 1;
        several += usize::from(matches!(p.hypotheses, Hypotheses::AnyFaults { .. }));
        repeats += usize::from(p.checks.iter().any(|c| c.max_times == 2));
        grouped += usize::from(p.checks.iter().any(|c| !c.access.is_empty()));
    }
    // Every rule of the game was in play.
    assert!(compared >= 60, "{compared} compared");
    assert!(several >= 10, "{several} with several faults");
    assert!(repeats >= 10, "{repeats} with repeats");
    assert!(grouped >= 10, "{grouped} with access");
}
