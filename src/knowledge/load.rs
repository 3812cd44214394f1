//! From texts to [`Knowledge`]: what was parsed is put together, then every rule is run.
//!
//! Must not parse.

use super::check::{Access, Check, Hazard, Tool};
use super::engine::{EngineFigures, RootLayer, StartFigures};
use super::figure::Defaults;
use super::files::KnowledgeFiles;
use super::function::Function;
use super::kept;
use super::parsed::Parsed;
use super::part::Part;
use super::problem::KnowledgeErrors;
use super::repair::Repair;
use super::rules;
use super::sign::Sign;
use super::word::{IssueCode, Word};

/// Everything the trade knows, as read from the files.
#[derive(Debug, Clone)]
pub struct Knowledge {
    /// Parts in reading order.
    pub parts: Vec<Part>,
    /// Functions, each after the variables it hangs on.
    pub functions: Vec<Function>,
    /// Signs.
    pub signs: Vec<Sign>,
    /// Figures of starts.
    pub starts: StartFigures,
    /// Figures of engines.
    pub engines: EngineFigures,
    /// Checks.
    pub checks: Vec<Check>,
    /// Access groups.
    pub access: Vec<Access>,
    /// Tools.
    pub tools: Vec<Tool>,
    /// Cautions.
    pub hazards: Vec<Hazard>,
    /// Repairs.
    pub repairs: Vec<Repair>,
    /// Other words for identifiers.
    pub words: Vec<Word>,
    /// Codes of import messages.
    pub issue_codes: Vec<IssueCode>,
    /// The generated layer of starting chances.
    pub roots: RootLayer,
    /// Defaults of each file, by index of the file.
    pub defaults: Vec<Defaults>,
    /// Hash of all files.
    pub sha256: String,
}

/// Reads the files and checks them.
///
/// # Errors
/// Every problem of every file: what does not parse, and what breaks a rule.
pub fn load(files: &KnowledgeFiles) -> Result<Knowledge, KnowledgeErrors> {
    checked(files).map(|(knowledge, _)| knowledge)
}

/// As [`load`], from what was kept of the same files when they were last read, if it is whole: they
/// were found sound then. Otherwise what is worth keeping comes back too.
///
/// # Errors
/// As [`load`].
pub fn load_kept(
    files: &KnowledgeFiles,
    bytes: Option<&[u8]>,
) -> Result<(Knowledge, Option<Vec<u8>>), KnowledgeErrors> {
    let sha256 = files.sha256();
    if let Some(parsed) = bytes.and_then(|bytes| kept::read(bytes, &sha256)) {
        return Ok((together(parsed, sha256), None));
    }
    checked(files).map(|(knowledge, bytes)| (knowledge, Some(bytes)))
}

fn checked(files: &KnowledgeFiles) -> Result<(Knowledge, Vec<u8>), KnowledgeErrors> {
    let parsed = Parsed::read(files).map_err(|problems| KnowledgeErrors { problems })?;
    let sha256 = files.sha256();
    let bytes = kept::write(&parsed, &sha256);
    let knowledge = together(parsed, sha256);
    let problems = rules::check_all(&knowledge, files);
    if problems.is_empty() {
        Ok((knowledge, bytes))
    } else {
        Err(KnowledgeErrors { problems })
    }
}

fn together(parsed: Parsed, sha256: String) -> Knowledge {
    let mut all = Vec::new();
    let mut defaults = |index: usize, defaults: Defaults| {
        while all.len() <= index {
            all.push(defaults.clone());
        }
        all[index] = defaults;
    };
    let mut parts = Vec::new();
    for (index, file) in parsed.systems {
        defaults(index, file.defaults);
        parts.extend(file.part.into_iter().map(|mut part| {
            part.system.clone_from(&file.system);
            part.file = index;
            part
        }));
    }
    let (i, mut functions) = parsed.functions;
    defaults(i, functions.defaults);
    functions.function.iter_mut().for_each(|f| f.file = i);
    let (i, mut starts) = parsed.starts;
    defaults(i, starts.defaults);
    starts.sign.iter_mut().for_each(|s| s.file = i);
    let (i, engines) = parsed.engines;
    defaults(i, engines.defaults);
    let (i, mut checks) = parsed.checks;
    defaults(i, checks.defaults);
    checks.check.iter_mut().for_each(|c| c.file = i);
    let (i, mut repairs) = parsed.repairs;
    defaults(i, repairs.defaults);
    repairs.repair.iter_mut().for_each(|r| r.file = i);
    let (i, words) = parsed.words;
    defaults(i, words.defaults);
    let (i, roots) = parsed.roots;
    defaults(i, roots.defaults);
    Knowledge {
        parts,
        functions: functions.function,
        signs: starts.sign,
        starts: starts.start,
        engines: engines.engines,
        checks: checks.check,
        access: checks.access,
        tools: checks.tool,
        hazards: checks.hazard,
        repairs: repairs.repair,
        words: words.word,
        issue_codes: words.issue_code,
        roots: roots.roots,
        defaults: all,
        sha256,
    }
}
