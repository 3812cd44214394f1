//! Answers into text and JSON. Never computes beyond rounding.
//!
//! Reading order: `round` (numbers for machines), `chance` (numbers for people), `page` (plain
//! text in one column), `names` (what things are called), `remarks` (what was assumed), then
//! one pair of files for each answer, `trouble` for what went wrong.

pub mod causes_json;
pub mod causes_text;
pub mod cautions;
pub mod chance;
pub mod closing_text;
pub mod import_json;
pub mod import_text;
pub mod names;
pub mod network_json;
pub mod network_text;
pub mod next_json;
pub mod next_text;
pub mod page;
pub mod ranking_svg;
pub mod remarks;
pub mod round;
pub mod rows;
pub mod schema;
pub mod sheet;
pub mod sheet_html;
pub mod sheet_text;
pub mod slips_text;
pub mod trials_json;
pub mod trials_strip;
pub mod trials_svg;
pub mod trials_text;
pub mod trials_words;
pub mod trouble;
pub mod units;
pub mod vocab;
pub mod why_json;
pub mod why_text;
