//! Tables of other people in, our own tables out. Never drops a record silently: every import
//! ends with a balance that adds up.
//!
//! Reading order: `encoding`, `records`, `layout` and `headings` (what the file is), `map`,
//! `target`, `plan` and `lay` (what its columns mean), `text`, `tokens`, `decimal`, `dates`, `windows`,
//! `cell` and `numbers` (one value), `phrases` and `story` (free text), `memo` (what
//! was understood before), `row`, `row_date` and `row_said` (one record), `survey`, `twice`, `repeats`, `known`
//! and `walk` (all of them), `import` (the whole), `quarantine`, `steady`, `store`; then `long`, `wide`, `sheet` and `own` (our own tables).

pub mod cell;
pub mod dates;
pub mod decimal;
pub mod draft;
mod draft_job;
pub mod encoding;
mod error;
pub mod headings;
pub mod import;
mod issue;
pub mod judged;
mod known;
pub mod lay;
mod lay_values;
pub mod layout;
pub mod long;
pub mod map;
pub mod memo;
mod numbers;
mod open;
mod own;
pub mod package;
pub mod peek;
pub mod phrases;
pub mod plan;
pub mod quarantine;
pub mod records;
mod repeats;
pub mod row;
mod row_date;
mod row_said;
pub mod sheet;
mod steady;
pub mod store;
pub mod story;
mod survey;
pub mod target;
pub mod text;
pub mod tokens;
mod twice;
mod walk;
mod watch;
pub mod wide;
mod windows;

pub use error::{ExchangeError, MapProblem};
pub use issue::{Balance, Code, Issue, Level};
