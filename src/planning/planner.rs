//! The planner: lookahead settings, and the list of moves for a situation.
//!
//! Every move is valued two plies deep; a cover that pays only for several checks together
//! is seen by a third ply kept to the checks behind it; and where the best two are close,
//! those near the best get a third ply. Must not build or change problems.

use super::advice::{Action, Advice, Move, MoveOutcome};
use super::candidate::{Candidate, Look, TIE, changes, rank_checks, values};
use super::leaf::{Leaf, bits};
use super::search::Search;
use super::settings::Settings;
use super::situation::{Situation, check_minutes, first_reading, open_after_check};
use super::tables::Tables;
use super::tail::Tail;

/// Finds the next move of a situation.
#[derive(Debug, Clone)]
pub struct Planner<'a> {
    tables: &'a Tables,
    settings: Settings,
    leaf: Leaf,
    known: Vec<f64>,
}

impl<'a> Planner<'a> {
    /// A planner with the given leaf; [`choose_leaf`](super::choose_leaf) finds the best.
    pub fn new(tables: &'a Tables, settings: Settings, leaf: Leaf) -> Planner<'a> {
        let mut tail = Tail::default();
        let repaired = vec![false; tables.repairs()];
        let mut alone = vec![0.0; tables.states];
        // Access is counted as open: what is known costs no less than this, and a leaf
        // that charged each state for its cover would charge it many times over.
        let open = u64::MAX;
        let known = (0..tables.states)
            .map(|s| {
                alone[s] = 1.0;
                let (minutes, _) = tail.run(tables, &alone, &repaired, open);
                alone[s] = 0.0;
                minutes
            })
            .collect();
        Planner {
            tables,
            settings,
            leaf,
            known,
        }
    }

    /// The tables it plans on.
    pub fn tables(&self) -> &'a Tables {
        self.tables
    }

    /// The best move.
    pub fn decide(&self, situation: &Situation) -> Action {
        self.advise(situation).best()
    }

    /// All moves, best first.
    pub fn advise(&self, situation: &Situation) -> Advice {
        let t = self.tables;
        let s = &self.settings;
        let mut search = Search::new(t, self.leaf, &self.known, situation, s.repair_beam);
        let (act_now_total, act_now) = search.act_now(situation.open);
        let in_order: Vec<usize> = search.order().to_vec();
        let looks = (0..t.checks())
            .filter(|&c| check_minutes(t, c, situation.readings[c]).is_some())
            .map(|c| Look::at(Action::Check(c), 1));
        let mut moves = values(&mut search, &looks.collect::<Vec<_>>(), situation);
        for m in &mut moves {
            m.tells = self.tells(situation, m.action);
            if let Action::Check(c) = m.action {
                let open = open_after_check(t, c, situation.open);
                m.changes = changes(m, search.act_now(open).1);
            }
        }
        let ranked = rank_checks(t, &moves);
        search.set_beam(&ranked[..ranked.len().min(s.beam)]);
        let plies = s.plies.max(1);
        let wide = |action: &Action| match action {
            Action::Check(c) => ranked.iter().take(s.wide).any(|r| r == c),
            _ => false,
        };
        let mut looks = moves
            .iter()
            .map(|m| m.action)
            .filter(wide)
            .map(|action| Look::at(action, plies))
            .collect::<Vec<_>>();
        let deeper = looks.len();
        for repair in (0..t.repairs()).filter(|&r| !situation.repaired[r]) {
            let deep = in_order.iter().take(s.wide_repairs).any(|&r| r == repair);
            // One ply of a repair is the repair and then acting in order.
            looks.push(Look::at(
                Action::Repair(repair),
                if deep { plies } else { 1 },
            ));
        }
        let mut found = values(&mut search, &looks, situation);
        let repairs = found.split_off(deeper);
        for (m, other) in moves.iter_mut().filter(|m| wide(&m.action)).zip(found) {
            m.take(other);
        }
        moves.extend(repairs);
        let mut hand_over = Candidate::new(Action::HandOver);
        hand_over.total = t.hand_over;
        moves.push(hand_over);
        self.together(&mut search, situation, &ranked, &mut moves);
        self.closer(&mut search, situation, &ranked, &mut moves);
        self.anyway(&mut search, situation, &ranked, &mut moves);
        // Acting in order is a promise that can be kept, whatever the lookahead says.
        if let Some(m) = moves.iter_mut().find(|m| m.action == act_now) {
            m.total = m.total.min(act_now_total);
        }
        self.answer(situation, moves, (act_now_total, act_now))
    }

