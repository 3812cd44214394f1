//! From texts to [`Knowledge`]: parses every file, then runs every rule.
//!
//! Must not stop at the first problem: a file that does not parse is reported and the
//! others are still read.

use serde::Deserialize;
use toml::Spanned;

use super::check::{Access, Check, Hazard, Tool};
use super::engine::{EngineFigures, RootLayer, StartFigures};
use super::figure::Defaults;
use super::files::KnowledgeFiles;
use super::function::Function;
use super::part::Part;
use super::problem::{KnowledgeErrors, Problem, line_column};
use super::repair::Repair;
use super::rules;
use super::sign::Sign;
use super::word::{IssueCode, Word};

/// Version of the format of the knowledge files.
pub const FORMAT: u32 = 1;

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

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct SystemFile {
    format: Spanned<u32>,
    system: String,
    defaults: Defaults,
    part: Vec<Part>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct FunctionFile {
    format: Spanned<u32>,
    defaults: Defaults,
    function: Vec<Function>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StartFile {
    format: Spanned<u32>,
    defaults: Defaults,
    start: StartFigures,
    sign: Vec<Sign>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct EngineFile {
    format: Spanned<u32>,
    defaults: Defaults,
    engines: EngineFigures,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CheckFile {
    format: Spanned<u32>,
    defaults: Defaults,
    access: Vec<Access>,
    tool: Vec<Tool>,
    hazard: Vec<Hazard>,
    check: Vec<Check>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RepairFile {
    format: Spanned<u32>,
    defaults: Defaults,
    repair: Vec<Repair>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct WordFile {
    format: Spanned<u32>,
    defaults: Defaults,
    #[serde(default)]
    word: Vec<Word>,
    #[serde(default)]
    issue_code: Vec<IssueCode>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RootFile {
    format: Spanned<u32>,
    defaults: Defaults,
    roots: RootLayer,
}

/// Reads the files and checks them.
///
/// # Errors
/// Every problem of every file: what does not parse, and what breaks a rule.
pub fn load(files: &KnowledgeFiles) -> Result<Knowledge, KnowledgeErrors> {
    let mut reader = Reader {
        files,
        problems: Vec::new(),
        defaults: Vec::new(),
    };
    let knowledge = reader.read();
    let Some(knowledge) = knowledge.filter(|_| reader.problems.is_empty()) else {
        return Err(KnowledgeErrors {
            problems: reader.problems,
        });
    };
    let problems = rules::check_all(&knowledge, files);
    if problems.is_empty() {
        Ok(knowledge)
    } else {
        Err(KnowledgeErrors { problems })
    }
}

struct Reader<'a> {
    files: &'a KnowledgeFiles,
    problems: Vec<Problem>,
    defaults: Vec<Defaults>,
}

impl Reader<'_> {
    /// Parses the file of that name; a failure becomes a problem.
    fn parse<T: serde::de::DeserializeOwned>(&mut self, name: &str) -> Option<(usize, T)> {
        let index = self.files.files.iter().position(|f| f.name == name);
        let Some(index) = index else {
            self.problems.push(Problem {
                file: name.to_owned(),
                span: 0..0,
                line: 1,
                column: 1,
                what: "the file is missing".to_owned(),
                advice: "every file of the set must be there, even if a table in it is empty"
                    .to_owned(),
                rule: "parse",
            });
            return None;
        };
        let text = &self.files.files[index].text;
        match toml::from_str(text) {
            Ok(value) => Some((index, value)),
            Err(error) => {
                let span = error.span().unwrap_or(0..0);
                let (line, column) = line_column(text, span.start);
                self.problems.push(Problem {
                    file: name.to_owned(),
                    span,
                    line,
                    column,
                    what: error.message().to_owned(),
                    advice: "compare with the same table in the built-in files".to_owned(),
                    rule: "parse",
                });
                None
            }
        }
    }

    fn defaults(&mut self, index: usize, format: &Spanned<u32>, defaults: Defaults) {
        if *format.get_ref() != FORMAT {
            let file = &self.files.files[index];
            let (line, column) = line_column(&file.text, format.span().start);
            self.problems.push(Problem {
                file: file.name.clone(),
                span: format.span(),
                line,
                column,
                what: format!("format {} is not known", format.get_ref()),
                advice: format!("this program reads `format = {FORMAT}`"),
                rule: "format",
            });
        }
        while self.defaults.len() <= index {
            self.defaults.push(defaults.clone());
        }
        self.defaults[index] = defaults;
    }

    fn parts(&mut self) -> Vec<Part> {
        const SYSTEMS: [&str; 8] = [
            "preheat",
            "cranking",
            "fuel_supply",
            "injectors",
            "pump",
            "engine",
            "air",
            "operator",
        ];
        let mut parts = Vec::new();
        for name in SYSTEMS {
            let parsed = self.parse::<SystemFile>(&format!("{name}.toml"));
            if let Some((index, file)) = parsed {
                self.defaults(index, &file.format, file.defaults);
                parts.extend(file.part.into_iter().map(|mut part| {
                    part.system.clone_from(&file.system);
                    part.file = index;
                    part
                }));
            }
        }
        parts
    }

    fn read(&mut self) -> Option<Knowledge> {
        let parts = self.parts();
        let functions = self.parse::<FunctionFile>("functions.toml");
        let starts = self.parse::<StartFile>("starts.toml");
        let engines = self.parse::<EngineFile>("engines.toml");
        let checks = self.parse::<CheckFile>("checks.toml");
        let repairs = self.parse::<RepairFile>("repairs.toml");
        let words = self.parse::<WordFile>("vocabulary.toml");
        let roots = self.parse::<RootFile>("roots.toml");
        let (i, mut functions) = functions?;
        self.defaults(i, &functions.format, functions.defaults);
        functions.function.iter_mut().for_each(|f| f.file = i);
        let (i, mut starts) = starts?;
        self.defaults(i, &starts.format, starts.defaults);
        starts.sign.iter_mut().for_each(|s| s.file = i);
        let (i, engines) = engines?;
        self.defaults(i, &engines.format, engines.defaults);
        let (i, mut checks) = checks?;
        self.defaults(i, &checks.format, checks.defaults);
        checks.check.iter_mut().for_each(|c| c.file = i);
        let (i, mut repairs) = repairs?;
        self.defaults(i, &repairs.format, repairs.defaults);
        repairs.repair.iter_mut().for_each(|r| r.file = i);
        let (i, words) = words?;
        self.defaults(i, &words.format, words.defaults);
        let (i, roots) = roots?;
        self.defaults(i, &roots.format, roots.defaults);
        Some(Knowledge {
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
            defaults: std::mem::take(&mut self.defaults),
            sha256: self.files.sha256(),
        })
    }
}
