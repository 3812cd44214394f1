//! `hardstart network`: prints the network of one kind of engine, with its width.
//!
//! Must not word.

use super::args::{Common, Engine, Format};
use super::exit::Exit;
use super::failure::Failure;
use super::{input, out};
use crate::knowledge::Knowledge;
use crate::network::build::{BuildError, Builder, Condition, Model, Shape, root_chances};
use crate::network::{Program, Request, Role, Seen, Slot, bif};
use crate::report::trouble::Trouble;
use crate::report::{network_json, network_text};

/// Name of the network in the interchange format.
const BIF_NAME: &str = "hardstart";

/// Runs the command.
///
/// # Errors
/// When the network cannot be built, is too wide, or the answer is not written.
pub fn run(engine: &Engine, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common.priors.as_deref())?;
    let model = build(&knowledge, engine).map_err(|error| {
        let advice = "hardstart network --help lists what an engine may have";
        Failure::new(Exit::Failed, Trouble::new(error.to_string(), advice))
    })?;
    let complaint = Slot {
        scope: model.complaint.into_iter().collect(),
        seen: Seen::Soft,
    };
    let parts = model.network.variables().iter().zip(0..);
    let request = Request {
        slots: vec![complaint],
        queries: parts
            .filter(|(v, _)| v.role == Role::Part)
            .map(|(_, at)| vec![crate::network::VarId(at)])
            .collect(),
        restarts: 0,
    };
    let width = Program::compile(&model.network, &request)
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
        Format::Text => out::text(&network_text::network(&model.network, width, out::layout())),
        Format::Json => out::document(&network_json::network(
            &model.network,
            width,
            &knowledge.sha256,
        )),
        Format::Bif => out::text(&bif::write(&model.network, BIF_NAME, &[]).0),
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
