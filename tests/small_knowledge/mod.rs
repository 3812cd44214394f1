//! A small knowledge for tests that read job files: ids and states, no real figures.

use hardstart::knowledge::{
    Check, EngineFigures, Knowledge, Part, Repair, RootLayer, Sign, StartFigures, Tool, Word,
};

#[derive(serde::Deserialize)]
struct Small {
    part: Vec<Part>,
    sign: Vec<Sign>,
    tool: Vec<Tool>,
    check: Vec<Check>,
    repair: Vec<Repair>,
    word: Vec<Word>,
    start: StartFigures,
    engines: EngineFigures,
}

/// The knowledge of `small.toml`.
pub fn small() -> Knowledge {
    let small: Small = toml::from_str(include_str!("small.toml")).unwrap();
    Knowledge {
        parts: small.part,
        functions: Vec::new(),
        signs: small.sign,
        starts: small.start,
        engines: small.engines,
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
