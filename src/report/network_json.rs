//! A network as `hardstart/network/1`.
//!
//! Holds the whole network: any engine can be fed from it. Must not reckon.

use serde_json::{Value, json};

use super::network_observed::Observed;
use super::network_text::parents;
use super::round;
use crate::network::{Fold, Network, Role, Step, Width};

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/network/1";

/// The document.
#[must_use]
pub fn network(
    network: &Network,
    observed: &Observed,
    width: Width,
    figures_sha256: &str,
) -> Value {
    let variables: Value = network
        .variables()
        .iter()
        .enumerate()
        .map(|(at, v)| {
            json!({
                "name": v.name,
                "role": role(v.role),
                "states": v.states,
                "parents": parents(network, at),
                "local": local(network, &v.local, v.states.len()),
            })
        })
        .collect();
    json!({
        "schema": SCHEMA,
        "figures_sha256": figures_sha256,
        "variables": variables,
        "seen": observed.seen(network),
        "likelihoods": observed.likelihoods(network),
        "log_scale": round::number(observed.log_scale),
        "width": {
            "entries": round::number(width.entries),
            "largest": round::number(width.largest),
            "operations": width.operations,
            "prologue": width.prologue,
            "cells": width.cells,
            "instructions": width.instructions,
        },
    })
}

/// How a variable comes about: the table over the drivers, `[drivers.., state]`, then what each
/// further parent contributes, `[parent state, contribution]`, and the state that follows,
/// `[state, contribution]`; last axis fastest.
fn local(network: &Network, local: &Fold, own: usize) -> Value {
    let name = |id| network.variable(id).name.as_str();
    let numbers = |cells: &[f64]| cells.iter().map(|c| round::number(*c)).collect::<Value>();
    let width = local.step.width(own);
    let next = (0..own).flat_map(|a| (0..width).map(move |z| (a, z)));
    let next = next.map(|(a, z)| local.step.next(a, z, own));
    json!({
        "drivers": local.drivers.iter().map(|d| name(*d)).collect::<Vec<_>>(),
        "table": numbers(&local.init),
        "step": match local.step {
            Step::Worst => "worst",
            Step::Sum => "sum",
            Step::Override => "override",
            Step::Table { .. } => "table",
        },
        "next": if local.from.is_empty() { Vec::new() } else { next.collect() },
        "from": local
            .from
            .iter()
            .map(|c| json!({ "parent": name(c.parent), "rows": numbers(&c.rows) }))
            .collect::<Value>(),
    })
}

fn role(role: Role) -> &'static str {
    match role {
        Role::Part => "part",
        Role::Function => "function",
        Role::Start => "start",
        Role::Sign => "sign",
        Role::Nominal => "nominal",
    }
}
