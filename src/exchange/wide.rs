//! A long table made wide, one row a job, and back: exact inverses.
//!
//! Headings are `property[_unit][_c<cylinder>][_t<trial>][_n<time>]`; what the cell alone does
//! not say stands in columns `HEADING__column`. Holds the table in memory. Must not judge.

use std::collections::{BTreeMap, BTreeSet};

use super::error::ExchangeError;
use super::long::{COLUMNS, NA, Row, at};
use super::tokens::{of_short, short};
use crate::job::Absent;

/// Units that may stand in a heading: code and ending.
const ENDINGS: &[(&str, &str)] = &[
    ("s", "s"),
    ("min", "min"),
    ("h", "h"),
    ("V", "v"),
    ("A", "a"),
    ("bar", "bar"),
    ("[psi]", "psi"),
    ("kPa", "kpa"),
    ("att", "kgcm2"),
    ("Ohm", "ohm"),
    ("Cel", "degc"),
    ("[degF]", "degf"),
    ("K", "kelvin"),
    ("/min", "rpm"),
];
/// Ending of a heading whose property could be taken for more.
const PLAIN: &str = "x";
/// Column of the number of a row in its job, where nothing else tells its order.
const NUMBER: &str = "row";
/// Columns that the heading itself holds.
const IN_HEADING: [&str; 4] = ["job_id", "property", "cylinder", "trial"];

/// Headings and rows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wide {
    /// Headings, `job_id` first.
    pub headings: Vec<String>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Place {
    property: String,
    cylinder: String,
    trial: String,
    time: usize,
}

fn own_columns() -> impl Iterator<Item = &'static str> {
    COLUMNS.iter().copied().filter(|c| !IN_HEADING.contains(c))
}

/// What a cell of a wide table says by itself.
fn derived(cell: &str, unit: Option<&str>) -> BTreeMap<&'static str, String> {
    let mut says: BTreeMap<&'static str, String> =
        own_columns().map(|c| (c, NA.to_owned())).collect();
    let mut say = |column, text: &str| says.insert(column, text.to_owned());
    if let Some(absent) = of_short(cell) {
        say("state", absent.id());
    } else if cell.parse::<f64>().is_ok() {
        say("value_num", cell);
        say("unit", unit.unwrap_or(NA));
        if unit.is_some() {
            say("cmp", "=");
            say("state", "measured");
        }
    } else {
        say("raw_text", cell);
    }
    says
}

/// The cell for a row.
fn cell(row: &Row) -> String {
    let text = |column: &str| row.0[at(column)].as_str();
    if let Some(absent) = Absent::from_id(text("state")) {
        return short(absent).to_owned();
    }
    for column in ["value_num", "value_cat", "raw_text"] {
        if text(column) != NA {
            return text(column).to_owned();
        }
    }
    NA.to_owned()
}

fn heading(place: &Place, unit: Option<&str>) -> String {
    let ending = unit
        .and_then(|u| ENDINGS.iter().find(|(code, _)| *code == u))
        .map(|(_, e)| *e);
    let mut out = place.property.clone();
    match ending {
        Some(ending) => out.push_str(&format!("_{ending}")),
        None if doubtful(&place.property) => out.push_str(&format!("_{PLAIN}")),
        None => {}
    }
    for (mark, value) in [("c", &place.cylinder), ("t", &place.trial)] {
        if value != NA {
            out.push_str(&format!("_{mark}{value}"));
        }
    }
    if place.time > 1 {
        out.push_str(&format!("_n{}", place.time));
    }
    out
}

/// Whether the end of a property could be taken for a unit or a place.
fn doubtful(property: &str) -> bool {
    let Some((_, last)) = property.rsplit_once('_') else {
        return property == "job_id";
    };
    let digits = last
        .get(1..)
        .is_some_and(|d| !d.is_empty() && d.bytes().all(|b| b.is_ascii_digit()));
    property == "job_id"
        || property.contains("__")
        || last == PLAIN
        || ENDINGS.iter().any(|(_, e)| *e == last)
        || (digits && last.starts_with(['c', 't', 'n']))
}

