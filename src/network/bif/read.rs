//! Blocks into a network: names resolved, variables put behind their parents.
//! Must not guess: whatever does not fit is told with its place.

use std::collections::BTreeMap;

use super::problem::{Problem, Problems};
use super::syntax::{Name, ProbabilityBlock, VariableBlock, blocks};
use super::table::table;
use super::token::tokens;
use crate::network::fold::Fold;
use crate::network::variable::{Network, Role, VarId, Variable};

/// A network read from text.
#[derive(Debug, Clone, PartialEq)]
pub struct Bif {
    /// Name of the network, empty when it has none.
    pub name: String,
    /// The network, plain tables, parents before children and else in the file's order.
    /// Variables without parents are parts, those without children signs, others functions.
    pub network: Network,
}

/// Reads a discrete network.
///
/// Properties are passed over. Rows may come in any order; rows that their writer rounded are
/// brought to one.
///
/// # Errors
/// All problems found, each with line, column and what to try.
pub fn read(text: &str) -> Result<Bif, Vec<Problem>> {
    let mut problems = Problems::default();
    let (tokens, end) = tokens(text, &mut problems);
    let blocks = blocks(&tokens, end, &mut problems);
    let mut reader = Reader {
        variables: &blocks.variables,
        by_name: BTreeMap::new(),
        problems: &mut problems,
    };
    reader.names();
    let families = reader.families(&blocks.probabilities);
    let network = reader.network(&families);
    match network {
        Some(network) if problems.is_empty() => Ok(Bif {
            name: blocks.name,
            network,
        }),
        _ => {
            if problems.is_empty() {
                let hint = "write network, variable and probability blocks";
                problems.add(end, "no network stands here", hint);
            }
            Err(problems.into_sorted())
        }
    }
}

/// Parents and table of one variable.
#[derive(Debug, Clone)]
struct Family {
    parents: Vec<usize>,
    cells: Vec<f64>,
}

struct Reader<'a> {
    variables: &'a [VariableBlock],
    by_name: BTreeMap<&'a str, usize>,
    problems: &'a mut Problems,
}

impl<'a> Reader<'a> {
    fn names(&mut self) {
        for (at, block) in self.variables.iter().enumerate() {
            let name = &block.name;
            if self.by_name.insert(&name.text, at).is_some() {
                let what = format!("variable `{}` is there already", name.text);
                self.problems.add(name.place, what, "give it another name");
            }
            let mut seen = BTreeMap::new();
            for state in &block.states {
                if seen.insert(&state.text, ()).is_some() {
                    let what = format!("`{}` has the state `{}` twice", name.text, state.text);
                    self.problems.add(state.place, what, "name each state once");
                }
            }
            if block.states.is_empty() {
                let what = format!("`{}` lists no states", name.text);
                self.problems
                    .add(name.place, what, "list at least one state");
            }
        }
    }

    fn find(&mut self, name: &Name) -> Option<usize> {
        let found = self.by_name.get(name.text.as_str()).copied();
        if found.is_none() {
            let what = format!("no variable is called `{}`", name.text);
            let hint = "declare it in a variable block, or mend the spelling";
            self.problems.add(name.place, what, hint);
        }
        found
    }

    fn families(&mut self, blocks: &[ProbabilityBlock]) -> Vec<Option<Family>> {
        let mut families = vec![None; self.variables.len()];
        let mut spoken = vec![false; self.variables.len()];
        for block in blocks {
            let child = self.find(&block.child);
            let parents = block
                .parents
                .iter()
                .map(|p| self.find(p))
                .collect::<Vec<_>>();
            let parents = parents.into_iter().collect::<Option<Vec<_>>>();
            let (Some(child), Some(parents)) = (child, parents) else {
                continue;
            };
            for (n, parent) in block.parents.iter().enumerate() {
                if block.parents[..n].iter().any(|p| p.text == parent.text) {
                    let what = format!("`{}` is a parent twice", parent.text);
                    self.problems
                        .add(parent.place, what, "name each parent once");
                }
            }
            if std::mem::replace(&mut spoken[child], true) {
                let what = format!("`{}` has its chances already", block.child.text);
                self.problems
                    .add(block.child.place, what, "leave out one block");
                continue;
            }
            let own = &self.variables[child];
            let given = parents
                .iter()
                .map(|p| &self.variables[*p])
                .collect::<Vec<_>>();
            families[child] =
                table(block, own, &given, self.problems).map(|cells| Family { parents, cells });
        }
        for (at, spoken) in spoken.into_iter().enumerate() {
            if !spoken {
                let name = &self.variables[at].name;
                let what = format!("`{}` has no chances", name.text);
                self.problems
                    .add(name.place, what, "add a probability block for it");
            }
        }
        families
    }

    /// The network, once every variable has its family; a circle of parents is a problem.
    fn network(&mut self, families: &[Option<Family>]) -> Option<Network> {
        if !self.problems.is_empty() || families.is_empty() {
            return None;
        }
        let families = families
            .iter()
            .map(Option::as_ref)
            .collect::<Option<Vec<_>>>()?;
        let mut children = vec![Vec::new(); families.len()];
        let mut waits = families.iter().map(|f| f.parents.len()).collect::<Vec<_>>();
        for (at, family) in families.iter().enumerate() {
            family.parents.iter().for_each(|p| children[*p].push(at));
        }
        let mut ready = (0..waits.len())
            .filter(|at| waits[*at] == 0)
            .map(|at| (at, ()))
            .collect::<BTreeMap<_, _>>();
        let mut ids = vec![None; families.len()];
        let mut network = Network::new();
        while let Some((at, ())) = ready.pop_first() {
            let block = &self.variables[at];
            let drivers = families[at].parents.iter().map(|p| ids[*p]);
            let drivers = drivers.collect::<Option<Vec<VarId>>>()?;
            let role = match (drivers.is_empty(), children[at].is_empty()) {
                (true, _) => Role::Part,
                (_, true) => Role::Sign,
                _ => Role::Function,
            };
            let added = network.add(Variable {
                name: block.name.text.clone(),
                states: block.states.iter().map(|s| s.text.clone()).collect(),
                role,
                local: Fold::table(drivers, families[at].cells.clone()),
            });
            match added {
                Ok(id) => ids[at] = Some(id),
                Err(error) => {
                    self.problems
                        .add(block.name.place, error.to_string(), "mend its table");
                    return None;
                }
            }
            for child in &children[at] {
                waits[*child] -= 1;
                if waits[*child] == 0 {
                    ready.insert(*child, ());
                }
            }
        }
        for (at, block) in self.variables.iter().enumerate() {
            if ids[at].is_none() {
                let what = format!(
                    "`{}` stands in or behind a circle of parents",
                    block.name.text
                );
                self.problems
                    .add(block.name.place, what, "take one of the arrows out");
            }
        }
        self.problems.is_empty().then_some(network)
    }
}
