//! A network for people: variables with parents and states, and how wide the work is.
//!
//! Must not print figures; the interchange format holds them.

use super::page::{Layout, Page};
use crate::network::{Network, Role, VarId, Width};

/// The roles with their headings, in reading order.
const HEADINGS: [(Role, &str); 5] = [
    (Role::Part, "Parts"),
    (Role::Function, "Functions"),
    (Role::Start, "Of a start"),
    (Role::Sign, "Signs"),
    (Role::Nominal, "Rated values"),
];

/// Names of the parents of a variable: those of its table first, then those folded in.
#[must_use]
pub fn parents(network: &Network, variable: usize) -> Vec<&str> {
    let local = &network.variables()[variable].local;
    let name = |id: VarId| network.variable(id).name.as_str();
    let drivers = local.drivers.iter().map(|d| name(*d));
    drivers
        .chain(local.from.iter().map(|f| name(f.parent)))
        .collect()
}

/// The list.
#[must_use]
pub fn network(network: &Network, width: Width, layout: Layout) -> String {
    let mut page = Page::new(layout);
    let variables = network.variables();
    page.say(&format!("{} variables", variables.len()));
    for (role, heading) in HEADINGS {
        let own: Vec<usize> = (0..variables.len())
            .filter(|at| variables[*at].role == role)
            .collect();
        if own.is_empty() {
            continue;
        }
        page.gap();
        page.say(&format!("{heading}: {}", own.len()));
        for at in own {
            let variable = &variables[at];
            page.hang(
                &format!("  {}  ", variable.name),
                &format!("{{{}}}", variable.states.join(", ")),
            );
            let parents = parents(network, at);
            if !parents.is_empty() {
                page.hang("      from ", &parents.join(", "));
            }
        }
    }
    page.gap();
    page.say("Width, with the complaint seen and every part asked for");
    page.say(&format!(
        "  {:.3e} table entries, {:.3e} in the largest step",
        width.entries, width.largest
    ));
    page.say(&format!(
        "  {} operations a job, {} once a set of figures, {} cells, {} instructions",
        width.operations, width.prologue, width.cells, width.instructions
    ));
    page.finish()
}
