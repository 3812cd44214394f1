//! A map laid over the headings of a file: what to do with each column.
//!
//! All problems of the map are found at once. Must not read cells.

use std::collections::BTreeMap;

use super::cell::{Meaning, Numbers};
use super::dates::{DateSpec, SeenDates, Serial};
use super::decimal::{Decimal, Seen};
use super::error::MapProblem;
use super::headings;
use super::map::{ColumnSaid, DateSaid, Key, Map, TextSaid, problem_at};
use super::target::{self, Place, Shape};
use super::text::folded;
use super::windows;
use crate::job::{Absent, Proof};
use crate::knowledge::Knowledge;
use crate::units::{Dimension, Unit};

/// How the cells of a column are read.
#[derive(Debug, Clone, PartialEq)]
pub enum Reads {
    /// A number with a unit, or one of some states.
    Numbers(Box<Numbers>, BTreeMap<String, String>),
    /// A bare number: decimal and thousands sign, whole only, bounds.
    Bare((Decimal, Option<char>), bool, (f64, f64)),
    /// One of some words.
    States(BTreeMap<String, String>),
    /// Any text.
    Free,
}

/// Repeats within a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repeat {
    /// Separator.
    pub separator: String,
    /// They are cylinders, not trials.
    pub cylinders: bool,
}

/// A column that holds a value.
#[derive(Debug, Clone, PartialEq)]
pub struct ValueColumn {
    /// Where it goes.
    pub place: Place,
    /// How it is read.
    pub reads: Reads,
    /// Whether reasons for having no value can be kept there.
    pub absent: bool,
    /// Words of the map.
    pub words: BTreeMap<String, Meaning>,
    /// Cylinder of the column.
    pub cylinder: Option<u8>,
    /// Trial of the column.
    pub trial: Option<u32>,
    /// Repeats within a cell.
    pub repeat: Option<Repeat>,
}

/// What to do with a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Column {
    /// The date of the record, and the column of its time.
    Date(DateSpec, Option<usize>),
    /// A value.
    Value(Box<ValueColumn>),
    /// What was found.
    Cause,
    /// What was done.
    Action,
    /// How it was shown: word to level.
    Shown(BTreeMap<String, Proof>),
    /// Kept under its heading.
    Extra,
    /// Read elsewhere, or left out on purpose.
    Ignored,
}

/// What to do with every column.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Headings.
    pub headings: Vec<String>,
    /// Columns, in the same order.
    pub columns: Vec<Column>,
    /// Columns that name a job.
    pub key: Vec<usize>,
    /// What holds for every engine, key and JSON value.
    pub engine: Vec<(String, String)>,
    /// Number of cylinders, if the map says.
    pub cylinders: Option<u8>,
    /// Complaint of jobs without one.
    pub complaint: String,
    /// How findings are shown, if no column says.
    pub proof: Option<Proof>,
    /// First cells of totals, folded; `*` at the end stands for anything.
    pub footers: Vec<String>,
}

impl Plan {
    /// Number of columns that are not only kept under their heading.
    #[must_use]
    pub fn understood(&self) -> usize {
        let kept = self.columns.iter().filter(|c| matches!(c, Column::Extra)).count();
        self.columns.len() - kept
    }
}

/// What the first walk through the file found in each column.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ColumnSeen {
    /// Decimal signs.
    pub numbers: Seen,
    /// Dates.
    pub dates: SeenDates,
}

/// First cells of totals that are known without being told (common practice, no source).
const FOOTERS: &[&str] = &["total", "totals", "total:", "sum", "subtotal", "grand total", "summe", "gesamt"];
/// Complaint of jobs of which nothing is written.
const NO_COMPLAINT: &str = "not recorded";

struct Maker<'a> {
    map: &'a Map,
    text: &'a str,
    headings: &'a [String],
    seen: &'a [ColumnSeen],
    knowledge: &'a Knowledge,
    volts: Option<f64>,
    problems: Vec<MapProblem>,
}

