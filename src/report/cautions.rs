//! Cautions, said before the steps they belong to.
//!
//! Must not leave one out or shorten it.

use super::page::Page;
use crate::knowledge::Knowledge;

/// Says the cautions of these identifiers, each once, in the order given.
pub fn say<'i>(page: &mut Page, knowledge: &Knowledge, ids: impl IntoIterator<Item = &'i str>) {
    let mut said: Vec<&str> = Vec::new();
    for id in ids {
        if said.contains(&id) {
            continue;
        }
        if said.is_empty() {
            page.say("Take care");
        }
        said.push(id);
        let known = knowledge.hazards.iter().find(|h| h.id.get_ref() == id);
        // A caution without a text is still said by its name.
        page.hang("  ! ", known.map_or(id, |h| h.text.as_str()));
    }
    if !said.is_empty() {
        page.gap();
    }
}
