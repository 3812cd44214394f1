//! `hardstart fit roots`: fits the starting chances and prints the generated layer.
//!
//! Must not fit.

use super::args::{Common, Fit};
use super::exit::Exit;
use super::failure::Failure;
use super::{input, out};
use crate::learning::{fit_roots, root_layer_toml};
use crate::report::trouble::Trouble;

/// Runs the command.
///
/// # Errors
/// When the figures cannot be used, the fitting fails, or the answer is not written.
pub fn run(what: &Fit, common: &Common) -> Result<(), Failure> {
    let Fit::Roots = what;
    let knowledge = input::knowledge(common.priors.as_deref())?;
    let layer = fit_roots(&knowledge).map_err(|error| {
        let advice = "compare the shares and figures with the built-in ones";
        Failure::new(Exit::Failed, Trouble::new(error.to_string(), advice))
    })?;
    out::text(&root_layer_toml(&layer))
}
