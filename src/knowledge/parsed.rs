//! The files as they are parsed, each by itself.
//!
//! Must not stop at the first problem: a file that does not parse is reported and the others are
//! still read. Must not put them together.

use serde::{Deserialize, Serialize};

use super::check::{Access, Check, Hazard, Tool};
use super::engine::{EngineFigures, RootLayer, StartFigures};
use super::figure::Defaults;
use super::files::KnowledgeFiles;
use super::function::Function;
use super::part::Part;
use super::problem::{Problem, line_column};
use super::repair::Repair;
use super::sign::Sign;
use super::spanned::Spanned;
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

/// Parts of one system.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SystemFile {
    pub format: Spanned<u32>,
    pub system: String,
    pub defaults: Defaults,
    pub part: Vec<Part>,
}

/// Functions.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FunctionFile {
    pub format: Spanned<u32>,
    pub defaults: Defaults,
    pub function: Vec<Function>,
}

/// Figures of starts, and signs.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StartFile {
    pub format: Spanned<u32>,
    pub defaults: Defaults,
    pub start: StartFigures,
    pub sign: Vec<Sign>,
}

/// Figures of engines.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct EngineFile {
    pub format: Spanned<u32>,
    pub defaults: Defaults,
    pub engines: EngineFigures,
}

/// Checks and what they need.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CheckFile {
    pub format: Spanned<u32>,
    pub defaults: Defaults,
    pub access: Vec<Access>,
    pub tool: Vec<Tool>,
    pub hazard: Vec<Hazard>,
    pub check: Vec<Check>,
}

/// Repairs.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RepairFile {
    pub format: Spanned<u32>,
    pub defaults: Defaults,
    pub repair: Vec<Repair>,
}

/// Words and codes.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WordFile {
    pub format: Spanned<u32>,
    pub defaults: Defaults,
    #[serde(default)]
    pub word: Vec<Word>,
    #[serde(default)]
    pub issue_code: Vec<IssueCode>,
}

/// The generated layer.
#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RootFile {
    pub format: Spanned<u32>,
    pub defaults: Defaults,
    pub roots: RootLayer,
}

/// A file with its place in the set.
pub(super) type Placed<T> = (usize, T);

/// All files.
#[derive(Debug, Deserialize, Serialize)]
pub(super) struct Parsed {
    pub systems: Vec<Placed<SystemFile>>,
    pub functions: Placed<FunctionFile>,
    pub starts: Placed<StartFile>,
    pub engines: Placed<EngineFile>,
    pub checks: Placed<CheckFile>,
    pub repairs: Placed<RepairFile>,
    pub words: Placed<WordFile>,
    pub roots: Placed<RootFile>,
}

type Parse<T> = Result<Placed<T>, Problem>;

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
}

impl Reader<'_> {
    /// What was parsed, if it is of this format; problems are kept.
    fn keep<T>(
        &mut self,
        parsed: Parse<T>,
        format: impl Fn(&T) -> &Spanned<u32>,
    ) -> Option<Placed<T>> {
        let parsed = parsed.map_err(|problem| self.problems.push(problem)).ok()?;
        let format = format(&parsed.1);
        if *format.get_ref() != FORMAT {
            let file = &self.files.files[parsed.0];
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
        Some(parsed)
    }

    fn read(&mut self) -> Option<Parsed> {
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
        let systems = SYSTEMS.map(|name| {
            let parsed = parse::<SystemFile>(files, &format!("{name}.toml"));
            self.keep(parsed, |f| &f.format)
        });
        let functions = self.keep(parse(files, "functions.toml"), |f: &FunctionFile| &f.format);
        let starts = self.keep(starts, |f| &f.format);
        let engines = self.keep(parse(files, "engines.toml"), |f: &EngineFile| &f.format);
        let checks = self.keep(checks, |f| &f.format);
        let repairs = self.keep(parse(files, "repairs.toml"), |f: &RepairFile| &f.format);
        let words = self.keep(parse(files, "vocabulary.toml"), |f: &WordFile| &f.format);
        let roots = self.keep(roots, |f| &f.format);
        Some(Parsed {
            systems: systems.into_iter().flatten().collect(),
            functions: functions?,
            starts: starts?,
            engines: engines?,
            checks: checks?,
            repairs: repairs?,
            words: words?,
            roots: roots?,
        })
    }
}

impl Parsed {
    /// Parses every file.
    ///
    /// # Errors
    /// Every problem of every file.
    pub fn read(files: &KnowledgeFiles) -> Result<Self, Vec<Problem>> {
        let mut reader = Reader {
            files,
            problems: Vec::new(),
        };
        let parsed = reader.read();
        let parsed = parsed.filter(|_| reader.problems.is_empty());
        parsed.ok_or(reader.problems)
    }
}
