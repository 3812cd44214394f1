//! A cause as typed on the command line: `plug.dead:2`, `battery.tired`.
//!
//! Must not ask the network.

use super::exit::Exit;
use super::failure::Failure;
use crate::diagnosis::FaultPlace;
use crate::knowledge::{Knowledge, Scope};
use crate::report::trouble::Trouble;

/// A cause with its label.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// Where it sits.
    pub place: FaultPlace,
    /// What a person reads, without the cylinder.
    pub label: String,
}

/// Nearest names shown when none fits.
const SUGGESTED: usize = 3;

/// The cause of that name.
///
/// # Errors
/// Usage, with the names that come nearest.
pub fn parse(knowledge: &Knowledge, typed: &str) -> Result<Named, Failure> {
    let (name, cylinder) = match typed.split_once(':') {
        None => (typed, None),
        Some((name, cylinder)) => match cylinder.parse::<u8>() {
            Ok(n) if n > 0 => (name, Some(n)),
            _ => {
                let what = format!("`{cylinder}` is no cylinder");
                let advice = format!("write {name}:1 for the first cylinder");
                return Err(Failure::new(Exit::Usage, Trouble::new(what, advice)));
            }
        },
    };
    for part in &knowledge.parts {
        for fault in part.fault.iter().filter(|f| !f.wear_only) {
            if name != format!("{}.{}", part.id.get_ref(), fault.id.get_ref()) {
                continue;
            }
            if (part.scope == Scope::Cylinder) != cylinder.is_some() {
                return Err(cylinder_wrong(name, part.scope));
            }
            let place = FaultPlace {
                part: part.id.get_ref().clone(),
                fault: fault.id.get_ref().clone(),
                cylinder,
            };
            let label = fault.label.clone();
            return Ok(Named { place, label });
        }
    }
    let what = format!("there is no cause `{name}`");
    let advice = format!(
        "perhaps {}; all of them: hardstart vocab faults",
        nearest(knowledge, name).join(", ")
    );
    Err(Failure::new(Exit::Usage, Trouble::new(what, advice)))
}

fn cylinder_wrong(name: &str, scope: Scope) -> Failure {
    let trouble = match scope {
        Scope::Cylinder => Trouble::new(
            format!("`{name}` is a fault of one cylinder"),
            format!("say which one, as in {name}:2"),
        ),
        Scope::Engine => Trouble::new(
            format!("`{name}` belongs to no cylinder"),
            format!("write {name}"),
        ),
    };
    Failure::new(Exit::Usage, trouble)
}

fn nearest(knowledge: &Knowledge, typed: &str) -> Vec<String> {
    let mut names: Vec<(f64, String)> = knowledge
        .parts
        .iter()
        .flat_map(|p| p.fault.iter().map(move |f| (p, f)))
        .map(|(p, f)| {
            let name = format!("{}.{}", p.id.get_ref(), f.id.get_ref());
            let by_label = strsim::jaro_winkler(&f.label, typed);
            (strsim::jaro_winkler(&name, typed).max(by_label), name)
        })
        .collect();
    names.sort_by(|a, b| b.0.total_cmp(&a.0));
    names.into_iter().take(SUGGESTED).map(|n| n.1).collect()
}