/// Lays a map over headings. `text` is the map as written; `seen` may be empty before the file
/// was walked through.
///
/// # Errors
/// Every problem of the map.
pub fn make(
    map: &Map,
    text: &str,
    headings: &[String],
    seen: &[ColumnSeen],
    knowledge: &Knowledge,
) -> Result<Plan, Vec<MapProblem>> {
    let mut maker = Maker {
        map,
        text,
        headings,
        seen,
        knowledge,
        volts: None,
        problems: Vec::new(),
    };
    let plan = maker.plan();
    if maker.problems.is_empty() {
        return Ok(plan);
    }
    maker.problems.sort_by_key(|p| (p.line, p.column));
    Err(maker.problems)
}

/// Whether a column of this shape can hold the state.
fn may_be(shape: &Shape, state: &str) -> bool {
    match shape {
        Shape::Free => true,
        Shape::Bare { .. } => false,
        Shape::States { states, .. } => states.values().any(|s| s == state),
        Shape::Quantity { states, off_scale, .. } => {
            states.values().any(|s| s == state) || off_scale.as_deref() == Some(state)
        }
    }
}

impl Maker<'_> {
    fn problem(&mut self, at: usize, what: impl Into<String>, try_: impl Into<String>) {
        self.problems.push(problem_at(self.text, at, what, try_));
    }

    fn plan(&mut self) -> Plan {
        let (engine, cylinders) = self.engine();
        let mut columns = vec![Column::Extra; self.headings.len()];
        let key = self.key(&mut columns);
        for (heading, said) in &self.map.date {
            self.date(heading, said, &mut columns);
        }
        for (heading, said) in &self.map.text {
            if let Some(at) = self.at(heading) {
                columns[at] = self.text_column(said);
            }
        }
        for (pattern, said) in &self.map.col {
            self.values(pattern, said, cylinders, &mut columns);
        }
        let proof = self.map.job.proof.as_ref().and_then(|p| {
            let level = Proof::from_id(p.get_ref());
            if level.is_none() {
                let known: Vec<&str> = Proof::ALL.iter().map(|p| p.id()).collect();
                self.problem(p.span().start, format!("there is no proof `{}`", p.get_ref()), format!("one of {}", known.join(", ")));
            }
            level
        });
        let own = self.map.file.footer.0.iter();
        let own = own.map(|f| folded(f.trim_start_matches('^').trim_end_matches('$')));
        Plan {
            headings: self.headings.to_vec(),
            columns,
            key,
            engine,
            cylinders,
            complaint: self.map.job.complaint.clone().unwrap_or_else(|| NO_COMPLAINT.to_owned()),
            proof,
            footers: own.chain(FOOTERS.iter().map(|f| (*f).to_owned())).collect(),
        }
    }

    /// The column of a heading; a problem if there is none.
    fn at(&mut self, heading: &Key) -> Option<usize> {
        let wanted = heading.get_ref().trim();
        let found = self.headings.iter().position(|h| h == wanted);
        let found = found.or_else(|| self.headings.iter().position(|h| folded(h) == folded(wanted)));
        if found.is_none() {
            self.missing(heading.span().start, wanted);
        }
        found
    }

    fn missing(&mut self, at: usize, wanted: &str) {
        let near = self.headings.iter().max_by(|a, b| {
            let like = |h: &String| strsim::normalized_damerau_levenshtein(h, wanted);
            like(a).total_cmp(&like(b))
        });
        let try_ = near.map_or_else(String::new, |n| format!("did you mean `{n}`?"));
        self.problem(at, format!("no column has the heading `{wanted}`"), try_);
    }

    fn key(&mut self, columns: &mut [Column]) -> Vec<usize> {
        let mut key = Vec::new();
        for wanted in &self.map.key.job.0 {
            let plain = folded(wanted);
            match self.headings.iter().position(|h| folded(h) == plain) {
                Some(at) => {
                    columns[at] = Column::Ignored;
                    key.push(at);
                }
                None => {
                    let at = self.text.find(wanted.as_str()).unwrap_or(0);
                    self.missing(at, wanted);
                }
            }
        }
        if self.map.key.job.0.is_empty() {
            self.problem(0, "the map does not say what names a job", "add [key] with job = \"heading of the job number\"");
        }
        key
    }

    fn engine(&mut self) -> (Vec<(String, String)>, Option<u8>) {
        let (mut rows, mut cylinders) = (Vec::new(), None);
        for (key, value) in &self.map.engine {
            let name = format!("engine.{}", key.get_ref());
            let Some((_, shape)) = target::find(self.knowledge, &name) else {
                self.problem(key.span().start, format!("an engine has no `{}`", key.get_ref()), "use the keys of job files");
                continue;
            };
            let number = value.as_integer().map(|n| n as f64).or_else(|| value.as_float());
            let json = match (&shape, number, value.as_str()) {
                (Shape::Bare { whole, low, high }, Some(n), _) if (*low..=*high).contains(&n) && (!whole || n.fract() == 0.0) => Some(format!("{n}")),
                (Shape::States { states, .. }, _, Some(text)) => states.get(&folded(text)).map(|s| format!("\"{s}\"")),
                (Shape::Free, _, Some(text)) => Some(serde_json::Value::from(text).to_string()),
                (Shape::Quantity { dimension, .. }, _, Some(text)) => crate::units::Quantity::parse(text, *dimension, None).ok().map(|_| serde_json::Value::from(text).to_string()),
                _ => None,
            };
            match (json, key.get_ref().as_str()) {
                (None, name) => self.problem(key.span().start, format!("`{name}` cannot be {value}"), "write it as in a job file"),
                (Some(json), name) => {
                    if name == "cylinders" {
                        cylinders = number.map(|n| n as u8);
                    }
                    if name == "system_volts" {
                        self.volts = number;
                    }
                    rows.push((name.to_owned(), json));
                }
            }
        }
        (rows, cylinders)
    }

    fn date(&mut self, heading: &Key, said: &DateSaid, columns: &mut [Column]) {
        let Some(at) = self.at(heading) else { return };
        let mut spec = DateSpec {
            pivot: said.pivot,
            settled: self.seen.get(at).and_then(|s| s.dates.settled()),
            ..DateSpec::default()
        };
        for pattern in &said.patterns {
            if !spec.state(pattern.get_ref()) {
                self.problem(pattern.span().start, format!("`{}` is no pattern of a date", pattern.get_ref()), "write %d, %m and %Y with a separator: \"%d.%m.%Y\"");
            }
        }
        if let Some(serial) = &said.serial {
            spec.serial = match serial.get_ref().as_str() {
                "1900" => Some(Serial::Y1900),
                "1904" => Some(Serial::Y1904),
                other => {
                    self.problem(serial.span().start, format!("there is no day count `{other}`"), "write \"1900\" or \"1904\"");
                    None
                }
            };
        }
        let time = said.time.as_ref().and_then(|t| {
            let found = self.headings.iter().position(|h| folded(h) == folded(t));
            if found.is_none() {
                self.missing(heading.span().start, t);
            }
            found
        });
        if let Some(time) = time {
            columns[time] = Column::Ignored;
        }
        columns[at] = Column::Date(spec, time);
    }

    fn text_column(&mut self, said: &TextSaid) -> Column {
        let free = |place| {
            Column::Value(Box::new(ValueColumn {
                place,
                reads: Reads::Free,
                absent: false,
                words: BTreeMap::new(),
                cylinder: None,
                trial: None,
                repeat: None,
            }))
        };
        let Some(role) = &said.role else {
            return free(Place::Note);
        };
        match role.get_ref().as_str() {
            "cause" => Column::Cause,
            "action" => Column::Action,
            "complaint" => free(Place::Complaint),
            "note" => free(Place::Note),
            "proof" => {
                let own = Proof::ALL.iter().map(|p| (p.id().to_owned(), *p));
                let said = said.words.iter().filter_map(|(w, p)| Some((folded(w), Proof::from_id(p)?)));
                Column::Shown(own.chain(said).collect())
            }
            other => {
                self.problem(role.span().start, format!("there is no role `{other}`"), "one of cause, action, proof, complaint, note");
                Column::Extra
            }
        }
    }

    fn values(&mut self, pattern: &Key, said: &ColumnSaid, cylinders: Option<u8>, columns: &mut [Column]) {
        let matching: Vec<(usize, Option<u8>, Option<u32>)> = self
            .headings
            .iter()
            .enumerate()
            .filter_map(|(at, h)| headings::fits(pattern.get_ref(), h).map(|(c, t)| (at, c, t)))
            .collect();
        if matching.is_empty() {
            self.missing(pattern.span().start, pattern.get_ref());
            return;
        }
        let name = said.to.as_ref().map_or("extra", |t| t.get_ref().as_str());
        let spot = said.to.as_ref().map_or(pattern.span().start, |t| t.span().start);
        let Some((place, shape)) = target::find(self.knowledge, name) else {
            self.problem(spot, format!("nothing is called `{name}`"), "use an id from `hardstart vocab checks` or `signs`, or `extra`");
            return;
        };
        for (at, cylinder, trial) in matching {
            let cylinder = cylinder.or(said.cylinder);
            if let Place::Reading { check, each } = &place {
                let one = cylinder.or((cylinders == Some(1)).then_some(1));
                let in_cell = said.repeat_is.as_ref().is_some_and(|r| r.get_ref() == "cylinders");
                let cylinder_wrong = match (each, cylinder) {
                    (true, None) => one.is_none() && !in_cell,
                    (false, Some(_)) => true,
                    (_, Some(c)) => c < 1 || c > cylinders.unwrap_or(12),
                    _ => false,
                };
                if cylinder_wrong {
                    let what = match (each, cylinder) {
                        (false, _) => format!("`{check}` is for the whole engine, not for a cylinder"),
                        (true, None) => format!("`{check}` is for one cylinder, and none is named"),
                        (true, Some(c)) => format!("`{check}` at cylinder {c}: no such cylinder"),
                    };
                    self.problem(spot, what, "write {cyl} in the heading, or `cylinder = 1`");
                    return;
                }
            }
            columns[at] = match place {
                Place::Extra => Column::Extra,
                Place::Ignored => Column::Ignored,
                _ => {
                    let one = (cylinders == Some(1)).then_some(1);
                    let each = matches!(place, Place::Reading { each: true, .. });
                    let value = ValueColumn {
                        place: place.clone(),
                        reads: self.reads(at, said, &shape),
                        absent: matches!(shape, Shape::Quantity { absent: true, .. } | Shape::States { absent: true, .. }),
                        words: self.words(said, pattern, &shape),
                        cylinder: if each { cylinder.or(one) } else { None },
                        trial,
                        repeat: self.repeat(said),
                    };
                    Column::Value(Box::new(value))
                }
            };
        }
    }

    fn repeat(&mut self, said: &ColumnSaid) -> Option<Repeat> {
        let separator = said.repeat.clone().filter(|s| !s.is_empty())?;
        let cylinders = match &said.repeat_is {
            None => false,
            Some(is) if is.get_ref() == "trials" => false,
            Some(is) if is.get_ref() == "cylinders" => true,
            Some(is) => {
                self.problem(is.span().start, format!("repeats are not `{}`", is.get_ref()), "write \"trials\" or \"cylinders\"");
                false
            }
        };
        Some(Repeat { separator, cylinders })
    }

    fn words(&mut self, said: &ColumnSaid, pattern: &Key, shape: &Shape) -> BTreeMap<String, Meaning> {
        let mut words = BTreeMap::new();
        for (word, value) in &said.words {
            let meaning = match value {
                toml::Value::String(text) => match Absent::from_id(text) {
                    Some(absent) => Some(Meaning::Absent(absent)),
                    None => may_be(shape, text).then(|| Meaning::State(text.clone())),
                },
                toml::Value::Table(table) => {
                    let number = table.get("value").and_then(|v| v.as_float().or_else(|| v.as_integer().map(|n| n as f64)));
                    let cmp = match table.get("cmp").and_then(toml::Value::as_str) {
                        Some(">") => Some(">"),
                        Some("<") => Some("<"),
                        Some("~") => Some("~"),
                        Some("=") | None => Some(""),
                        Some(_) => None,
                    };
                    number.zip(cmp).map(|(n, c)| Meaning::Number(c, n))
                }
                _ => None,
            };
            match meaning {
                Some(meaning) => {
                    words.insert(folded(word), meaning);
                }
                None => {
                    let what = format!("the word `{word}` of this column means nothing");
                    self.problem(pattern.span().start, what, "write a state, a reason, or { cmp = \">\", value = 60 }");
                }
            }
        }
        words
    }

    fn decimal(&mut self, at: usize, said: &ColumnSaid) -> (Decimal, Option<char>) {
        let stated = said.decimal.as_ref().or(self.map.file.decimal.as_ref());
        let stated = stated.and_then(|d| match d.get_ref().as_str() {
            "," => Some(Decimal::Comma),
            "." => Some(Decimal::Dot),
            other => {
                let what = format!("`{other}` is no decimal sign");
                self.problems.push(problem_at(self.text, d.span().start, what, "write \",\" or \".\""));
                None
            }
        });
        let thousands = said.thousands.as_ref().or(self.map.file.thousands.as_ref());
        let thousands = thousands.and_then(|t| t.chars().next());
        let seen = self.seen.get(at).map(|s| s.numbers).unwrap_or_default();
        (seen.decide(stated), thousands)
    }

    fn reads(&mut self, at: usize, said: &ColumnSaid, shape: &Shape) -> Reads {
        let (decimal, thousands) = self.decimal(at, said);
        match shape {
            Shape::Free => Reads::Free,
            Shape::States { states, .. } => Reads::States(states.clone()),
            Shape::Bare { whole, low, high } => Reads::Bare((decimal, thousands), *whole, (*low, *high)),
            Shape::Quantity { dimension, window, off_scale, states, .. } => {
                let (unit, heading) = self.unit(at, said, *dimension);
                let numbers = Numbers {
                    decimal,
                    thousands,
                    dimension: *dimension,
                    unit,
                    heading,
                    window: windows::of(window, *dimension, self.volts),
                    counter: matches!(window.as_str(), "hours" | "distance" | "soak" | "work"),
                    guess_units: said.guess_units,
                    turn_sign: said.turn_sign,
                    day_fraction: said.day_fraction,
                    off_scale: off_scale.clone(),
                };
                Reads::Numbers(Box::new(numbers), states.clone())
            }
        }
    }

    /// Unit of bare numbers, and whether the heading states it.
    fn unit(&mut self, at: usize, said: &ColumnSaid, dimension: Dimension) -> (Option<Unit>, bool) {
        let own = said.unit.as_ref().and_then(|u| {
            let text = u.get_ref();
            let unit = Unit::by_code(dimension, text).or_else(|| Unit::meant_by(dimension, text).first().copied());
            if unit.is_none() {
                let what = format!("`{text}` is no unit of a {}", dimension.name());
                self.problem(u.span().start, what, "see `hardstart units`");
            }
            unit
        });
        let heading = headings::unit(&self.headings[at], dimension);
        match (heading, said.heading_wrong) {
            (Some(unit), false) => (Some(unit), true),
            _ => (own, false),
        }
    }
}
