//! A job as rows of keys and values in the order people read them: what both writers write.
//!
//! Must not know TOML or JSON.

use super::bench::{Bench, Cannot};
use super::engine::Engine;
use super::entry::{Entry, EntryBody};
use super::kept::{Extra, Kept};
use super::reading::{Measured, Reading, ReadingValue, Repeat};
use super::seen::{SeenSign, Start, Told};
use crate::units::Quantity;

/// Keys and values in order.
pub(super) type Rows = Vec<(String, Kept)>;

/// One entry: plain keys, and the body with its name.
pub(super) struct EntryRows {
    pub plain: Rows,
    pub body: Option<(&'static str, Rows)>,
}

struct Maker(Rows);

impl Maker {
    fn new() -> Self {
        Self(Vec::new())
    }

    fn put(&mut self, key: &str, value: Option<Kept>) {
        if let Some(value) = value {
            self.0.push((key.to_owned(), value));
        }
    }

    fn text(&mut self, key: &str, value: Option<&str>) {
        self.put(key, value.map(|v| Kept::Text(v.to_owned())));
    }

    fn whole(&mut self, key: &str, value: Option<impl Into<i64>>) {
        self.put(key, value.map(|v| Kept::Whole(v.into())));
    }

    fn number(&mut self, key: &str, value: Option<f64>) {
        self.put(key, value.map(number));
    }

    fn quantity(&mut self, key: &str, value: Option<&Quantity>) {
        self.put(key, value.map(|q| Kept::Text(quantity(q))));
    }

    /// A word, left out where it says "unknown".
    fn word(&mut self, key: &str, word: &str) {
        self.text(key, (word != "unknown").then_some(word));
    }

    /// Writes `true`; false is what a missing key means.
    fn flag(&mut self, key: &str, value: bool) {
        self.put(key, value.then_some(Kept::Truth(true)));
    }

