//! One check at one place against every hypothesis.
//!
//! What the check looks at is found once; rows already worked out for the same states are kept,
//! for most hypotheses leave most of what a check looks at sound. Must not price anything.

use super::checks::Bench;
use crate::evidence::reading::Looked;
use crate::knowledge::Check;
use crate::network::Role;

/// Counts of open plugs by name.
const COUNTS: [&str; 13] = [
    "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12",
];

/// A variable a check looks at.
enum Look<'b> {
    /// How many plugs carry no current.
    Open,
    /// How many cylinders seal badly.
    SealsLow,
    /// Whether the cylinder lights at once.
    Lights,
    /// A function: names of its states, and their chances `[hypothesis][state]`.
    Function(&'b [String], &'b [Vec<f64>]),
    /// A part: its fault in the hypothesis.
    Part,
}

/// One check at one place.
pub(super) struct Looking<'b, 'a> {
    bench: &'b Bench<'a>,
    check: &'b Check,
    cylinder: Option<u8>,
    count: usize,
    looks: Vec<(&'b str, Look<'b>)>,
    /// Rows worked out, by the states looked at; none where links speak over the table.
    known: Vec<(Vec<&'b str>, Vec<f64>)>,
}

impl<'b, 'a> Looking<'b, 'a> {
    pub(super) fn new(
        bench: &'b Bench<'a>,
        check: &'b Check,
        cylinder: Option<u8>,
        count: usize,
    ) -> Self {
        let look = |name: &'b str| {
            let look = match name {
                "plugs_open" => Look::Open,
                "seals_low" => Look::SealsLow,
                "lights" => Look::Lights,
                _ => function(bench, name, cylinder).unwrap_or(Look::Part),
            };
            (name, look)
        };
        Self {
            bench,
            check,
            cylinder,
            count,
            looks: check.looks_at.iter().map(|l| look(l.get_ref())).collect(),
            known: Vec::new(),
        }
    }

    /// Chance of each outcome in one hypothesis.
    pub(super) fn outcome(&mut self, at: usize) -> Option<Vec<f64>> {
        let options: Vec<Vec<(&'b str, f64)>> = self
            .looks
            .iter()
            .map(|(name, look)| self.states(name, look, at))
            .collect();
        let mut sum = vec![0.0; self.count];
        let combinations: usize = options.iter().map(Vec::len).product();
        let mut states = Vec::with_capacity(options.len());
        for n in 0..combinations {
            let mut left = n;
            let mut weight = 1.0;
            states.clear();
            for list in &options {
                let (word, chance) = list[left % list.len()];
                left /= list.len();
                weight *= chance;
                states.push(word);
            }
            if weight > 0.0 {
                self.add(&states, at, weight, &mut sum)?;
            }
        }
        let total: f64 = sum.iter().sum();
        (total > 0.0).then(|| sum.into_iter().map(|s| s / total).collect())
    }

    /// Adds the row of a joint state, so many times.
    fn add(&mut self, states: &[&'b str], at: usize, weight: f64, sum: &mut [f64]) -> Option<()> {
        let mut into = |row: &[f64]| {
            for (s, c) in sum.iter_mut().zip(row) {
                *s += weight * c;
            }
        };
        if let Some((_, row)) = self.known.iter().find(|k| k.0 == states) {
            into(row);
            return Some(());
        }
        let names = self.looks.iter().map(|l| l.0);
        let looked: Looked<'_> = names.zip(states.iter().copied()).collect();
        let row = self.bench.given(self.check, &looked, at)?;
        into(&row);
        if self.check.link.is_empty() {
            self.known.push((states.to_vec(), row));
        }
        Some(())
    }

    /// States a variable may be in, with chances, in one hypothesis.
    fn states(&self, name: &'b str, look: &Look<'b>, at: usize) -> Vec<(&'b str, f64)> {
        let hypotheses = self.bench.hypotheses;
        let set = &hypotheses.sets[at];
        match look {
            Look::Open => {
                let open = (1..=self.bench.shape.cylinders)
                    .filter(|c| {
                        hypotheses.state_of(set, "plug", Some(*c)) == Some("dead")
                            || hypotheses.state_of(set, "plug_joint", Some(*c)).is_some()
                    })
                    .count();
                vec![(COUNTS[open.min(COUNTS.len() - 1)], 1.0)]
            }
            Look::SealsLow => self.bench.seals_low(at),
            Look::Lights => self.bench.lights(at, self.cylinder),
            Look::Function(states, rows) => {
                let each = states.iter().map(String::as_str);
                each.zip(rows[at].iter().copied()).collect()
            }
            Look::Part => {
                let state = hypotheses.state_of(set, name, self.cylinder);
                vec![(state.unwrap_or("sound"), 1.0)]
            }
        }
    }
}

/// The function of that name, at the cylinder where it has cylinders.
fn function<'b>(bench: &'b Bench<'_>, name: &str, cylinder: Option<u8>) -> Option<Look<'b>> {
    let functions = &bench.hypotheses.functions;
    let own = cylinder.and_then(|c| functions.get_key_value(&format!("{name}:{c}")));
    let (full, rows) = own.or_else(|| functions.get_key_value(name))?;
    let id = bench.case.model.now[full];
    let variable = bench.case.model.network.variable(id);
    debug_assert_eq!(variable.role, Role::Function);
    Some(Look::Function(&variable.states, rows))
}
