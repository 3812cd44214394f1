//! A network as `hardstart/network/1`.
//!
//! Must not print figures; the interchange format holds them.

use serde_json::{Value, json};

use super::network_text::parents;
use super::round;
use crate::network::{Network, Role, Width};

/// Schema of the document.
pub const SCHEMA: &str = "hardstart/network/1";

/// The document.
#[must_use]
pub fn network(network: &Network, width: Width, figures_sha256: &str) -> Value {
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
            })
        })
        .collect();
    json!({
        "schema": SCHEMA,
        "figures_sha256": figures_sha256,
        "variables": variables,
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

fn role(role: Role) -> &'static str {
    match role {
        Role::Part => "part",
        Role::Function => "function",
        Role::Start => "start",
        Role::Sign => "sign",
        Role::Nominal => "nominal",
    }
}
