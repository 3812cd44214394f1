//! `hardstart network`: prints the network of one kind of engine, with its width.
//!
//! Must not word.

use super::args::{Common, Engine, Format, JobFile};
use super::exit::Exit;
use super::failure::Failure;
use super::{input, lanes, out, usage};
use crate::evidence::{self, Case};
use crate::knowledge::Knowledge;
use crate::network::build::{BuildError, Builder, Condition, Model, Shape, root_chances};
use crate::network::{Network, Program, Request, Role, Seen, Slot, VarId, bif};
use crate::report::network_observed::Observed;
use crate::report::trouble::Trouble;
use crate::report::{network_json, network_text};

/// Name of the network in the interchange format.
const BIF_NAME: &str = "hardstart";

/// Runs the command.
///
/// # Errors
/// When the network cannot be built or read, is too wide, or the answer is not written.
pub fn run(engine: &Engine, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    if let Some(file) = &engine.from {
        let network = input::network(file)?;
        if let Some(lanes) = &engine.lanes {
            return lanes::run(network, engine, lanes, common.json);
        }
        return print(&network, &Observed::default(), engine, common, &knowledge);
    }
    if engine.file.is_some() || engine.job.is_some() {
        let job = JobFile {
            file: engine.file.clone(),
            job: engine.job.clone(),
            book: engine.book.clone(),
        };
        let parsed = input::job(&job, &knowledge, || usage::page("network"))?;
        let evidence = evidence::gather(&knowledge, &parsed.job)?;
        let by_weight = |a: &&Case, b: &&Case| a.weight.total_cmp(&b.weight);
        // Of several alike the first: `max_by` would take the last.
        let Some(case) = evidence.cases.iter().rev().max_by(by_weight) else {
            let what = "this job is about no engine";
            return Err(Failure::new(
                Exit::Failed,
                Trouble::new(what, "describe it"),
            ));
        };
        let observed = Observed::of(case);
        return print(&case.model.network, &observed, engine, common, &knowledge);
    }
    let model = build(&knowledge, engine).map_err(|error| {
        let advice = "hardstart network --help lists what an engine may have";
        Failure::new(Exit::Failed, Trouble::new(error.to_string(), advice))
    })?;
    let observed = Observed {
        slots: vec![Slot {
            scope: model.complaint.into_iter().collect(),
            seen: Seen::Soft,
        }],
        values: vec![Vec::new()],
        log_scale: 0.0,
    };
    print(&model.network, &observed, engine, common, &knowledge)
}

fn print(
    network: &Network,
    observed: &Observed,
    engine: &Engine,
    common: &Common,
    knowledge: &Knowledge,
) -> Result<(), Failure> {
    let parts = network.variables().iter().zip(0..);
    let request = Request {
        slots: observed.slots.clone(),
        queries: parts
            .filter(|(v, _)| v.role == Role::Part)
            .map(|(_, at)| vec![VarId(at)])
            .collect(),
        restarts: 0,
    };
    let width = Program::compile(network, &request)
        .map_err(|error| {
            let advice = "fewer cylinders make it narrower";
            Failure::new(Exit::Failed, Trouble::new(error.to_string(), advice))
        })?
        .width();
    let format = if common.json {
        Format::Json
    } else {
        engine.format
    };
    match format {
        Format::Text => out::text(&network_text::network(network, width, out::layout())),
        Format::Json => out::document(&network_json::network(
            network,
            observed,
            width,
            &knowledge.sha256,
        )),
        Format::Bif => out::text(&bif::write(network, BIF_NAME, &observed.readings(network)).0),
    }
}

fn build(knowledge: &Knowledge, engine: &Engine) -> Result<Model, BuildError> {
    let shape = Shape {
        cylinders: engine.cylinders,
        chamber: engine.chamber.clone(),
        preheat: engine.preheat.clone(),
        wiring: engine.wiring.clone(),
        pump: engine.pump.clone(),
    };
    let roots = root_chances(knowledge, &shape, engine.temperature, &[]);
    let mut builder = Builder::new(knowledge, shape, roots)?;
    builder.condition(Condition {
        temperature: engine.temperature,
        primed: false,
    })?;
    builder.complaint()?;
    Ok(builder.finish())
}
