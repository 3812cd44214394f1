//! One move while it is being valued, and how checks are ranked for the beam.
//!
//! Must not decide which moves are looked at.

use rayon::prelude::*;

use super::advice::Action;
use super::search::Search;
use super::situation::Situation;
use super::tables::Tables;

/// Relative difference below which two totals are one (rounding of long sums).
pub(super) const TIE: f64 = 1e-9;

/// A move while it is being valued.
pub(super) struct Candidate {
    pub(super) action: Action,
    pub(super) total: f64,
    pub(super) leads: Vec<(usize, f64, Option<Action>)>,
    /// Bits a check tells.
    pub(super) tells: f64,
    /// See [`Move::changes_next`].
    pub(super) changes: f64,
}

impl Candidate {
    pub(super) fn new(action: Action) -> Candidate {
        Candidate {
            action,
            total: f64::INFINITY,
            leads: Vec::new(),
            tells: 0.0,
            changes: 0.0,
        }
    }

    /// Takes the value of another look at the same move.
    pub(super) fn take(&mut self, other: Candidate) {
        self.total = other.total;
        self.leads = other.leads;
    }
}

/// A move to be looked at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Look<'l> {
    pub(super) action: Action,
    /// How deep.
    pub(super) plies: usize,
    /// Checks looked at below it; as the search has them where there is none.
    pub(super) beam: Option<&'l [usize]>,
}

impl Look<'_> {
    pub(super) fn at(action: Action, plies: usize) -> Self {
        Look {
            action,
            plies,
            beam: None,
        }
    }
}

/// Looks at one move `plies` deep.
fn value(search: &mut Search, action: Action, plies: usize, situation: &Situation) -> Candidate {
    let mut found = Candidate::new(action);
    match action {
        Action::Check(c) => {
            let mut leads = Vec::new();
            found.total = search.first_check(c, plies, situation.open, &mut leads);
            found.leads = leads
                .into_iter()
                .map(|(o, p, next)| (o, p, Some(next)))
                .collect();
        }
        Action::Repair(r) => {
            let (total, right, next) = search.first_repair(r, plies, situation.open);
            found.total = total;
            if right > 0.0 {
                found.leads.push((0, right, None));
            }
            if next.is_some() {
                found.leads.push((1, 1.0 - right, next));
            }
        }
        Action::HandOver => {}
    }
    found
}

/// States from which looks at several moves are worth a thread each.
const MANY_STATES: usize = 100;

/// Looks at moves, side by side where there are many states; each is valued as if it were alone.
/// Looks with beams of their own leave the last of them in the search.
pub(super) fn values(
    search: &mut Search<'_>,
    looks: &[Look<'_>],
    situation: &Situation,
) -> Vec<Candidate> {
    let one = |search: &mut Search<'_>, look: &Look<'_>| {
        if let Some(beam) = look.beam {
            search.set_beam(beam);
        }
        value(search, look.action, look.plies, situation)
    };
    if situation.belief.len() < MANY_STATES {
        return looks.iter().map(|look| one(search, look)).collect();
    }
    looks
        .par_iter()
        .with_max_len(1)
        .map_init(|| search.clone(), one)
        .collect()
}

/// Chance that acting on the outcome starts with something else than acting without having looked.
/// `unread` is the first act with the same covers open and the same belief, so that a check is not
/// credited with what its access alone brings about. Looked at one ply deep, a check leads to an
/// act after every outcome.
pub(super) fn changes(check: &Candidate, unread: Action) -> f64 {
    let other = check.leads.iter().filter(|l| l.2 != Some(unread));
    other.map(|l| l.1).sum::<f64>().min(1.0)
}

/// Checks worth keeping in the beam first: by one-ply total; every third place goes to the
/// one that tells most, since a pair of checks may be worth much where each alone is not.
pub(super) fn rank_checks(tables: &Tables, checks: &[Candidate]) -> Vec<usize> {
    let number = |m: &Candidate| match m.action {
        Action::Check(c) => c,
        _ => usize::MAX,
    };
    let mut useful: Vec<&Candidate> = checks.iter().filter(|m| m.tells > TIE).collect();
    useful.sort_by(|a, b| a.total.total_cmp(&b.total).then(number(a).cmp(&number(b))));
    let rate = |m: &Candidate| m.tells / tables.check_minutes[number(m)].max(TIE);
    let mut ranked = Vec::with_capacity(useful.len());
    while !useful.is_empty() {
        let mut at = 0;
        if ranked.len() % 3 == 2 {
            for i in 1..useful.len() {
                if rate(useful[i]) > rate(useful[at]) {
                    at = i;
                }
            }
        }
        ranked.push(number(useful.remove(at)));
    }
    ranked
}
