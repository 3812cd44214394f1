//! `hardstart network --from NET.bif --lanes JOBS.ndjson`: any discrete network, many sets of
//! observations, one answer a line; read, answered and written in batches, so that memory stays
//! flat.
//!
//! Must not reckon or word.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::io::{BufRead, BufReader, BufWriter, Write};
use std::time::{Duration, Instant};

use serde::de::{Error as _, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::json;

use super::args::{Ask, Engine};
use super::exit::Exit;
use super::failure::Failure;
use super::input::{STANDARD_INPUT, reader};
use super::out;
use crate::network::{Batch, CompileError, Network, Observation, Program, Request, VarId};
use crate::report::lanes_json::{self, LaneAnswer};
use crate::report::round;
use crate::report::trouble::Trouble;

/// The mark some programs put at the head of a file in UTF-8.
const MARK: &[u8] = b"\xef\xbb\xbf";
/// Lines answered at a time.
const LINES: usize = 4096;
/// Tries of the search for an order; more bought little on published networks.
const RESTARTS: usize = 20;
/// Bytes of programs kept.
const PROGRAM_BYTES: usize = 512 << 20;
/// Unseen findings are left out where, with them, the work has more table entries than this and
/// more than so many times those without. Own judgement.
const WIDE_ENTRIES: f64 = 200_000.0;
const WIDE_TIMES: f64 = 4.0;

/// One line of observations: names of variables and of states.
#[derive(Debug)]
struct Line(BTreeMap<String, String>);

impl<'de> Deserialize<'de> for Line {
    fn deserialize<D: Deserializer<'de>>(source: D) -> Result<Self, D::Error> {
        source.deserialize_map(Pairs)
    }
}

/// Takes the pairs of a line; a node that is named twice is refused.
struct Pairs;

impl<'de> Visitor<'de> for Pairs {
    type Value = Line;

    fn expecting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str("an object of node and state names")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut pairs: A) -> Result<Line, A::Error> {
        let mut line = BTreeMap::new();
        while let Some(name) = pairs.next_key::<String>()? {
            if line.contains_key(&name) {
                return Err(A::Error::custom(format!("`{name}` is named twice")));
            }
            line.insert(name, pairs.next_value()?);
        }
        Ok(Line(line))
    }
}

/// What `--time` adds up.
#[derive(Debug, Default)]
struct Times {
    first: Duration,
    again: Duration,
    jobs: usize,
    programs: u64,
}

struct Answering {
    network: Network,
    asked: Vec<VarId>,
    observable: BTreeSet<VarId>,
    batch: Option<Batch>,
    time: bool,
    times: Times,
}

/// Runs the command: one answer a line, or with `document` all of them in one list.
///
/// # Errors
/// When the observations cannot be read at all, the work is too wide, or the answer is not
/// written. Lines that cannot be read are answered by what is wrong with them.
pub(super) fn run(
    network: Network,
    engine: &Engine,
    lanes: &str,
    document: bool,
) -> Result<(), Failure> {
    let asked = asked(&network, engine.ask);
    let names = asked
        .iter()
        .map(|v| network.variable(*v).name.clone())
        .collect::<Vec<_>>();
    let mut answering = Answering {
        network,
        asked,
        observable: BTreeSet::new(),
        batch: None,
        time: engine.time,
        times: Times::default(),
    };
    let mut lines = BufReader::new(reader(lanes)?);
    let mut out = BufWriter::new(std::io::stdout().lock());
    let file = if lanes == STANDARD_INPUT {
        "standard input"
    } else {
        lanes
    };
    let (mut number, mut unread, mut answered) = (0, 0, 0_u64);
    loop {
        let mut numbers = Vec::new();
        let mut jobs = Vec::new();
        let mut bytes = Vec::new();
        while jobs.len() < LINES {
            bytes.clear();
            if lines.read_until(b'\n', &mut bytes)? == 0 {
                break;
            }
            number += 1;
            if number == 1 && bytes.starts_with(MARK) {
                bytes.drain(..MARK.len());
            }
            if !bytes.trim_ascii().is_empty() {
                numbers.push(number);
                jobs.push(observations(&answering.network, &bytes));
            }
        }
        if jobs.is_empty() {
            break;
        }
        let answers = answering.answer(&jobs).map_err(|error| {
            let advice = "ask for fewer nodes (--ask roots), or observe more of them";
            Failure::new(Exit::Failed, Trouble::new(error.to_string(), advice))
        })?;
        for (number, answer) in numbers.into_iter().zip(&answers) {
            if let LaneAnswer::Unread(what) = answer {
                unread += 1;
                out::message(&format!("{file}:{number}: {what}\n"));
            }
            let line = lanes_json::line(answer, &names, number);
            if document {
                let between = if answered == 0 { "[" } else { "," };
                write!(out, "{between}\n{line}")?;
            } else {
                writeln!(out, "{line}")?;
            }
            answered += 1;
        }
        out.flush()?;
    }
    if document {
        let begun = if answered == 0 { "[" } else { "" };
        writeln!(out, "{begun}\n]")?;
        out.flush()?;
    }
    if engine.time {
        out::message(&format!("{}\n", answering.times.document()));
    }
    if unread == 0 {
        return Ok(());
    }
    let what = format!("{unread} lines were not understood");
    let advice =
        "write one object a line, each node with the name of a state: {\"node\": \"state\"}";
    let exit = if unread == number {
        Exit::NoUsableInput
    } else {
        Exit::SomeQuarantined
    };
    Err(Failure::new(exit, Trouble::new(what, advice)))
}