/// The rows of one job.
struct OneJob<'r> {
    name: &'r String,
    /// In their order.
    places: Vec<Place>,
    /// Number from 1 and row of each.
    cells: BTreeMap<Place, (usize, &'r Row)>,
    /// Neither `seq` nor the columns tell the order of the rows.
    by_number: bool,
}

impl<'r> OneJob<'r> {
    fn row(&self, place: &Place) -> Option<&'r Row> {
        self.cells.get(place).map(|(_, row)| *row)
    }
}

fn seq(row: &Row) -> u64 {
    row.0[at("seq")].parse().unwrap_or(0)
}

/// Makes a long table wide. Rows of one job stand together.
#[must_use]
pub fn widen(rows: &[Row]) -> Wide {
    let mut jobs: Vec<OneJob<'_>> = Vec::new();
    let mut order: Vec<Place> = Vec::new();
    let mut known: BTreeSet<Place> = BTreeSet::new();
    for row in rows {
        let name = &row.0[at("job_id")];
        if jobs.last().is_none_or(|last| last.name != name) {
            jobs.push(OneJob {
                name,
                places: Vec::new(),
                cells: BTreeMap::new(),
                by_number: false,
            });
        }
        let Some(job) = jobs.last_mut() else {
            continue;
        };
        let text = |column: &str| row.0[at(column)].clone();
        let mut place = Place {
            property: text("property"),
            cylinder: text("cylinder"),
            trial: text("trial"),
            time: 1,
        };
        while job.cells.contains_key(&place) {
            place.time += 1;
        }
        if known.insert(place.clone()) {
            // Behind what stands before it in this job, so that columns keep the order of rows.
            let before = job.places.last();
            let before = before.and_then(|last| order.iter().position(|p| p == last));
            order.insert(before.map_or(0, |n| n + 1), place.clone());
        }
        job.places.push(place.clone());
        job.cells.insert(place, (job.places.len(), row));
    }
    let columns: BTreeMap<&Place, usize> = order.iter().zip(0..).collect();
    for job in &mut jobs {
        let key = |place: &Place| Some((seq(job.cells.get(place)?.1), columns.get(place)?));
        let sorted = job.places.windows(2).all(|w| key(&w[0]) < key(&w[1]));
        job.by_number = !sorted;
    }
    let mut wide = Wide {
        headings: vec!["job_id".to_owned()],
        rows: jobs.iter().map(|job| vec![job.name.clone()]).collect(),
    };
    for place in &order {
        let found: Vec<&Row> = jobs.iter().filter_map(|job| job.row(place)).collect();
        let mut units = found.iter().map(|r| r.0[at("unit")].as_str());
        let unit = units.next().filter(|u| units.all(|other| other == *u));
        let unit = unit.filter(|u| ENDINGS.iter().any(|(code, _)| code == u));
        let name = heading(place, unit);
        let mut add = |heading: String, says: &dyn Fn(&OneJob<'_>) -> Option<String>| {
            wide.headings.push(heading);
            for (row, job) in wide.rows.iter_mut().zip(&jobs) {
                row.push(says(job).unwrap_or_else(|| NA.to_owned()));
            }
        };
        add(name.clone(), &|job| job.row(place).map(cell));
        for column in own_columns() {
            let differs = |r: &&Row| r.0[at(column)] != derived(&cell(r), unit)[column];
            // The place in the order also says that there is a row at all.
            if column == "seq" || found.iter().any(differs) {
                add(format!("{name}__{column}"), &|job| {
                    job.row(place).map(|r| r.0[at(column)].clone())
                });
            }
        }
        let number = |job: &OneJob<'_>| {
            let (number, _) = job.cells.get(place).filter(|_| job.by_number)?;
            Some(number.to_string())
        };
        if jobs.iter().any(|job| number(job).is_some()) {
            add(format!("{name}__{NUMBER}"), &number);
        }
    }
    wide
}