    /// Covers that pay only for several checks: a search kept to the checks behind them.
    fn together(
        &self,
        search: &mut Search,
        situation: &Situation,
        ranked: &[usize],
        moves: &mut [Candidate],
    ) {
        let t = self.tables;
        let mut sets: Vec<Vec<usize>> = Vec::new();
        for g in 0..t.open_minutes.len() {
            let bit = 1u64 << g;
            if situation.open & bit != 0 || t.open_minutes[g] == 0.0 {
                continue;
            }
            let behind = ranked
                .iter()
                .copied()
                .filter(|&c| t.check_access[c] & bit != 0);
            let mut behind: Vec<usize> = behind.take(self.settings.together).collect();
            // Every order of the checks behind the cover, every outcome.
            let ends = |set: &[usize]| -> usize {
                let orders: usize = (1..=set.len()).product();
                orders * set.iter().map(|&c| t.outcomes[c]).product::<usize>()
            };
            while behind.len() > 2 && ends(&behind) > self.settings.ends {
                behind.pop();
            }
            if behind.len() < 2 || sets.contains(&behind) {
                continue;
            }
            sets.push(behind);
        }
        let looks: Vec<Look<'_>> = sets
            .iter()
            .flat_map(|behind| {
                behind.iter().map(|&c| Look {
                    action: Action::Check(c),
                    plies: behind.len(),
                    beam: Some(behind),
                })
            })
            .collect();
        for deeper in values(search, &looks, situation) {
            let here = moves.iter_mut().find(|m| m.action == deeper.action);
            if let Some(m) = here.filter(|m| deeper.total < m.total) {
                m.take(deeper);
            }
        }
    }

    /// One more ply for moves that are close to the best.
    fn closer(
        &self,
        search: &mut Search,
        situation: &Situation,
        ranked: &[usize],
        moves: &mut [Candidate],
    ) {
        let s = &self.settings;
        let mut order: Vec<usize> = (0..moves.len()).collect();
        order.sort_by(|&a, &b| moves[a].total.total_cmp(&moves[b].total));
        let Some(&best) = order.first() else { return };
        let limit = moves[best].total * (1.0 + s.close);
        let near: Vec<usize> = order
            .into_iter()
            .take_while(|&i| moves[i].total <= limit)
            .take(s.close_moves)
            .collect();
        if near.len() < 2 {
            return;
        }
        let mut beam = ranked.len().min(s.close_beam);
        while beam > 2 && self.ends(&ranked[..beam]) > s.ends {
            beam -= 1;
        }
        search.set_beam(&ranked[..beam]);
        let near: Vec<usize> = near
            .into_iter()
            .filter(|&i| moves[i].action != Action::HandOver)
            .collect();
        let looks: Vec<Look<'_>> = near
            .iter()
            .map(|&i| Look::at(moves[i].action, s.plies.max(1) + 1))
            .collect();
        let found = values(search, &looks, situation);
        for (i, deeper) in near.into_iter().zip(found) {
            // Both figures are of policies that can be followed when the leaf is.
            if deeper.total < moves[i].total || self.leaf != Leaf::RepairOnly {
                moves[i].take(deeper);
            }
        }
    }

