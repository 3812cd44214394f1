//! A network as text, exactly: folds become full tables where these are small, and chains of
//! running states where they are not; readings with a likelihood become nodes of two states.
//!
//! Must not read, and must not change any chance: numbers are written so that they come back
//! bit by bit.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use crate::network::fold::Fold;
use crate::network::variable::{Network, VarId};

/// Cells up to which a fold is written as one table; own judgement.
const SMALL: usize = 4096;
/// Below this a number is written with an exponent; plain zeros would fill the line.
const TINY: f64 = 1e-6;

/// A reading with a density, written as a node that was seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Virtual {
    /// Name of the node.
    pub name: String,
    /// Variables it looks at, each once.
    pub scope: Vec<VarId>,
    /// Likelihood of each joint state, last axis fastest; only the ratios count.
    pub values: Vec<f64>,
}

/// Writes a network and the readings that hang on it.
///
/// A reading becomes a node with the states `seen` and `other`, its likelihood scaled so that
/// the largest is one; give `seen` as evidence. Names that other readers refuse are mended:
/// letters, digits and `_` stay, anything else becomes `_`, and a number parts what would
/// fall together. The names written stand in the order of the variables, then the readings.
#[must_use]
pub fn write(network: &Network, name: &str, readings: &[Virtual]) -> (String, Vec<String>) {
    let mut names = Names::default();
    let mut writer = Writer {
        network,
        names: network
            .variables()
            .iter()
            .map(|v| names.give(&v.name))
            .collect(),
        given: names,
        declared: String::new(),
        chances: String::new(),
    };
    for at in 0..network.variables().len() {
        writer.variable(at);
    }
    for reading in readings {
        writer.reading(reading);
    }
    let name = plain(name);
    let text = format!(
        "network {name} {{\n}}\n{}{}",
        writer.declared, writer.chances
    );
    (text, writer.names)
}

/// Letters, digits and `_`, not starting with a digit.
fn plain(name: &str) -> String {
    let mut out = name
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '_' })
        .collect::<String>();
    if !out.starts_with(|c: char| c.is_ascii_alphabetic()) {
        out.insert(0, 'x');
    }
    out
}

/// Names given so far.
#[derive(Default)]
struct Names {
    given: BTreeSet<String>,
}

impl Names {
    fn give(&mut self, name: &str) -> String {
        let name = plain(name);
        let mut tried = name.clone();
        let mut n = 1;
        while !self.given.insert(tried.clone()) {
            n += 1;
            tried = format!("{name}_{n}");
        }
        tried
    }
}

struct Writer<'a> {
    network: &'a Network,
    names: Vec<String>,
    given: Names,
    declared: String,
    chances: String,
}

/// A parent of a table: its written name and its written states.
#[derive(Clone)]
struct Given {
    name: String,
    states: Vec<String>,
}