/// A column of values: its number, place and unit, the columns beside it with what they hold,
/// and the one with the number of the row.
type Main = (
    usize,
    Place,
    Option<&'static str>,
    Vec<(usize, usize)>,
    Option<usize>,
);

/// A heading taken apart.
fn parted(heading: &str) -> (Place, Option<&'static str>) {
    let mut rest = heading;
    let mut take = |mark: char| {
        let (before, last) = rest.rsplit_once('_')?;
        let digits = last.strip_prefix(mark)?;
        if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        rest = before;
        Some(digits.to_owned())
    };
    let time = take('n');
    let trial = take('t');
    let cylinder = take('c');
    let mut unit = None;
    if let Some((before, last)) = rest.rsplit_once('_') {
        if last == PLAIN {
            rest = before;
        } else if let Some((code, _)) = ENDINGS.iter().find(|(_, e)| *e == last) {
            unit = Some(*code);
            rest = before;
        }
    }
    let place = Place {
        property: rest.to_owned(),
        cylinder: cylinder.unwrap_or_else(|| NA.to_owned()),
        trial: trial.unwrap_or_else(|| NA.to_owned()),
        time: time.and_then(|t| t.parse().ok()).unwrap_or(1),
    };
    (place, unit)
}

/// Makes a wide table long.
///
/// # Errors
/// When it has no `job_id`, or two columns of one name.
pub fn lengthen(wide: &Wide) -> Result<Vec<Row>, ExchangeError> {
    if wide.headings.first().map(String::as_str) != Some("job_id") {
        return Err(ExchangeError::Table(
            "the first column of a wide table is `job_id`".to_owned(),
        ));
    }
    // Main columns, each with the columns beside it.
    let mut mains: Vec<Main> = Vec::new();
    for (n, heading) in wide.headings.iter().enumerate().skip(1) {
        let beside = heading.rsplit_once("__").and_then(|(name, column)| {
            let main = mains
                .last_mut()
                .filter(|(m, ..)| wide.headings[*m] == name)?;
            if column == NUMBER {
                return Some((main, None));
            }
            own_columns()
                .any(|c| c == column)
                .then_some((main, Some(at(column))))
        });
        match beside {
            Some((main, Some(column))) => main.3.push((n, column)),
            Some((main, None)) => main.4 = Some(n),
            None => {
                let (place, unit) = parted(heading);
                mains.push((n, place, unit, Vec::new(), None));
            }
        }
    }
    let mut out = Vec::new();
    for cells in &wide.rows {
        let text = |n: usize| {
            cells
                .get(n)
                .map_or(NA, |c| if c.is_empty() { NA } else { c.as_str() })
        };
        let mut rows: Vec<((u64, u64, usize), Row)> = Vec::new();
        for (order, (main, place, unit, beside, number)) in mains.iter().enumerate() {
            let said = beside
                .iter()
                .find(|(_, column)| *column == at("seq"))
                .map(|(n, _)| text(*n));
            // Without a place in the order a filled cell is a datum of its own.
            if said.map_or(text(*main) == NA, |s| s == NA) {
                continue;
            }
            let mut row = Row(std::array::from_fn(|_| NA.to_owned()));
            for (column, says) in derived(text(*main), *unit) {
                row.0[at(column)] = says;
            }
            for (n, column) in beside {
                row.0[*column] = text(*n).to_owned();
            }
            row.0[at("job_id")] = text(0).to_owned();
            row.0[at("property")].clone_from(&place.property);
            row.0[at("cylinder")].clone_from(&place.cylinder);
            row.0[at("trial")].clone_from(&place.trial);
            if row.0[at("seq")] == NA {
                row.0[at("seq")] = (order + 1).to_string();
            }
            let number = number.and_then(|n| text(n).parse().ok()).unwrap_or(0);
            rows.push(((number, seq(&row), order), row));
        }
        rows.sort_by_key(|(key, _)| *key);
        out.extend(rows.into_iter().map(|(_, row)| row));
    }
    Ok(out)
}
