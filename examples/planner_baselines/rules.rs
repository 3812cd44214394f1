//! The planner and the rules it is held against.

use hardstart::planning::{
    Action, Hypotheses, Leaf, Outcomes, Planner, Problem, Settings, Situation, Tables,
};

/// The rules, ours first.
pub const NAMES: [&str; 5] = [
    "this planner",
    "one step",
    "most bits a minute until 90 of 100",
    "repairs by chance a minute, no checks",
    "fixed order of work, act at 80 of 100",
];
/// Chance of the leading fault at which the rule of bits acts.
const SURE: f64 = 0.9;
/// Chance of the leading fault at which the fixed order acts on light work; common practice.
const SURE_ENOUGH: f64 = 0.8;
/// Light work: half an hour and two plugs' price, in minutes; common practice.
const LIGHT: f64 = 54.0;

/// Battery and speed; current of all plugs; supply, then each plug; what is free to look at.
const FIRST: [&str; 16] = [
    "battery_rest_volts",
    "cranking_volts",
    "crank_rpm",
    "plug_current_total",
    "lamp_at_strip",
    "strip_volts_below_battery",
    "plug_current",
    "intake_grid_current",
    "flame_heater_look",
    "earth_drop",
    "hoses_look",
    "water_in_bowl",
    "filter_cloudy",
    "stop_lever_travel",
    "air_path_look",
    "oil_on_dipstick",
];
/// No smoke: air and fuel.
const FUEL: [&str; 3] = ["primer_morning", "clear_hose", "bypass_can"];
/// Rough on one cylinder.
const ROUGH: [&str; 6] = [
    "line_crack_balance",
    "plug_swap",
    "ripple_one_low",
    "opening_pressure",
    "nozzle_drip_test",
    "leak_down",
];
/// White smoke of all cylinders.
const ALL: [&str; 5] = [
    "cold_advance_effect",
    "cam_marks",
    "pump_timing_lift",
    "compression",
    "transfer_pressure",
];

/// All rules on one job.
pub struct Rules<'a> {
    problem: &'a Problem,
    planner: Planner<'a>,
    one_step: Planner<'a>,
    light: Planner<'a>,
    order: Vec<usize>,
    sets: Vec<&'a [usize]>,
}

/// What is done already, for rules that do not ask the planner.
pub struct State {
    checked: Vec<bool>,
    repaired: Vec<bool>,
}

impl<'a> Rules<'a> {
    pub fn new(problem: &'a Problem, tables: &'a Tables, miss: &str, smoke: &str) -> Self {
        let plies = |plies, wide| Settings {
            plies,
            wide,
            wide_repairs: wide,
            close_moves: 0,
            together: 0,
            ..Settings::default()
        };
        let planner = |settings| Planner::new(tables, settings, Leaf::default());
        let branches: [&[&str]; 3] = match (smoke, miss) {
            ("none", _) => [&FUEL, &ALL, &ROUGH],
            (_, "one" | "several") => [&ROUGH, &FUEL, &ALL],
            _ => [&ALL, &FUEL, &ROUGH],
        };
        let Hypotheses::Listed(list) = &problem.hypotheses else {
            panic!("a job lists its hypotheses");
        };
        Rules {
            problem,
            planner: planner(Settings::default()),
            one_step: planner(plies(1, 0)),
            light: planner(plies(1, 0)),
            order: FIRST
                .iter()
                .chain(branches.into_iter().flatten())
                .filter_map(|id| problem.checks.iter().position(|c| c.name == *id))
                .collect(),
            sets: list.iter().map(|h| h.faults.as_slice()).collect(),
        }
    }

    pub fn begin(&self) -> State {
        State {
            checked: vec![false; self.problem.checks.len()],
            repaired: vec![false; self.problem.repairs.len()],
        }
    }

    /// The next move by a rule of [`NAMES`].
    pub fn decide(&self, rule: usize, state: &mut State, now: &Situation) -> Action {
        let action = match rule {
            0 => self.planner.decide(now),
            1 => self.one_step.decide(now),
            2 => self.bits(state, now),
            3 => self.light.advise(now).act_now,
            _ => self.fixed(state, now),
        };
        match action {
            Action::Check(c) => state.checked[c] = true,
            Action::Repair(r) => state.repaired[r] = true,
            Action::HandOver => {}
        }
        action
    }

    /// The likeliest fault with its chance, and the repair that removes it soonest.
    fn leading(&self, state: &State, now: &Situation) -> Option<(f64, usize)> {
        let mut chances = vec![0.0; self.problem.faults.len()];
        for (set, weight) in self.sets.iter().zip(now.chances()) {
            set.iter().for_each(|f| chances[*f] += weight);
        }
        let fault = (0..chances.len()).max_by(|a, b| chances[*a].total_cmp(&chances[*b]))?;
        let rate = |r: &usize| {
            let repair = &self.problem.repairs[*r];
            repair.fix[fault] / repair.minutes
        };
        let repair = (0..self.problem.repairs.len())
            .filter(|r| !state.repaired[*r] && self.problem.repairs[*r].fix[fault] > 0.0)
            .max_by(|a, b| rate(a).total_cmp(&rate(b)))?;
        Some((chances[fault], repair))
    }

    fn bits(&self, state: &State, now: &Situation) -> Action {
        if let Some((_, repair)) = self.leading(state, now).filter(|l| l.0 >= SURE) {
            return Action::Repair(repair);
        }
        let mut best = None;
        for c in (0..self.problem.checks.len()).filter(|c| !state.checked[*c]) {
            let Some(cost) = now.cost(self.planner.tables(), Action::Check(c)) else {
                continue;
            };
            let rate = self.tells(c, now.chances()) / cost.max(1e-6);
            if rate > 1e-9 && best.is_none_or(|(b, _)| rate > b) {
                best = Some((rate, c));
            }
        }
        best.map_or_else(|| self.light.advise(now).act_now, |(_, c)| Action::Check(c))
    }

    /// Bits a check tells about what is wrong.
    fn tells(&self, check: usize, belief: &[f64]) -> f64 {
        let Outcomes::Table { outcomes, chances } = &self.problem.checks[check].outcomes else {
            return 0.0;
        };
        let mut sum = vec![0.0; *outcomes];
        let mut given = 0.0;
        for (row, weight) in chances.chunks(*outcomes).zip(belief) {
            for (s, p) in sum.iter_mut().zip(row) {
                *s += weight * p;
                if *p > 0.0 {
                    given += weight * p * p.log2();
                }
            }
        }
        let all: f64 = sum
            .iter()
            .filter(|p| **p > 0.0)
            .map(|p| -p * p.log2())
            .sum();
        all + given
    }

    fn fixed(&self, state: &State, now: &Situation) -> Action {
        let next = self.order.iter().copied().find(|c| !state.checked[*c]);
        let cost = |action| now.cost(self.planner.tables(), action);
        if let Some((chance, repair)) = self.leading(state, now) {
            let minutes = self.problem.repairs[repair].minutes;
            let dearer = next
                .and_then(|c| cost(Action::Check(c)))
                .is_some_and(|c| c > minutes);
            if chance >= SURE_ENOUGH && (minutes <= LIGHT || dearer || next.is_none()) {
                return Action::Repair(repair);
            }
        }
        next.map_or_else(|| self.light.advise(now).act_now, Action::Check)
    }
}