impl Writer<'_> {
    fn states(&self, at: usize) -> Vec<String> {
        let mut names = Names::default();
        let states = &self.network.variables()[at].states;
        states.iter().map(|s| names.give(s)).collect()
    }

    fn parent(&self, id: VarId) -> Given {
        Given {
            name: self.names[id.at()].clone(),
            states: self.states(id.at()),
        }
    }

    fn variable(&mut self, at: usize) {
        let network = self.network;
        let variable = &network.variables()[at];
        let local = &variable.local;
        let mut parents = Vec::new();
        for parent in local.parents() {
            if !parents.contains(&parent) {
                parents.push(parent);
            }
        }
        let own = variable.states.len();
        let cells = parents
            .iter()
            .try_fold(own, |n, p| n.checked_mul(network.size(*p)));
        let this = self.parent(VarId(u32::try_from(at).expect("fewer than 2^32")));
        if local.from.is_empty() || cells.is_some_and(|c| c <= SMALL) {
            let size = |v: VarId| network.size(v);
            let mut states = vec![0; at];
            self.table(&this, &parents, None, |joint| {
                for (parent, state) in parents.iter().zip(joint) {
                    states[parent.at()] = *state;
                }
                local.distribution(own, size, &states)
            });
        } else {
            self.chain(&this, local, own);
        }
    }

    /// The first table, then one running state a contribution; the last is the variable.
    fn chain(&mut self, this: &Given, local: &Fold, own: usize) {
        let network = self.network;
        let mut before = Given {
            name: self.given.give(&format!("{}__0", this.name)),
            states: this.states.clone(),
        };
        let drivers = local.drivers.clone();
        let sizes = drivers.iter().map(|d| network.size(*d)).collect::<Vec<_>>();
        self.table(&before, &drivers, None, |joint| {
            let row = joint
                .iter()
                .zip(&sizes)
                .fold(0, |row, (state, size)| row * size + state);
            local.init[row * own..(row + 1) * own].to_vec()
        });
        let width = local.step.width(own);
        for (n, part) in local.from.iter().enumerate() {
            let after = if n + 1 == local.from.len() {
                this.clone()
            } else {
                Given {
                    name: self.given.give(&format!("{}__{}", this.name, n + 1)),
                    states: this.states.clone(),
                }
            };
            self.table(&after, &[part.parent], Some(&before), |joint| {
                let mut row = vec![0.0; own];
                for z in 0..width {
                    let to = local.step.next(joint[1], z, own);
                    row[to] += part.rows[joint[0] * width + z];
                }
                row
            });
            before = after;
        }
    }

    fn reading(&mut self, reading: &Virtual) {
        let this = Given {
            name: self.given.give(&reading.name),
            states: vec!["seen".into(), "other".into()],
        };
        self.names.push(this.name.clone());
        let top = reading.values.iter().copied().fold(0.0, f64::max);
        let mut values = reading.values.iter();
        self.table(&this, &reading.scope, None, |_| {
            let value = values.next().copied().unwrap_or(0.0);
            let seen = if top > 0.0 { value / top } else { 0.0 };
            vec![seen, 1.0 - seen]
        });
    }

    /// Declares a node and writes its rows; `row` is asked for each joint state of the parents
    /// and of the running state, last fastest.
    fn table(
        &mut self,
        this: &Given,
        parents: &[VarId],
        running: Option<&Given>,
        mut row: impl FnMut(&[usize]) -> Vec<f64>,
    ) {
        let parents = parents
            .iter()
            .map(|p| self.parent(*p))
            .chain(running.cloned())
            .collect::<Vec<_>>();
        let states = this.states.join(", ");
        let count = this.states.len();
        // Writing into a string cannot fail.
        let _ = writeln!(
            self.declared,
            "variable {} {{\n  type discrete [ {count} ] {{ {states} }};\n}}",
            this.name
        );
        let out = &mut self.chances;
        if parents.is_empty() {
            let _ = writeln!(out, "probability ( {} ) {{", this.name);
            let _ = writeln!(out, "  table {};", numbers(&row(&[])));
        } else {
            let names = parents.iter().map(|p| p.name.as_str()).collect::<Vec<_>>();
            let _ = writeln!(
                out,
                "probability ( {} | {} ) {{",
                this.name,
                names.join(", ")
            );
            let rows: usize = parents.iter().map(|p| p.states.len()).product();
            let mut joint = vec![0; parents.len()];
            for at in 0..rows {
                let mut rest = at;
                for (slot, parent) in joint.iter_mut().zip(&parents).rev() {
                    *slot = rest % parent.states.len();
                    rest /= parent.states.len();
                }
                let given = joint
                    .iter()
                    .zip(&parents)
                    .map(|(s, p)| p.states[*s].as_str())
                    .collect::<Vec<_>>();
                let _ = writeln!(out, "  ({}) {};", given.join(", "), numbers(&row(&joint)));
            }
        }
        out.push_str("}\n");
    }
}

fn numbers(row: &[f64]) -> String {
    let words = row.iter().map(|c| {
        if *c != 0.0 && c.abs() < TINY {
            format!("{c:e}")
        } else {
            format!("{c}")
        }
    });
    words.collect::<Vec<_>>().join(", ")
}
