//! The tables `engine` and `bench` of a job file, understood.
//!
//! Must not know the entries.

use super::bench::{Bench, Cannot};
use super::engine::{Engine, MOST_CYLINDERS};
use super::fields;
use super::names::Named;
use super::reader::Reader;
use super::tree::{Field, Fields, Node, Value};
use crate::knowledge::Check;
use crate::units::{Dimension, Quantity};

/// Volts an electrical system may be named by, V (own judgement).
const SYSTEM_VOLTS: (f64, f64) = (4.0, 50.0);
/// Years an engine may be built in (own judgement: the diesel is not older).
const BUILT: (i64, i64) = (1890, 2100);
/// Most people at one engine (own judgement).
const MOST_PEOPLE: i64 = 20;

impl<'a> Reader<'a> {
    pub(super) fn engine(&mut self, field: &Field) -> Option<Engine> {
        let mut t = self.table("engine", field)?;
        let mut engine = Engine {
            cylinders: t
                .take("cylinders")
                .and_then(|f| self.whole_or_unknown(f, 1, i64::from(MOST_CYLINDERS)))
                .and_then(|n| u8::try_from(n).ok()),
            built: t
                .take("built")
                .and_then(|f| self.whole_or_unknown(f, BUILT.0, BUILT.1))
                .and_then(|n| u16::try_from(n).ok()),
            used_in: t.take("use").and_then(|f| self.text(f)),
            system_volts: t.take("system_volts").and_then(|f| self.system_volts(f)),
            plug_rated_volts: self.rated(&mut t, "plug_rated_volts", Dimension::Voltage),
            plug_rated_ohms: self.rated(&mut t, "plug_rated_ohms", Dimension::Resistance),
            plug_rated_amps: self.rated(&mut t, "plug_rated_amps", Dimension::Current),
            distance: self.not_negative(&mut t, "distance", Dimension::Length),
            hours: self.not_negative(&mut t, "hours", Dimension::Time),
            ..Engine::default()
        };
        self.choose(&mut t, "chamber", &mut engine.chamber);
        self.choose(&mut t, "preheat", &mut engine.preheat);
        self.choose(&mut t, "preheat_wiring", &mut engine.preheat_wiring);
        self.choose(&mut t, "pump", &mut engine.pump);
        self.choose(&mut t, "cylinder_one", &mut engine.cylinder_one);
        engine.extra = self.extra(&t, fields::ENGINE);
        Some(engine)
    }

    fn choose<T: Named>(&mut self, t: &mut Fields<'_>, key: &str, slot: &mut T) {
        if let Some(word) = t.take(key).and_then(|f| self.choice(f)) {
            *slot = word;
        }
    }

    /// A whole number, or the word `unknown`.
    fn whole_or_unknown(&mut self, field: &Field, from: i64, to: i64) -> Option<i64> {
        match &field.node.value {
            Value::Text(text) if text == "unknown" => None,
            _ => self.whole(field, from, to),
        }
    }

    /// A number in the unit its key names, bare or written with a unit.
    fn rated(&mut self, t: &mut Fields<'_>, key: &str, dimension: Dimension) -> Option<f64> {
        let field = t.take(key)?;
        let number = match &field.node.value {
            Value::Text(text) if text == "unknown" => return None,
            Value::Text(_) => self.quantity(field, dimension)?.value,
            _ => self.number(field)?,
        };
        if number > 0.0 {
            return Some(number);
        }
        let what = format!("`{key}` is {number}");
        self.problem(
            field.node.span.clone(),
            what,
            "write a number above 0, or leave it out",
        );
        None
    }

    fn system_volts(&mut self, field: &Field) -> Option<f64> {
        let volts = match &field.node.value {
            Value::Text(text) if text == "unknown" => return None,
            Value::Text(_) => self.quantity(field, Dimension::Voltage)?.value,
            _ => self.number(field)?,
        };
        if (SYSTEM_VOLTS.0..=SYSTEM_VOLTS.1).contains(&volts) {
            return Some(volts);
        }
        self.problem(
            field.node.span.clone(),
            format!("an electrical system of {volts} V"),
            "write 6, 12 or 24, or \"unknown\"",
        );
        None
    }

