//! Answers into text and JSON. Never computes beyond rounding.
//!
//! Reading order: `round` (numbers for machines), `chance` (numbers for people), `page` (plain
//! text in one column), `names` (what things are called), `remarks` (what was assumed), then
//! one pair of files for each answer, `trouble` for what went wrong.

pub mod calibration_svg;
pub mod came_true_text;
pub mod causes_json;
pub mod causes_text;
pub mod cautions;
pub mod chance;
pub mod closing_text;
pub mod comes_first;
pub mod entry_words;
pub mod figure_words;
pub mod fit_card;
pub mod fit_text;
pub mod import_json;
pub mod import_text;
pub mod lanes_json;
pub mod messy_csv;
pub mod moves;
pub mod names;
pub mod network_json;
pub mod network_observed;
pub mod network_text;
pub mod next_json;
pub mod next_text;
pub mod page;
pub mod panels;
pub mod params_text;
pub mod plan_json;
pub mod plan_svg;
pub mod plan_text;
pub mod policy_json;
pub mod policy_text;
pub mod ranges_json;
pub mod ranges_text;
pub mod ranking_svg;
pub mod remarks;
pub mod round;
pub mod rows;
pub mod schema;
pub mod score_settle;
pub mod score_text;
pub mod score_worst;
pub mod selftest_json;
pub mod selftest_text;
pub mod sheet;
pub mod sheet_html;
mod sheet_proof;
mod sheet_readings;
mod sheet_room;
pub mod sheet_text;
pub mod slips_text;
pub mod suppose_json;
pub mod suppose_text;
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