    /// Unknown keys, but for those that are written already.
    fn extra(mut self, extra: &Extra) -> Rows {
        for (key, value) in extra {
            if !self.0.iter().any(|(k, _)| k == key) {
                self.0.push((key.clone(), value.clone()));
            }
        }
        self.0
    }
}

/// A number, whole where it is.
fn number(value: f64) -> Kept {
    /// Whole numbers up to here are exact in both formats.
    const EXACT: f64 = 9e15;
    if value.fract() == 0.0 && value.abs() < EXACT {
        Kept::Whole(value as i64)
    } else {
        Kept::Number(value)
    }
}

/// The number of an entry; beyond what fits nothing could have been meant.
fn number_of(entry: usize) -> Kept {
    Kept::Whole(i64::try_from(entry).unwrap_or(i64::MAX))
}

fn quantity(quantity: &Quantity) -> String {
    if quantity.typed.is_empty() {
        quantity.to_string()
    } else {
        quantity.typed.clone()
    }
}

/// The result as typed; where nothing was typed, as understood.
fn result(value: &ReadingValue, typed: &str) -> Kept {
    Kept::Text(match value {
        _ if !typed.is_empty() => typed.to_owned(),
        ReadingValue::Measured(Measured::State(s) | Measured::OffScale(s)) => s.clone(),
        ReadingValue::Measured(Measured::Number(n)) => n.to_string(),
        other => other.state_id().to_owned(),
    })
}

pub(super) fn engine(e: &Engine) -> Rows {
    let mut m = Maker::new();
    m.whole("cylinders", e.cylinders);
    m.word("chamber", e.chamber.id());
    m.word("preheat", e.preheat.id());
    m.word("preheat_wiring", e.preheat_wiring.id());
    m.word("pump", e.pump.id());
    m.number("system_volts", e.system_volts);
    m.word("cylinder_one", e.cylinder_one.id());
    m.quantity("distance", e.distance.as_ref());
    m.quantity("hours", e.hours.as_ref());
    m.whole("built", e.built);
    m.text("use", e.used_in.as_deref());
    m.number("plug_rated_volts", e.plug_rated_volts);
    m.number("plug_rated_ohms", e.plug_rated_ohms);
    m.number("plug_rated_amps", e.plug_rated_amps);
    m.extra(&e.extra)
}

pub(super) fn bench(b: &Bench) -> Rows {
    let mut m = Maker::new();
    let texts = |list: &Vec<String>| Kept::List(list.iter().cloned().map(Kept::Text).collect());
    m.text("arrived", b.arrived.map(|a| a.id()));
    m.put("tools", b.tools.as_ref().map(texts));
    m.whole("people", b.people);
    let cannot: Vec<Kept> = b.cannot.iter().map(cannot).collect();
    m.put("cannot", (!cannot.is_empty()).then_some(Kept::List(cannot)));
    m.number("minute_rate", b.minute_rate);
    m.number("plug_price", b.plug_price);
    m.number("night_minutes", b.night_minutes);
    m.number("break_factor", b.break_factor);
    m.number("come_back_minutes", b.come_back_minutes);
    m.number("hand_over_minutes", b.hand_over_minutes);
    m.extra(&b.extra)
}

fn cannot(cannot: &Cannot) -> Kept {
    let mut m = Maker::new();
    m.text("check", Some(&cannot.check));
    m.text("why", Some(&cannot.why));
    Kept::Table(m.extra(&cannot.extra).into_iter().collect())
}

pub(super) fn entry(e: &Entry) -> EntryRows {
    let mut m = Maker::new();
    m.text("at", e.at.as_deref());
    m.text("by", e.by.as_deref());
    m.text("sure", e.sure.map(|s| s.id()));
    m.text("set_aside", e.set_aside.as_deref());
    m.text("note", e.note.as_deref());
    let mut extra = e.extra.clone();
    let body = body(&e.body).map(|(name, rows)| {
        // Unknown keys of the body stand under its name.
        let within = match extra.get(name) {
            Some(Kept::Table(within)) => within.clone(),
            _ => Extra::new(),
        };
        extra.remove(name);
        (name, Maker(rows).extra(&within))
    });
    EntryRows {
        plain: m.extra(&extra),
        body,
    }
}

fn body(body: &EntryBody) -> Option<(&'static str, Rows)> {
    let mut m = Maker::new();
    let name = match body {
        EntryBody::Told(told) => {
            told.iter().for_each(|t| one_told(&mut m, t));
            "told"
        }
        EntryBody::Start(s) => {
            start(&mut m, s);
            "start"
        }
        EntryBody::Reading(r) => {
            reading(&mut m, r);
            "reading"
        }
        EntryBody::Work(w) => {
            m.text("repair", Some(&w.repair));
            m.whole("cylinder", w.cylinder);
            m.number("minutes", w.minutes);
            m.number("parts_cost", w.parts_cost);
            "work"
        }
        EntryBody::Opinion(o) => {
            m.text("text", o.text.as_deref());
            m.text("fault", o.fault.as_deref());
            m.whole("cylinder", o.cylinder);
            "opinion"
        }
        EntryBody::CannotDo(c) => {
            m.text("check", Some(&c.check));
            m.whole("cylinder", c.cylinder);
            m.text("reason", Some(&c.reason));
            "cannot"
        }
        EntryBody::Later(l) => {
            m.text("check", Some(&l.check));
            m.whole("cylinder", l.cylinder);
            "later"
        }
        EntryBody::Finding(f) => {
            m.text("fault", Some(&f.fault));
            m.whole("cylinder", f.cylinder);
            m.text("proof", f.proof.map(|p| p.id()));
            "finding"
        }
        EntryBody::Mark(mark) => {
            m.text("state", Some(mark.id()));
            "mark"
        }
        EntryBody::Undo(u) => {
            m.put("entry", Some(number_of(u.entry)));
            m.text("why", u.why.as_deref());
            "undo"
        }
        EntryBody::Aside(a) => {
            m.put("entry", Some(number_of(a.entry)));
            m.text("why", Some(&a.why));
            "aside"
        }
        EntryBody::Note => return None,
    };
    Some((name, m.0))
}

fn one_told(m: &mut Maker, told: &Told) {
    match told {
        Told::Sign(sign) => seen(m, sign),
        Told::Fact { fact, state, typed } => {
            let text = if typed.is_empty() { state } else { typed };
            m.text(fact.id(), Some(text));
        }
    }
}

fn seen(m: &mut Maker, sign: &SeenSign) {
    m.put(&sign.sign, Some(result(&sign.value, &sign.typed)));
}

fn start(m: &mut Maker, s: &Start) {
    m.quantity("engine_temperature", s.engine_temperature.as_ref());
    m.quantity("air_temperature", s.air_temperature.as_ref());
    m.quantity("soak", s.soak.as_ref());
    m.quantity("preheat", s.preheat.as_ref());
    m.flag("primed", s.primed);
    m.flag("heated", s.heated);
    m.put("after_work", s.after_work.map(Kept::Truth));
    m.whole("tries", s.tries);
    m.text("result", s.result.map(|r| r.id()));
    s.signs.iter().for_each(|sign| seen(m, sign));
}

fn reading(m: &mut Maker, r: &Reading) {
    m.text("check", Some(&r.check));
    m.whole("cylinder", r.cylinder);
    m.whole("trial", r.trial);
    m.text("repeat", r.repeat.map(Repeat::id));
    m.put("value", Some(result(&r.value, &r.typed)));
    m.quantity("supply", r.supply.as_ref());
    m.quantity("rest", r.rest.as_ref());
    m.quantity("leads", r.leads.as_ref());
    m.text("tool", r.tool.as_deref());
    m.text("why_not", r.why_not.as_deref());
    m.flag("confirmed", r.confirmed);
}
