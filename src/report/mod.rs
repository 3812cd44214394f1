//! Answers into text and JSON. Never computes beyond rounding.
//!
//! Reading order: `round` (numbers for machines), `chance` (numbers for people), `page` (plain
//! text in one column), `names` (what things are called), `remarks` (what was assumed), then
//! one pair of files for each answer, `trouble` for what went wrong.

pub mod causes_json;
pub mod causes_text;
pub mod chance;
pub mod names;
pub mod page;
pub mod remarks;
pub mod round;
pub mod rows;
pub mod trouble;
