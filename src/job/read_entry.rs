//! One `[[entry]]` of a job file, understood: its body and who, when and how sure.
//!
//! Must not look at other entries; `read_job` does that.

use super::engine::Engine;
use super::entry::{
    Aside, CannotDo, Entry, EntryBody, Finding, Later, Mark, Opinion, Position, Undo, Work,
};
use super::fields;
use super::kept::{Extra, Kept};
use super::read_engine::as_field;
use super::reader::Reader;
use super::suggest::did_you_mean;
use super::tree::{Field, Fields, Node, Value};

/// Most entries of one job (own judgement).
const MOST_ENTRIES: i64 = 1_000_000;

impl Reader<'_> {
    pub(super) fn entry(&mut self, node: &Node, engine: &Engine) -> Option<Entry> {
        let item = as_field("entry", node);
        let mut t = self.table("entry", &item)?;
        let bodies: Vec<&Field> = fields::BODIES.iter().filter_map(|b| t.take(b)).collect();
        let mut entry = Entry::new(EntryBody::Note);
        entry.at = t.take("at").and_then(|f| self.moment(f));
        entry.by = t.take("by").and_then(|f| self.text(f));
        entry.sure = t.take("sure").and_then(|f| self.choice(f));
        entry.note = t.take("note").and_then(|f| self.text(f));
        entry.set_aside = t.take("set_aside").and_then(|f| self.text(f));
        let (line, column) = self.place(node.span.start);
        entry.position = Some(Position { line, column });
        if bodies.is_empty() && entry.note.is_none() {
            self.empty(&t);
            return None;
        }
        let known: Vec<&str> = fields::BODIES
            .iter()
            .chain(fields::ENTRY)
            .copied()
            .collect();
        entry.extra = self.extra(&t, &known);
        if let [first, second, ..] = bodies.as_slice() {
            let later = if first.key.start > second.key.start {
                first
            } else {
                second
            };
            self.problem(
                later.key.clone(),
                format!("`{}` and `{}` in one entry", first.name, second.name),
                "start a new entry for each",
            );
        }
        let mut understood = true;
        for body in bodies {
            match self.body(body, engine) {
                Some((body_read, extra)) => {
                    entry.body = body_read;
                    if !extra.is_empty() {
                        entry.extra.insert(body.name.clone(), Kept::Table(extra));
                    }
                }
                None => understood = false,
            }
        }
        understood.then_some(entry)
    }

    fn empty(&mut self, t: &Fields<'_>) {
        let near = t.rest().find_map(|f| {
            did_you_mean(&f.name, fields::BODIES.iter().copied()).map(|word| (f, word))
        });
        match near {
            Some((field, word)) => self.problem(
                field.key.clone(),
                format!("an entry cannot hold `{}`", field.name),
                format!("did you mean `{word}`?"),
            ),
            None => self.problem(
                t.at.clone(),
                "the entry says nothing",
                format!("give it one of: {}, or a note", fields::BODIES.join(", ")),
            ),
        }
    }

    /// A date with time, RFC 3339; a TOML date-time will do.
    fn moment(&mut self, field: &Field) -> Option<String> {
        let text = match &field.node.value {
            Value::Text(text) | Value::Moment(text) => text.clone(),
            other => {
                let what = format!("`at` is {}", other.kind());
                let try_ = "write at = \"2025-01-14T07:40:00+01:00\"";
                self.problem(field.node.span.clone(), what, try_);
                return None;
            }
        };
        let with_zone = text.parse::<jiff::Timestamp>().is_ok();
        if with_zone || text.parse::<jiff::civil::DateTime>().is_ok() {
            return Some(text);
        }
        self.problem(
            field.node.span.clone(),
            format!("`{text}` is no date with time"),
            "write year-month-day, T, time and zone: \"2025-01-14T07:40:00+01:00\"",
        );
        None
    }

    fn body(&mut self, field: &Field, engine: &Engine) -> Option<(EntryBody, Extra)> {
        // The name is one of the list, which lives as long as the program.
        let name = fields::BODIES.iter().copied().find(|b| *b == field.name)?;
        let mut t = self.table(name, field)?;
        let known = match name {
            "told" => return self.told(&t).map(|told| (told, Extra::new())),
            "start" => return self.start(&mut t).map(|start| (start, Extra::new())),
            "reading" => fields::READING,
            "work" => fields::WORK,
            "opinion" => fields::OPINION,
            "cannot" => fields::CANNOT,
            "later" => fields::LATER,
            "finding" => fields::FINDING,
            "undo" | "aside" => fields::UNDO,
            _ => fields::MARK,
        };
        let body = match name {
            "reading" => self.reading(&mut t, engine).map(EntryBody::Reading),
            "work" => self.work(&mut t, engine).map(EntryBody::Work),
            "opinion" => self.opinion(&mut t, engine).map(EntryBody::Opinion),
            "cannot" => self.cannot_do(&mut t, engine).map(EntryBody::CannotDo),
            "later" => self.later(&mut t, engine).map(EntryBody::Later),
            "finding" => self.finding(&mut t, engine).map(EntryBody::Finding),
            "undo" => self.undo(&mut t).map(EntryBody::Undo),
            "aside" => self.aside(&mut t).map(EntryBody::Aside),
            _ => self.mark(&mut t).map(EntryBody::Mark),
        };
        let extra = self.extra(&t, known);
        body.map(|body| (body, extra))
    }

    fn work(&mut self, t: &mut Fields<'_>, engine: &Engine) -> Option<Work> {
        let knowledge = self.knowledge;
        let minutes = t.take("minutes").and_then(|f| self.number(f));
        let parts_cost = t.take("parts_cost").and_then(|f| self.number(f));
        let Some(field) = t.take("repair") else {
            self.missing(t, "repair", "work.repair = \"...\"");
            return None;
        };
        let known = knowledge.repairs.iter().map(|r| r.id.get_ref().as_str());
        let id = self.id(field, "repair", known)?;
        let repair = knowledge.repairs.iter().find(|r| *r.id.get_ref() == id)?;
        let cylinder = self.cylinder_of(t, engine, repair.per, &id).ok()?;
        self.not_on_engine(t, engine, &repair.needs, &id);
        Some(Work {
            repair: id,
            cylinder,
            minutes,
            parts_cost,
        })
    }

    fn opinion(&mut self, t: &mut Fields<'_>, engine: &Engine) -> Option<Opinion> {
        let named = t.rest().any(|f| f.name == "fault");
        let text = t.take("text").and_then(|f| self.text(f));
        if !named && text.is_none() {
            self.missing(t, "text", "opinion.text = \"...\"");
            return None;
        }
        let (fault, cylinder) = if named {
            let (fault, cylinder) = self.fault(t, engine)?;
            (Some(fault), cylinder)
        } else {
            (None, self.cylinder(t, engine).ok()?)
        };
        Some(Opinion {
            text,
            fault,
            cylinder,
        })
    }

    fn cannot_do(&mut self, t: &mut Fields<'_>, engine: &Engine) -> Option<CannotDo> {
        let check = self.check_id(t)?.id.get_ref().clone();
        let cylinder = self.cylinder(t, engine).ok()?;
        let Some(field) = t.take("reason") else {
            self.missing(t, "reason", "cannot.reason = \"seized\"");
            return None;
        };
        let reason = self.text(field)?;
        Some(CannotDo {
            check,
            cylinder,
            reason,
        })
    }

    fn later(&mut self, t: &mut Fields<'_>, engine: &Engine) -> Option<Later> {
        let check = self.check_id(t)?.id.get_ref().clone();
        let cylinder = self.cylinder(t, engine).ok()?;
        Some(Later { check, cylinder })
    }

    fn finding(&mut self, t: &mut Fields<'_>, engine: &Engine) -> Option<Finding> {
        if !t.rest().any(|f| f.name == "fault") {
            self.missing(t, "fault", "finding.fault = \"plug.dead\"");
            return None;
        }
        let proof = t.take("proof").map(|f| self.choice(f));
        let (fault, cylinder) = self.fault(t, engine)?;
        let proof = match proof {
            Some(read) => Some(read?),
            None => None,
        };
        Some(Finding {
            fault,
            cylinder,
            proof,
        })
    }

    /// The number of an earlier entry; whether there is one is `read_job`'s to say.
    fn earlier(&mut self, t: &mut Fields<'_>) -> Option<usize> {
        let Some(field) = t.take("entry") else {
            let example = format!("{}.entry = 3", t.name);
            self.missing(t, "entry", &example);
            return None;
        };
        self.whole(field, 1, MOST_ENTRIES)
            .and_then(|n| usize::try_from(n).ok())
    }

    fn undo(&mut self, t: &mut Fields<'_>) -> Option<Undo> {
        let why = t.take("why").map(|f| self.text(f));
        let entry = self.earlier(t)?;
        let why = match why {
            Some(read) => Some(read?),
            None => None,
        };
        Some(Undo { entry, why })
    }

    fn aside(&mut self, t: &mut Fields<'_>) -> Option<Aside> {
        let why = t.take("why").map(|f| self.text(f));
        let entry = self.earlier(t)?;
        let Some(why) = why else {
            self.missing(t, "why", "aside.why = \"clip slipped\"");
            return None;
        };
        Some(Aside { entry, why: why? })
    }

    fn mark(&mut self, t: &mut Fields<'_>) -> Option<Mark> {
        let Some(field) = t.take("state") else {
            self.missing(t, "state", "mark.state = \"done\"");
            return None;
        };
        self.choice(field)
    }
}
