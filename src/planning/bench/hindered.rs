//! Which checks are left to do on this bench, and what stands in the way of the others.
//!
//! Must not price anything.

use super::answer::Hidden;
use super::checks::Bench;
use crate::job::{EntryBody, ReadingValue};
use crate::knowledge::{Check, Per};

impl Bench<'_> {
    /// Cylinders at which a check is still to be done (one `None` for a check of the engine), or
    /// why it is not offered.
    pub(super) fn left_to_do(&self, check: &Check) -> Result<Vec<Option<u8>>, Hidden> {
        self.possible(check)?;
        let mut left = match check.per {
            Per::Engine => vec![None],
            Per::Cylinder => (1..=self.shape.cylinders).map(Some).collect(),
        };
        let mut last = None;
        for entry in self.job.entries.iter().filter(|e| e.is_used()) {
            let (cylinder, why, detail) = match &entry.body {
                EntryBody::CannotDo(c) if c.check == *check.id.get_ref() => {
                    (c.cylinder, "cannot", c.reason.clone())
                }
                EntryBody::Later(l) if l.check == *check.id.get_ref() => {
                    (l.cylinder, "later", String::new())
                }
                EntryBody::Reading(r) if r.check == *check.id.get_ref() => match r.value {
                    ReadingValue::CouldNotTest => {
                        (r.cylinder, "cannot", r.why_not.clone().unwrap_or_default())
                    }
                    ReadingValue::Measured(_) | ReadingValue::JudgedNormal => {
                        (r.cylinder, "done", String::new())
                    }
                    _ => continue,
                },
                _ => continue,
            };
            // Without a cylinder it is said of all.
            left.retain(|c| cylinder.is_some() && *c != cylinder);
            last = Some(hide(check, why, detail));
        }
        match last {
            Some(why) if left.is_empty() => Err(why),
            _ => Ok(left),
        }
    }

    /// Whether a check was put off, or could not be done, after it was last read there.
    pub(super) fn is_put_off(&self, check: &Check, cylinder: Option<u8>) -> bool {
        let id = check.id.get_ref();
        let used = self.job.entries.iter().filter(|e| e.is_used());
        used.fold(false, |off, entry| match &entry.body {
            EntryBody::Later(l) if l.check == *id => {
                off || l.cylinder.is_none() || l.cylinder == cylinder
            }
            EntryBody::CannotDo(c) if c.check == *id => {
                off || c.cylinder.is_none() || c.cylinder == cylinder
            }
            EntryBody::Reading(r)
                if r.check == *id
                    && r.cylinder == cylinder
                    && r.value == ReadingValue::CouldNotTest =>
            {
                true
            }
            EntryBody::Reading(r) if r.check == *id && r.cylinder == cylinder => false,
            _ => off,
        })
    }

    /// Whether the engine, the people and the tools admit a check at all.
    pub(super) fn possible(&self, check: &Check) -> Result<(), Hidden> {
        if !self.shape.has(&check.needs) {
            return Err(hide(check, "not_on_engine", String::new()));
        }
        let bench = &self.job.bench;
        if let Some(cannot) = bench.cannot.iter().find(|c| c.check == *check.id.get_ref()) {
            return Err(hide(check, "cannot", cannot.why.clone()));
        }
        if bench.people.is_some_and(|p| p < check.people) {
            return Err(hide(check, "people", check.people.to_string()));
        }
        let missing = check
            .tools
            .iter()
            .find(|any| !any.is_empty() && !any.iter().any(|t| self.at_hand(t)));
        match missing {
            Some(missing) => Err(hide(check, "no_tool", missing.join(" or "))),
            None => Ok(()),
        }
    }

    /// Whether a tool is at hand; where nobody said, every tool is taken to be.
    pub(super) fn at_hand(&self, tool: &String) -> bool {
        let said = self.job.bench.tools.as_ref();
        said.is_none_or(|tools| tools.contains(tool)) || self.always(tool)
    }

    /// Whether any workshop has a tool.
    pub(super) fn always(&self, tool: &str) -> bool {
        let mut tools = self.knowledge.tools.iter();
        tools.any(|t| t.always && t.id.get_ref() == tool)
    }
}

fn hide(check: &Check, why: &'static str, detail: String) -> Hidden {
    Hidden {
        check: check.id.get_ref().clone(),
        why,
        detail,
    }
}
