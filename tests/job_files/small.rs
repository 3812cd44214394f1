//! A small knowledge for tests that read job files: real signs and parts, a few checks.

use std::sync::LazyLock;

use hardstart::knowledge::{
    Check, EngineFigures, Knowledge, Part, Repair, RootLayer, Sign, StartFigures, Tool, Word,
};

#[derive(serde::Deserialize)]
struct Small {
    tool: Vec<Tool>,
    check: Vec<Check>,
    repair: Vec<Repair>,
    word: Vec<Word>,
}

#[derive(serde::Deserialize)]
struct System {
    part: Vec<Part>,
}

#[derive(serde::Deserialize)]
struct Starts {
    start: StartFigures,
    sign: Vec<Sign>,
}

#[derive(serde::Deserialize)]
struct Engines {
    engines: EngineFigures,
}

/// The knowledge of `small.toml` with real signs and two systems of parts.
pub fn small() -> &'static Knowledge {
    static SMALL: LazyLock<Knowledge> = LazyLock::new(load);
    &SMALL
}

fn load() -> Knowledge {
    let small: Small = toml::from_str(include_str!("small.toml")).unwrap();
    let preheat: System = toml::from_str(include_str!("../../priors/preheat.toml")).unwrap();
    let cranking: System = toml::from_str(include_str!("../../priors/cranking.toml")).unwrap();
    let starts: Starts = toml::from_str(include_str!("../../priors/starts.toml")).unwrap();
    let engines: Engines = toml::from_str(include_str!("../../priors/engines.toml")).unwrap();
    Knowledge {
        parts: preheat.part.into_iter().chain(cranking.part).collect(),
        functions: Vec::new(),
        signs: starts.sign,
        starts: starts.start,
        engines: engines.engines,
        checks: small.check,
        access: Vec::new(),
        tools: small.tool,
        hazards: Vec::new(),
        repairs: small.repair,
        words: small.word,
        issue_codes: Vec::new(),
        roots: RootLayer::default(),
        defaults: Vec::new(),
        sha256: String::new(),
    }
}
