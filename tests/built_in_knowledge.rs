//! The built-in knowledge files break no rule, and hang together.

use std::collections::BTreeSet;

use hardstart::knowledge::{Knowledge, KnowledgeFiles, Per, load};

fn knowledge() -> Knowledge {
    load(&KnowledgeFiles::built_in()).unwrap_or_else(|errors| {
        let lines: Vec<String> = errors
            .problems
            .iter()
            .map(|p| {
                format!(
                    "{}:{}:{}: {} ({}) [{}]",
                    p.file, p.line, p.column, p.what, p.advice, p.rule
                )
            })
            .collect();
        panic!("{}", lines.join("\n"))
    })
}

#[test]
fn no_rule_is_broken() {
    assert!(knowledge().checks.len() >= 100);
}

#[test]
fn every_caution_and_access_group_is_used() {
    let k = knowledge();
    let hazards: BTreeSet<&str> = k
        .checks
        .iter()
        .flat_map(|c| &c.hazards)
        .chain(k.repairs.iter().flat_map(|r| &r.hazards))
        .chain(k.access.iter().flat_map(|a| &a.hazards))
        .map(|h| h.get_ref().as_str())
        .collect();
    for hazard in &k.hazards {
        let id = hazard.id.get_ref().as_str();
        assert!(hazards.contains(id), "nobody is ever told {id}");
    }
    let opened = |id: &str| {
        let checks = k.checks.iter().flat_map(|c| &c.access);
        let after = k.access.iter().flat_map(|a| &a.after);
        checks.chain(after).any(|a| a.get_ref() == id)
    };
    for group in &k.access {
        assert!(opened(group.id.get_ref()), "{:?} is never opened", group.id);
    }
}

#[test]
fn a_mechanic_with_lamp_meter_leads_and_watch_has_work_in_every_large_system() {
    // The bench of the user's story: test lamp, meter, jump leads and stopwatch, one helper.
    let k = knowledge();
    let own = ["test_lamp", "multimeter", "jump_leads", "stopwatch"];
    let always: BTreeSet<&str> = k
        .tools
        .iter()
        .filter(|t| t.always)
        .map(|t| t.id.get_ref().as_str())
        .collect();
    let has = |t: &String| own.contains(&t.as_str()) || always.contains(t.as_str());
    for system in [
        "preheat",
        "cranking",
        "fuel_supply",
        "injectors",
        "pump",
        "engine",
        "air",
    ] {
        let count = k
            .checks
            .iter()
            .filter(|c| c.system == system && c.people <= 2)
            .filter(|c| c.tools.iter().all(|choice| choice.iter().any(has)))
            .count();
        assert!(count >= 2, "{system}: {count}");
    }
}

#[test]
fn a_check_of_a_cylinder_looks_at_something_of_that_cylinder() {
    let k = knowledge();
    let of_cylinders: BTreeSet<&str> = k
        .parts
        .iter()
        .filter(|p| p.scope == hardstart::knowledge::Scope::Cylinder)
        .map(|p| p.id.get_ref().as_str())
        .chain(["glow", "seal", "spray", "lights"])
        .collect();
    for check in &k.checks {
        let looks = check
            .looks_at
            .iter()
            .any(|v| of_cylinders.contains(v.get_ref().as_str()));
        assert_eq!(looks, check.per == Per::Cylinder, "{}", check.id.get_ref());
        assert!(
            check.minutes_each.is_none() || check.per == Per::Cylinder,
            "{}",
            check.id.get_ref()
        );
    }
}

#[test]
fn every_fault_is_looked_at_by_some_check() {
    // A set that is merely aged shows in its members.
    let k = knowledge();
    for part in &k.parts {
        let id = part.id.get_ref();
        for fault in part.fault.iter().filter(|f| !f.wear_only) {
            let state = fault.id.get_ref();
            let row = |r: &hardstart::knowledge::CheckRow| {
                r.given.get(id).is_some_and(|states| states.contains(state))
            };
            let link = |l: &hardstart::knowledge::SignLink| {
                l.var.get_ref() == id && l.state.get_ref() == state
            };
            let looks =
                |c: &hardstart::knowledge::Check| c.row.iter().any(row) || c.link.iter().any(link);
            assert!(k.checks.iter().any(looks), "no check tells {id}.{state}");
        }
    }
}
