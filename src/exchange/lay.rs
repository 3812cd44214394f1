//! Lays a map over the headings of a file.
//!
//! All problems of the map are found at once. Must not read cells.

use std::collections::BTreeMap;

use super::dates::{DateSpec, Serial};
use super::error::MapProblem;
use super::map::{DateSaid, Key, Map, TextSaid, problem_at};
use super::plan::{Column, ColumnSeen, Plan, Reads, ValueColumn};
use super::target::{self, Place, Shape};
use super::text::folded;
use crate::job::Proof;
use crate::knowledge::Knowledge;

/// First cells of totals that are known without being told (common practice, no source).
const FOOTERS: &[&str] = &[
    "total",
    "totals",
    "total:",
    "sum",
    "subtotal",
    "grand total",
    "summe",
    "gesamt",
];
/// Complaint of jobs of which nothing is written.
const NO_COMPLAINT: &str = "not recorded";

/// A map being laid.
pub(super) struct Maker<'a> {
    pub(super) map: &'a Map,
    pub(super) text: &'a str,
    pub(super) headings: &'a [String],
    pub(super) seen: &'a [ColumnSeen],
    pub(super) knowledge: &'a Knowledge,
    pub(super) volts: Option<f64>,
    pub(super) problems: Vec<MapProblem>,
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

impl Maker<'_> {
    pub(super) fn problem(&mut self, at: usize, what: impl Into<String>, try_: impl Into<String>) {
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
                self.problem(
                    p.span().start,
                    format!("there is no proof `{}`", p.get_ref()),
                    format!("one of {}", known.join(", ")),
                );
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
            complaint: self
                .map
                .job
                .complaint
                .clone()
                .unwrap_or_else(|| NO_COMPLAINT.to_owned()),
            proof,
            footers: own.chain(FOOTERS.iter().map(|f| (*f).to_owned())).collect(),
        }
    }

    /// The column of a heading; a problem if there is none.
    fn at(&mut self, heading: &Key) -> Option<usize> {
        let wanted = heading.get_ref().trim();
        let found = self.headings.iter().position(|h| h == wanted);
        let found = found.or_else(|| {
            self.headings
                .iter()
                .position(|h| folded(h) == folded(wanted))
        });
        if found.is_none() {
            self.missing(heading.span().start, wanted);
        }
        found
    }

    pub(super) fn missing(&mut self, at: usize, wanted: &str) {
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
            self.problem(
                0,
                "the map does not say what names a job",
                "add [key] with job = \"heading of the job number\"",
            );
        }
        key
    }

    fn engine(&mut self) -> (Vec<(String, String)>, Option<u8>) {
        let (mut rows, mut cylinders) = (Vec::new(), None);
        for (key, value) in &self.map.engine {
            let name = format!("engine.{}", key.get_ref());
            let Some((_, shape)) = target::find(self.knowledge, &name) else {
                self.problem(
                    key.span().start,
                    format!("an engine has no `{}`", key.get_ref()),
                    "use the keys of job files",
                );
                continue;
            };
            let number = value
                .as_integer()
                .map(|n| n as f64)
                .or_else(|| value.as_float());
            let json = match (&shape, number, value.as_str()) {
                (Shape::Bare { whole, low, high }, Some(n), _)
                    if (*low..=*high).contains(&n) && (!whole || n.fract() == 0.0) =>
                {
                    Some(format!("{n}"))
                }
                (Shape::States { states, .. }, _, Some(text)) => {
                    states.get(&folded(text)).map(|s| format!("\"{s}\""))
                }
                (Shape::Free, _, Some(text)) => Some(serde_json::Value::from(text).to_string()),
                (Shape::Quantity { dimension, .. }, _, Some(text)) => {
                    crate::units::Quantity::parse(text, *dimension, None)
                        .ok()
                        .map(|_| serde_json::Value::from(text).to_string())
                }
                _ => None,
            };
            match (json, key.get_ref().as_str()) {
                (None, name) => self.problem(
                    key.span().start,
                    format!("`{name}` cannot be {value}"),
                    "write it as in a job file",
                ),
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
                self.problem(
                    pattern.span().start,
                    format!("`{}` is no pattern of a date", pattern.get_ref()),
                    "write %d, %m and %Y with a separator: \"%d.%m.%Y\"",
                );
            }
        }
        if let Some(serial) = &said.serial {
            spec.serial = match serial.get_ref().as_str() {
                "1900" => Some(Serial::Y1900),
                "1904" => Some(Serial::Y1904),
                other => {
                    self.problem(
                        serial.span().start,
                        format!("there is no day count `{other}`"),
                        "write \"1900\" or \"1904\"",
                    );
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
                let said = said
                    .words
                    .iter()
                    .filter_map(|(w, p)| Some((folded(w), Proof::from_id(p)?)));
                Column::Shown(own.chain(said).collect())
            }
            other => {
                self.problem(
                    role.span().start,
                    format!("there is no role `{other}`"),
                    "one of cause, action, proof, complaint, note",
                );
                Column::Extra
            }
        }
    }
}
