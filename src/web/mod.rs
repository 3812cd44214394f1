//! The bench page: a job slip in the browser, for gloves and a phone. Never holds logic.
//!
//! Every page is complete without script. Reading order: `settings` and `serve` (the listening
//! side), `hosts`, `seats` and `guard` (who may ask), `cell` and `desk` (who reckons, and in which order), `answers` (what is reckoned, once), `bench` (book and answers), `shown` (what was said, kept), `own_record` (how often it came true), `fields` (what a
//! form brought), `routes`, `frame` (what every page has around it), then one file a page.

mod answers;
mod bench;
mod book_pages;
mod cards;
mod cautions_card;
mod cell;
mod closing_pages;
mod cylinder_ends;
mod desk;
mod entries_card;
mod entry;
mod fields;
mod figures_page;
mod form_words;
mod forms;
mod frame;
mod guard;
mod hosts;
mod inputs;
mod own_record;
mod plan_page;
mod reading_page;
mod routes;
mod saved_card;
mod seats;
mod serve;
mod settings;
mod shown;
mod slip_page;
mod stand_card;
mod start_card;
mod start_page;
mod trials_card;
mod why_page;

pub use serve::{Running, start};
pub use settings::{Limits, Settings};