    fn not_negative(
        &mut self,
        t: &mut Fields<'_>,
        key: &str,
        dimension: Dimension,
    ) -> Option<Quantity> {
        let field = t.take(key)?;
        let quantity = self.quantity(field, dimension)?;
        self.not_below_nought(field, quantity)
    }

    pub(super) fn bench(&mut self, field: &Field) -> Option<Bench> {
        let mut t = self.table("bench", field)?;
        let mut bench = Bench {
            arrived: t.take("arrived").and_then(|f| self.choice(f)),
            tools: t.take("tools").map(|f| self.tools(f)),
            people: t
                .take("people")
                .and_then(|f| self.whole(f, 1, MOST_PEOPLE))
                .and_then(|n| u8::try_from(n).ok()),
            ..Bench::default()
        };
        if let Some(field) = t.take("cannot") {
            let items = self.list(field);
            bench.cannot = items.iter().filter_map(|n| self.cannot(n)).collect();
        }
        for (key, slot) in [
            ("minute_rate", &mut bench.minute_rate),
            ("plug_price", &mut bench.plug_price),
            ("night_minutes", &mut bench.night_minutes),
            ("break_factor", &mut bench.break_factor),
            ("come_back_minutes", &mut bench.come_back_minutes),
            ("hand_over_minutes", &mut bench.hand_over_minutes),
        ] {
            *slot = t.take(key).and_then(|f| self.number(f));
        }
        bench.extra = self.extra(&t, fields::BENCH);
        Some(bench)
    }

    fn tools(&mut self, field: &Field) -> Vec<String> {
        let knowledge = self.knowledge;
        let known = || knowledge.tools.iter().map(|t| t.id.get_ref().as_str());
        let mut tools = Vec::new();
        for node in self.list(field) {
            let item = as_field("tools", node);
            if let Some(tool) = self.id(&item, "tool", known())
                && !tools.contains(&tool)
            {
                tools.push(tool);
            }
        }
        tools
    }

    fn cannot(&mut self, node: &Node) -> Option<Cannot> {
        let item = as_field("cannot", node);
        let mut t = self.table("cannot", &item)?;
        let check = self.check_id(&mut t)?;
        let why = match t.take("why") {
            Some(field) => self.text(field)?,
            None => {
                self.missing(&t, "why", "why = \"no tool\"");
                return None;
            }
        };
        let extra = self.extra(&t, &["check", "why"]);
        Some(Cannot {
            check: check.id.get_ref().clone(),
            why,
            extra,
        })
    }

    /// The check a table names under `check`.
    pub(super) fn check_id(&mut self, t: &mut Fields<'_>) -> Option<&'a Check> {
        let knowledge = self.knowledge;
        let Some(field) = t.take("check") else {
            self.missing(t, "check", "check = \"...\"");
            return None;
        };
        let known = knowledge.checks.iter().map(|c| c.id.get_ref().as_str());
        if let Value::Text(text) = &field.node.value
            && knowledge.repairs.iter().any(|r| r.id.get_ref() == text)
            && !known.clone().any(|id| id == text)
        {
            let what = format!("`{text}` is work, not a check");
            let try_ = "write it down as work: hardstart did, or work.repair in a job file";
            self.problem(field.node.span.clone(), what, try_);
            return None;
        }
        let id = self.id(field, "check", known)?;
        knowledge.checks.iter().find(|c| *c.id.get_ref() == id)
    }
}

/// An item of a list as a field, so that complaints can name it.
pub(super) fn as_field(name: &str, node: &Node) -> Field {
    Field {
        name: name.to_owned(),
        key: node.span.clone(),
        node: node.clone(),
    }
}
