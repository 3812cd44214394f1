//! The bodies `told`, `start` and `reading`, understood.
//!
//! Must not weigh them.

use super::engine::Engine;
use super::entry::EntryBody;
use super::fields;
use super::reader::Reader;
use super::reading::Reading;
use super::seen::{Fact, SeenSign, Start, Told};
use super::suggest::did_you_mean;
use super::tree::{Field, Fields};
use super::window;
use crate::knowledge::Sign;
use crate::units::Dimension;

/// Most trials of one reading (own judgement).
const MOST_TRIALS: i64 = 1000;
/// Most tries of one start (own judgement).
const MOST_TRIES: i64 = 100;

impl<'a> Reader<'a> {
    /// The sign a key names, by itself or by another word for it.
    fn sign_of(&mut self, field: &Field) -> Option<&'a Sign> {
        let knowledge = self.knowledge;
        let known = knowledge.signs.iter().map(|s| s.id.get_ref().as_str());
        let id = self.resolve(&field.key, &field.name, known)?;
        knowledge.signs.iter().find(|s| *s.id.get_ref() == id)
    }

    /// One sign; `Err` if its value is wrong.
    fn seen(&mut self, field: &Field, sign: &Sign) -> Result<SeenSign, ()> {
        let (value, typed) = self.sign_value(field, sign).ok_or(())?;
        let number = value.number().map(|n| &n.quantity);
        let suspect = number.and_then(window::suspect_seconds);
        if let Some(why) = &suspect {
            self.note(field.node.span.clone(), "OUT_OF_WINDOW", why.clone());
        }
        Ok(SeenSign {
            sign: sign.id.get_ref().clone(),
            value,
            typed,
            suspect,
        })
    }

    fn unknown_sign(&mut self, field: &Field, place: &str, others: &[&str]) {
        let knowledge = self.knowledge;
        let known = knowledge
            .signs
            .iter()
            .map(|s| s.id.get_ref().as_str())
            .chain(others.iter().copied());
        let try_ = match did_you_mean(&field.name, known) {
            Some(id) => format!("did you mean `{place}.{id}`?"),
            None => "use the id of a sign from the vocabulary".to_owned(),
        };
        let what = format!("there is no sign `{}`", field.name);
        self.problem(field.key.clone(), what, try_);
    }

    /// Refuses the same sign twice under two words.
    fn twice(&mut self, field: &Field, signs: &[String], id: &str) -> bool {
        let twice = signs.iter().any(|s| s == id);
        if twice {
            let what = format!("`{id}` stands twice in one entry");
            self.problem(field.key.clone(), what, "leave one of them out");
        }
        twice
    }

    pub(super) fn told(&mut self, t: &Fields<'_>) -> Option<EntryBody> {
        let facts: Vec<&str> = Fact::ALL.iter().map(|f| f.id()).collect();
        let mut told = Vec::new();
        let mut names: Vec<String> = Vec::new();
        let mut whole = true;
        let mut any = false;
        for field in t.rest() {
            any = true;
            let item = if let Some(fact) = Fact::from_id(&field.name) {
                self.fact(field, fact)
            } else if let Some(sign) = self.sign_of(field) {
                let twice = self.twice(field, &names, sign.id.get_ref());
                names.push(sign.id.get_ref().clone());
                let seen = self.seen(field, sign).ok();
                seen.filter(|_| !twice).map(Told::Sign)
            } else {
                self.unknown_sign(field, "told", &facts);
                None
            };
            whole &= item.is_some();
            told.extend(item);
        }
        if !any {
            self.missing(t, "sign", "told.since = \"first_frost\"");
            return None;
        }
        whole.then_some(EntryBody::Told(told))
    }

    fn fact(&mut self, field: &Field, fact: Fact) -> Option<Told> {
        let typed = match &field.node.value {
            super::tree::Value::Truth(true) => "yes".to_owned(),
            super::tree::Value::Truth(false) => "no".to_owned(),
            _ => self.text(field)?,
        };
        let states = fact.states().iter().copied();
        match self.resolve(&field.node.span, &typed, states) {
            Some(state) => Some(Told::Fact { fact, state, typed }),
            None => {
                self.not_one_of(field, fact.id(), &typed, fact.states());
                None
            }
        }
    }

    pub(super) fn start(&mut self, t: &mut Fields<'_>) -> Option<EntryBody> {
        let mut whole = true;
        let mut start = Start::default();
        let mut wrong = |missing: bool| whole &= !missing;
        for (key, slot) in [
            ("engine_temperature", &mut start.engine_temperature),
            ("air_temperature", &mut start.air_temperature),
        ] {
            if let Some(field) = t.take(key) {
                *slot = self.start_temperature(field);
                wrong(slot.is_none());
            }
        }
        for (key, slot) in [("soak", &mut start.soak), ("preheat", &mut start.preheat)] {
            if let Some(field) = t.take(key) {
                *slot = self.duration(field);
                wrong(slot.is_none());
            }
        }
        for (key, slot) in [("primed", &mut start.primed), ("heated", &mut start.heated)] {
            *slot = t.take(key).and_then(|f| self.truth(f)).unwrap_or(false);
        }
        start.after_work = t.take("after_work").and_then(|f| self.truth(f));
        start.tries = t
            .take("tries")
            .and_then(|f| self.whole(f, 1, MOST_TRIES))
            .and_then(|n| u8::try_from(n).ok());
        start.result = t.take("result").and_then(|f| self.choice(f));
        let mut names: Vec<String> = Vec::new();
        let signs: Vec<&Field> = t.rest().collect();
        for field in signs {
            let Some(sign) = self.sign_of(field) else {
                self.unknown_sign(field, "start", fields::START);
                whole = false;
                continue;
            };
            whole &= !self.twice(field, &names, sign.id.get_ref());
            names.push(sign.id.get_ref().clone());
            match self.seen(field, sign) {
                Ok(seen) => start.signs.push(seen),
                Err(()) => whole = false,
            }
        }
        whole.then_some(EntryBody::Start(start))
    }

    pub(super) fn reading(&mut self, t: &mut Fields<'_>, engine: &Engine) -> Option<Reading> {
        let mut side = |reader: &mut Self, key: &str, dimension| {
            t.take(key).and_then(|f| reader.quantity(f, dimension))
        };
        let supply = side(self, "supply", Dimension::Voltage);
        let rest = side(self, "rest", Dimension::Time);
        let leads = side(self, "leads", Dimension::Resistance);
        let tool = t.take("tool").and_then(|f| self.text(f));
        let why_not = t.take("why_not").and_then(|f| self.text(f));
        let confirmed = t.take("confirmed").and_then(|f| self.truth(f));
        let confirmed = confirmed.unwrap_or(false);
        let trial = t
            .take("trial")
            .and_then(|f| self.whole(f, 1, MOST_TRIALS))
            .and_then(|n| u32::try_from(n).ok());
        let repeat = t.take("repeat").and_then(|f| self.choice(f));
        let value = t.take("value");
        let check = self.check_id(t)?;
        let id = check.id.get_ref().clone();
        let cylinder = self.cylinder_of(t, engine, check.per, &id);
        self.not_on_engine(t, engine, &check.needs, &id);
        let Some(field) = value else {
            self.missing(t, "value", "reading.value = \"...\"");
            return None;
        };
        let (value, typed) = self.check_value(field, check)?;
        // A reading stands on its supply, rest and leads as much as on its own number.
        let number = value.number().map(|n| &n.quantity);
        let volts = engine.system_volts;
        let beside = [("supply", &supply), ("rest", &rest), ("leads", &leads)];
        let mut suspect = number
            .and_then(|q| window::suspect(&id, q, volts))
            .or_else(|| window::less_than_leads(number?, leads.as_ref()?))
            .or_else(|| {
                beside
                    .iter()
                    .find_map(|(name, q)| window::suspect(name, q.as_ref()?, volts))
            });
        if confirmed {
            suspect = None;
        }
        if let Some(why) = &suspect {
            self.note(field.node.span.clone(), "OUT_OF_WINDOW", why.clone());
        }
        Some(Reading {
            check: id,
            cylinder: cylinder.ok()?,
            trial,
            repeat,
            value,
            typed,
            supply,
            rest,
            leads,
            tool,
            why_not,
            suspect,
            confirmed,
        })
    }
}
