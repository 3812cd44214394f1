//! `hardstart params`: the figures that can be fitted, and what layers say of them.
//!
//! Must not compute.

use super::args::Common;
use super::args_fit::Params;
use super::failure::Failure;
use super::{input, out};
use crate::report::params_text;

/// Runs the command.
///
/// # Errors
/// When figures or layers cannot be read, or the answer not written.
pub fn run(what: &Params, common: &Common) -> Result<(), Failure> {
    let starter = input::starter(common.priors.as_deref())?;
    match what {
        Params::Show => {
            let (knowledge, layer) = match &common.fitted {
                None => (starter, None),
                Some(path) => input::layered(starter, path).map(|(k, l)| (k, Some(l)))?,
            };
            if common.json {
                out::document(&params_text::show_json(&knowledge, layer.as_ref()))
            } else {
                out::text(&params_text::show(&knowledge, layer.as_ref()))
            }
        }
        Params::Diff(args) => {
            let (_, first) = input::layered(starter.clone(), &args.first)?;
            let second = match &args.second {
                None => None,
                Some(path) => Some(input::layered(starter, path)?.1),
            };
            if common.json {
                out::document(&params_text::diff_json(&first, second.as_ref()))
            } else {
                out::text(&params_text::diff(&first, second.as_ref()))
            }
        }
    }
}
