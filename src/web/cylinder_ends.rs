//! What is asked when somebody says that cylinder 1 is at the other end and readings stand at cylinders
//! already: a number must not come to mean another cylinder unseen.
//!
//! Entries are never changed, and copies at the end of the job would come after the work; so the numbers
//! stay, once somebody has said that they are right. Must not write.

use maud::{Markup, html};

use super::fields::Fields;
use crate::job::{CylinderOne, EntryBody, Job};
use crate::report::names;
use crate::report::page::and;

/// The field that says that the numbers are right.
const STAY: &str = "numbers_stay";

/// Cylinders of which something is written down, where the form turns the engine round and nobody has
/// said that their numbers are right; none where nothing is to be asked.
#[must_use]
pub fn asked(job: &Job, form: &Fields) -> Vec<u8> {
    let was = job.engine.cylinder_one;
    let is = CylinderOne::from_id(form.get("cylinder_one"));
    let known = |e: CylinderOne| e != CylinderOne::Unknown;
    let turned = known(was) && is.is_some_and(|is| known(is) && is != was);
    if !turned || form.some(STAY).is_some() {
        return Vec::new();
    }
    let used = job.entries.iter().filter(|e| e.is_used());
    let mut cylinders: Vec<u8> = used
        .filter_map(|e| match &e.body {
            EntryBody::Reading(r) => r.cylinder,
            EntryBody::Work(w) => w.cylinder,
            EntryBody::Finding(f) => f.cylinder,
            EntryBody::CannotDo(c) => c.cylinder,
            EntryBody::Later(l) => l.cylinder,
            EntryBody::Opinion(o) => o.cylinder,
            _ => None,
        })
        .collect();
    cylinders.sort_unstable();
    cylinders.dedup();
    cylinders
}

/// What is wrong, and what to do.
#[must_use]
pub fn problem(job: &Job, cylinders: &[u8]) -> (String, String) {
    let from = names::plain(job.engine.cylinder_one.id());
    let list: Vec<String> = cylinders.iter().map(u8::to_string).collect();
    let at = match list.len() {
        1 => format!("cylinder {} was", and(&list)),
        _ => format!("cylinders {} were", and(&list)),
    };
    (
        format!("what is written down at {at} counted from the {from}"),
        "if the numbers are right and only the end was wrong, tick it below; if they stand at the wrong \
         cylinders, leave the end as it was, set those entries aside and write them at the right ones"
            .to_owned(),
    )
}

/// The tick that the numbers are right; nothing where nothing is asked.
#[must_use]
pub fn tick(cylinders: &[u8]) -> Markup {
    html! {
        @if !cylinders.is_empty() {
            label.chip.single {
                input type="checkbox" name=(STAY) value="yes";
                span { "the numbers are right, only the end was wrong" }
            }
        }
    }
}