impl Times {
    #[expect(clippy::cast_precision_loss, reason = "a count of jobs")]
    fn document(&self) -> serde_json::Value {
        let micros = |d: Duration| round::number(d.as_secs_f64() * 1e6 / self.jobs.max(1) as f64);
        json!({
            "jobs": self.jobs,
            "microseconds_a_job": {
                "programs_made_inside": micros(self.first),
                "programs_there": micros(self.again),
            },
            "seconds": {
                "programs_made_inside": round::number(self.first.as_secs_f64()),
                "programs_there": round::number(self.again.as_secs_f64()),
            },
            "programs": self.programs,
        })
    }
}

impl Answering {
    /// Answers a batch of lines. With `--time` it is answered twice, the second time with every
    /// program there.
    fn answer(
        &mut self,
        jobs: &[Result<Vec<Observation>, String>],
    ) -> Result<Vec<LaneAnswer>, CompileError> {
        let read = jobs.iter().flatten().cloned().collect::<Vec<_>>();
        let seen = read.iter().flatten().map(|o| o.0);
        let known = self.observable.len();
        self.observable.extend(seen);
        if known != self.observable.len() {
            self.batch = None;
        }
        let (network, asked, observable) = (&self.network, &self.asked, &self.observable);
        let batch = self.batch.get_or_insert_with(|| {
            let observable = observable.iter().copied().collect::<Vec<_>>();
            let queries = asked.iter().map(|v| vec![*v]).collect();
            Batch::new(
                network.clone(),
                &observable,
                queries,
                RESTARTS,
                PROGRAM_BYTES,
            )
        });
        let begun = Instant::now();
        let answers = batch.answer(&read)?;
        self.times.first += begun.elapsed();
        self.times.jobs += read.len();
        if self.time {
            let begun = Instant::now();
            batch.answer(&read)?;
            self.times.again += begun.elapsed();
            self.times.programs = batch.programs().made();
        }
        let mut answers = answers.iter().map(|a| a.map(|a| a.to_owned()));
        let lines = jobs.iter().map(|job| match job {
            Err(what) => Some(LaneAnswer::Unread(what.clone())),
            Ok(_) => answers.next().map(LaneAnswer::Reckoned),
        });
        Ok(lines.flatten().collect())
    }
}

/// The observations of a line, or what is wrong with it.
fn observations(network: &Network, bytes: &[u8]) -> Result<Vec<Observation>, String> {
    let line: Line = serde_json::from_slice(bytes).map_err(|error| {
        let place = error.column();
        format!("column {place}: not an object of node and state names: {error}")
    })?;
    line.0
        .iter()
        .map(|(name, state)| {
            let node = network
                .find(name)
                .ok_or_else(|| format!("no node is called `{name}`"))?;
            let at = network.state(node, state).ok_or_else(|| {
                let states = &network.variable(node).states;
                format!(
                    "`{name}` has no state `{state}`, only {}",
                    states.join(", ")
                )
            })?;
            Ok((node, at))
        })
        .collect()
}

/// The nodes that are answered. Findings nobody sees (nodes with parents and no children) are
/// left out where they would make the work much wider, unless all were asked for.
fn asked(network: &Network, ask: Ask) -> Vec<VarId> {
    let all = (0..network.variables().len())
        .map(|at| VarId(u32::try_from(at).expect("fewer than 2^32 nodes")))
        .collect::<Vec<_>>();
    let mut inner = vec![false; all.len()];
    for variable in network.variables() {
        variable.local.parents().for_each(|p| inner[p.at()] = true);
    }
    let root = |v: &VarId| network.variable(*v).local.parents().next().is_none();
    let some = |keep: &dyn Fn(&VarId) -> bool| all.iter().copied().filter(|v| keep(v)).collect();
    let roots: Vec<VarId> = some(&root);
    let behind: Vec<VarId> = some(&|v| root(v) || inner[v.at()]);
    match ask {
        Ask::All => all,
        Ask::Roots => roots,
        Ask::Fitting => {
            let with = entries(network, &all);
            let wide = with > WIDE_ENTRIES && with > WIDE_TIMES * entries(network, &behind);
            if wide { behind } else { all }
        }
    }
}

/// Table entries of the work with nothing observed; without bound where it is refused.
fn entries(network: &Network, asked: &[VarId]) -> f64 {
    let request = Request {
        slots: Vec::new(),
        queries: asked.iter().map(|v| vec![*v]).collect(),
        restarts: 0,
    };
    Program::compile(network, &request).map_or(f64::INFINITY, |p| p.width().entries)
}
