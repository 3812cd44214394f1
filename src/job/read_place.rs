//! Where an entry belongs: the cylinder, the fault with its cylinder, and whether the engine
//! can have the thing at all.
//!
//! Must not know the bodies of entries.

use super::engine::{Engine, MOST_CYLINDERS};
use super::reader::Reader;
use super::tree::{Fields, Value};
use crate::knowledge::{Needs, Per, Scope};

impl Reader<'_> {
    /// The cylinder of a table; `Err` if it is wrong.
    pub(super) fn cylinder(
        &mut self,
        t: &mut Fields<'_>,
        engine: &Engine,
    ) -> Result<Option<u8>, ()> {
        let Some(field) = t.take("cylinder") else {
            return Ok(None);
        };
        let most = engine.cylinders.unwrap_or(MOST_CYLINDERS);
        if let Value::Whole(n) = field.node.value
            && (n < 1 || n > i64::from(most))
        {
            let what = match engine.cylinders {
                Some(_) => format!("cylinder {n} on an engine with {most}"),
                None => format!("cylinder {n}"),
            };
            let try_ = format!("write a cylinder from 1 to {most}");
            self.problem(field.node.span.clone(), what, try_);
            return Err(());
        }
        match self.whole(field, 1, i64::from(most)) {
            Some(n) => Ok(u8::try_from(n).ok()),
            None => Err(()),
        }
    }

    /// The cylinder where the thing is done at each, and none where it is done once.
    pub(super) fn cylinder_of(
        &mut self,
        t: &mut Fields<'_>,
        engine: &Engine,
        per: Per,
        thing: &str,
    ) -> Result<Option<u8>, ()> {
        let place = t
            .rest()
            .find(|f| f.name == "cylinder")
            .map(|f| f.key.clone());
        let cylinder = self.cylinder(t, engine)?;
        match (per, cylinder, place) {
            (Per::Cylinder, None, _) => {
                let what = format!("`{thing}` is for one cylinder, and none is named");
                let try_ = format!("add `{}.cylinder = 1`, or another", t.name);
                self.problem(t.at.clone(), what, try_);
                Err(())
            }
            (Per::Engine, Some(_), Some(place)) => {
                let what = format!("`{thing}` is for the whole engine, not for a cylinder");
                self.problem(place, what, "leave the cylinder out");
                Err(())
            }
            _ => Ok(cylinder),
        }
    }

    /// Notes that this engine cannot have what the entry names.
    pub(super) fn not_on_engine(
        &mut self,
        t: &Fields<'_>,
        engine: &Engine,
        needs: &Needs,
        id: &str,
    ) {
        if !engine.may_have(needs) {
            let what = format!("`{id}` does not exist on this engine as described; kept");
            self.note(t.at.clone(), "NOT_ON_THIS_ENGINE", what);
        }
    }

    /// `part.fault`, perhaps with `:cylinder` behind; and the cylinder.
    pub(super) fn fault(
        &mut self,
        t: &mut Fields<'_>,
        engine: &Engine,
    ) -> Option<(String, Option<u8>)> {
        let knowledge = self.knowledge;
        let field = t.take("fault")?;
        let text = self.text(field)?;
        let ids: Vec<String> = knowledge
            .parts
            .iter()
            .flat_map(|p| {
                p.fault
                    .iter()
                    .map(|f| format!("{}.{}", p.id.get_ref(), f.id.get_ref()))
            })
            .collect();
        let known = ids.iter().map(String::as_str);
        let (name, behind) = match text.split_once(':') {
            Some((name, behind)) => (name, Some(behind)),
            None => (text.as_str(), None),
        };
        let Some(id) = self.resolve(&field.node.span, name, known.clone()) else {
            self.unknown_id(field.node.span.clone(), "fault", name, known);
            return None;
        };
        let part = knowledge.parts.iter().find(|p| {
            id.split_once('.')
                .is_some_and(|(part, _)| part == p.id.get_ref())
        })?;
        let per = match part.scope {
            Scope::Engine => Per::Engine,
            Scope::Cylinder => Per::Cylinder,
        };
        let most = engine.cylinders.unwrap_or(MOST_CYLINDERS);
        let Some(behind) = behind else {
            let cylinder = self.cylinder_of(t, engine, per, &id).ok()?;
            return Some((id, cylinder));
        };
        let beside = t.take("cylinder");
        match behind.parse::<u8>() {
            Ok(n) if beside.is_some_and(|f| f.node.value != Value::Whole(i64::from(n))) => {
                let span = beside.map_or(field.node.span.clone(), |f| f.node.span.clone());
                let what = format!("`{text}` names cylinder {n}, `cylinder` another");
                self.problem(span, what, "write the cylinder once");
                None
            }
            Ok(n) if (1..=most).contains(&n) && per == Per::Cylinder => Some((id, Some(n))),
            _ => {
                let what = format!("`{behind}` is no cylinder of `{id}` on this engine");
                let try_ = format!("write a cylinder from 1 to {most} for a part of a cylinder");
                self.problem(field.node.span.clone(), what, try_);
                None
            }
        }
    }
}