    /// What comes next whatever the best check shows is looked at as deep as that check with what
    /// follows it: the check may well come after it.
    fn anyway(
        &self,
        search: &mut Search,
        situation: &Situation,
        ranked: &[usize],
        moves: &mut [Candidate],
    ) {
        let by_total = |a: &&Candidate, b: &&Candidate| a.total.total_cmp(&b.total);
        let Some(best) = moves.iter().min_by(by_total) else {
            return;
        };
        let Action::Check(first) = best.action else {
            return;
        };
        let mut leads = best.leads.iter().map(|l| l.2);
        let Some(Some(then)) = leads.next() else {
            return;
        };
        if then == Action::HandOver || leads.any(|l| l != Some(then)) {
            return;
        }
        let others = ranked.iter().copied().filter(|c| *c != first);
        let mut beam: Vec<usize> = std::iter::once(first).chain(others).collect();
        beam.truncate(self.settings.close_beam);
        while beam.len() > 2 && self.ends(&beam) > self.settings.ends {
            beam.pop();
        }
        let look = Look {
            action: then,
            plies: self.settings.plies.max(1) + 1,
            beam: Some(&beam),
        };
        for deeper in values(search, &[look], situation) {
            let here = moves.iter_mut().find(|m| m.action == deeper.action);
            if let Some(m) = here.filter(|m| deeper.total < m.total) {
                m.take(deeper);
            }
        }
    }

    /// Ends of one more ply of one move with these checks below it.
    fn ends(&self, beam: &[usize]) -> usize {
        let outcomes = beam.iter().map(|&c| self.tables.outcomes[c]);
        outcomes.sum::<usize>().pow(2) * 2
    }

    /// Bits the next reading of a check tells: zero when every outcome leaves the belief
    /// as it is.
    fn tells(&self, situation: &Situation, action: Action) -> f64 {
        let Action::Check(c) = action else { return 0.0 };
        let t = self.tables;
        let first = first_reading(situation.readings[c]);
        let mut after = vec![0.0; t.states];
        let mut left = 0.0;
        for o in 0..t.outcomes[c] {
            if t.observe(c, o, first, &situation.belief, &mut after) > 0.0 {
                left += bits(&after);
            }
        }
        (bits(&situation.belief) - left).max(0.0)
    }

    fn answer(
        &self,
        situation: &Situation,
        mut found: Vec<Candidate>,
        act: (f64, Action),
    ) -> Advice {
        let t = self.tables;
        let least = found.iter().map(|m| m.total).fold(f64::INFINITY, f64::min);
        let step = TIE * least.max(f64::MIN_POSITIVE);
        let tied = |total: f64| total - least <= step;
        let rank = |m: &Candidate| match m.action {
            Action::Check(_) if m.tells <= TIE => 2,
            Action::Check(_) => 1,
            _ => 0,
        };
        found.sort_by(|a, b| {
            let near = |m: &Candidate| if tied(m.total) { least } else { m.total };
            let by_total = near(a).total_cmp(&near(b));
            by_total
                .then(rank(a).cmp(&rank(b)))
                .then(a.action.cmp(&b.action))
        });
        let moves: Vec<Move> = found
            .into_iter()
            .map(|m| {
                let (access, risk) = match m.action {
                    Action::Check(c) => (t.check_access[c], t.damage(c, &situation.belief)),
                    Action::Repair(r) => (t.repair_access[r], 0.0),
                    Action::HandOver => (0, 0.0),
                };
                let closed = access & !situation.open;
                Move {
                    action: m.action,
                    minutes: situation.cost(t, m.action).unwrap_or(f64::INFINITY) - risk,
                    access: (0..t.open_minutes.len())
                        .filter(|g| closed >> g & 1 == 1)
                        .collect(),
                    risk,
                    expected_total: m.total,
                    saves: act.0 - m.total,
                    changes_next: m.changes,
                    tied: tied(m.total),
                    outcomes: (m.leads.into_iter())
                        .map(|(outcome, chance, leads_to)| MoveOutcome {
                            outcome,
                            chance,
                            leads_to,
                        })
                        .collect(),
                }
            })
            .collect();
        let stop = moves
            .first()
            .is_none_or(|m| !matches!(m.action, Action::Check(_)));
        Advice {
            moves,
            act_now_total: act.0,
            act_now: act.1,
            stop,
        }
    }
}
