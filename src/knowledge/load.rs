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

/// Systems in reading order, each with a file of parts.
pub(super) const SYSTEMS: [&str; 8] = [
    "preheat",
    "cranking",
    "fuel_supply",
    "injectors",
    "pump",
    "engine",
    "air",
    "operator",
];

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

type Parse<T> = Result<(usize, T), Problem>;

/// Parses the file of that name.
fn parse<T: serde::de::DeserializeOwned>(files: &KnowledgeFiles, name: &str) -> Parse<T> {
    let problem = |span: std::ops::Range<usize>, (line, column), what, advice: &str| Problem {
        file: name.to_owned(),
        span,
        line,
        column,
        what,
        advice: advice.to_owned(),
        rule: "parse",
    };
    let Some(index) = files.files.iter().position(|f| f.name == name) else {
        let advice = "every file of the set must be there, even if a table in it is empty";
        return Err(problem(
            0..0,
            (1, 1),
            "the file is missing".to_owned(),
            advice,
        ));
    };
    let text = &files.files[index].text;
    toml::from_str(text)
        .map(|value| (index, value))
        .map_err(|error| {
            let span = error.span().unwrap_or(0..0);
            let place = line_column(text, span.start);
            let advice = "compare with the same table in the built-in files";
            problem(span, place, error.message().to_owned(), advice)
        })
}

struct Reader<'a> {
    files: &'a KnowledgeFiles,
    problems: Vec<Problem>,
    defaults: Vec<Defaults>,
}

impl Reader<'_> {
    /// What was parsed, its problem kept.
    fn keep<T>(&mut self, parsed: Parse<T>) -> Option<(usize, T)> {
        parsed.map_err(|problem| self.problems.push(problem)).ok()
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
        let mut parts = Vec::new();
        for name in SYSTEMS {
            let parsed = parse::<SystemFile>(self.files, &format!("{name}.toml"));
            let parsed = self.keep(parsed);
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
        let files = self.files;
        // The two longest files are read side by side: half of a short answer's time is here.
        let (roots, checks) = rayon::join(
            || {
                (
                    parse::<RootFile>(files, "roots.toml"),
                    parse::<StartFile>(files, "starts.toml"),
                )
            },
            || parse::<CheckFile>(files, "checks.toml"),
        );
        let (roots, starts) = roots;
        let parts = self.parts();
        let functions = self.keep(parse::<FunctionFile>(files, "functions.toml"));
        let starts = self.keep(starts);
        let engines = self.keep(parse::<EngineFile>(files, "engines.toml"));
        let checks = self.keep(checks);
        let repairs = self.keep(parse::<RepairFile>(files, "repairs.toml"));
        let words = self.keep(parse::<WordFile>(files, "vocabulary.toml"));
        let roots = self.keep(roots);
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
