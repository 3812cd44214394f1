//! Signs and the complaint as variables of one start, or lasting.
//!
//! Added only when asked for: a sign nobody looked at does not exist. Must not hold what was
//! seen.

use super::builder::{BuildError, Builder};
use super::functions::Place;
use crate::knowledge::{Sign, SignLink, SignRow, When};
use crate::network::fold::{Contribution, Fold, Step};
use crate::network::variable::{Role, VarId};

impl Builder<'_> {
    /// The variable of a sign: at a condition, numbered by the start it was seen at; a lasting
    /// sign hangs on the first condition and the first slice.
    ///
    /// # Errors
    /// When there is no such sign, or its figures do not fit.
    pub fn sign(&mut self, id: &str, condition: usize, start: usize) -> Result<VarId, BuildError> {
        if id == "crank_time" {
            return self.of_condition(condition, "crank_time");
        }
        let knowledge = self.knowledge;
        let sign = knowledge
            .signs
            .iter()
            .find(|s| s.id.get_ref() == id)
            .ok_or_else(|| BuildError::NoVariable(id.to_owned()))?;
        let (name, condition) = match sign.when {
            When::Start => (format!("{id}@{start}"), condition),
            When::Lasting => (id.to_owned(), 0),
        };
        if let Some(known) = self.network.find(&name) {
            return Ok(known);
        }
        // Lasting signs tell of the engine as it came, before any work.
        let current = (sign.when == When::Lasting)
            .then(|| std::mem::replace(&mut self.now, self.first.clone()));
        let added = self.add_sign(&name, sign, condition);
        if let Some(current) = current {
            self.now = current;
            if let Ok(id) = added {
                self.now.insert(name, id);
            }
        }
        added
    }

    fn add_sign(&mut self, name: &str, sign: &Sign, condition: usize) -> Result<VarId, BuildError> {
        let (drivers, init) = self.rows(&sign.drivers_of(), &sign.row, &sign.states, condition)?;
        let (step, from) = if sign.from.is_empty() {
            (
                Step::Override,
                self.links(&sign.link, &sign.states, condition)?,
            )
        } else {
            let from = sign
                .from
                .iter()
                .filter(|f| !(f.var.get_ref() == "air_side" && self.conditions[condition].0.primed))
                .cloned()
                .collect::<Vec<_>>();
            (
                Step::Worst,
                self.contributions(&from, sign.states.len(), Place::Condition(condition))?,
            )
        };
        self.add(
            name,
            &sign.states,
            Role::Sign,
            Fold {
                drivers,
                init,
                step,
                from,
            },
        )
    }

    pub(super) fn crank_time(&mut self, condition: usize) -> Result<VarId, BuildError> {
        let knowledge = self.knowledge;
        let sign = knowledge
            .signs
            .iter()
            .find(|s| s.id.get_ref() == "crank_time")
            .ok_or_else(|| BuildError::NoVariable("crank_time".to_owned()))?;
        self.add_sign(&format!("crank_time@{condition}"), sign, condition)
    }

    /// The complaint: how the engine is at the first condition, before any work.
    ///
    /// # Errors
    /// When the figures do not fit.
    pub fn complaint(&mut self) -> Result<VarId, BuildError> {
        if let Some(id) = self.complaint {
            return Ok(id);
        }
        let current = std::mem::replace(&mut self.now, self.first.clone());
        let added = self.complains("complaint", 0);
        self.now = current;
        let id = added?;
        self.complaint = Some(id);
        Ok(id)
    }

    /// Whether somebody would complain of a start after work, the start numbered from 1.
    ///
    /// # Errors
    /// When the figures do not fit.
    pub fn verdict(&mut self, condition: usize, start: usize) -> Result<VarId, BuildError> {
        self.complains(&format!("complaint@{start}"), condition)
    }

    fn complains(&mut self, name: &str, condition: usize) -> Result<VarId, BuildError> {
        let figures = &self.knowledge.starts.complaint;
        let states = ["no".to_owned(), "yes".to_owned()];
        let from = self.links(&figures.link, &states, condition)?;
        let local = Fold {
            drivers: Vec::new(),
            init: vec![1.0 - figures.leak, figures.leak],
            step: Step::Override,
            from,
        };
        self.add(name, &states, Role::Sign, local)
    }

    /// Variables of a name at a condition, else of the engine.
    pub(super) fn at_condition(&self, name: &str, condition: usize) -> Vec<VarId> {
        match self.conditions[condition].1.get(name) {
            Some(id) => vec![*id],
            None => self.seen_from(name, None),
        }
    }

    fn rows(
        &self,
        drivers: &[&str],
        rows: &[SignRow],
        states: &[String],
        condition: usize,
    ) -> Result<(Vec<VarId>, Vec<f64>), BuildError> {
        let mut ids = Vec::new();
        for driver in drivers {
            match self.at_condition(driver, condition)[..] {
                [id] => ids.push(id),
                _ => return Err(BuildError::NoVariable((*driver).to_owned())),
            }
        }
        let count: usize = ids.iter().map(|d| self.network.size(*d)).product();
        let primed = self.conditions[condition].0.primed;
        let mut init = Vec::with_capacity(count * states.len());
        for row in 0..count {
            let mut left = row;
            let mut at = vec![0; ids.len()];
            for (i, id) in ids.iter().enumerate().rev() {
                at[i] = left % self.network.size(*id);
                left /= self.network.size(*id);
                // Priming has pushed the air out, whatever the line does over a stand.
                if primed && drivers[i] == "air_side" {
                    at[i] = 0;
                }
            }
            let fits = |r: &&SignRow| {
                r.given.iter().all(|(name, allowed)| {
                    drivers.iter().position(|d| d == name).is_some_and(|i| {
                        allowed.contains(&self.network.variable(ids[i]).states[at[i]])
                    })
                })
            };
            let found = rows.iter().find(fits).ok_or_else(|| BuildError::NoState {
                variable: drivers.join(", "),
                state: format!("row {row}"),
            })?;
            init.extend_from_slice(found.chance.get_ref());
        }
        Ok((ids, init))
    }

    /// Links as contributions of an override: column 0 is silence.
    pub(super) fn links(
        &self,
        links: &[SignLink],
        states: &[String],
        condition: usize,
    ) -> Result<Vec<Contribution>, BuildError> {
        let width = states.len() + 1;
        let mut gathered: Vec<Contribution> = Vec::new();
        for link in links {
            for parent in self.at_condition(link.var.get_ref(), condition) {
                let state = self.state(parent, link.state.get_ref())?;
                let at = match gathered.iter().position(|c| c.parent == parent) {
                    Some(at) => at,
                    None => {
                        let mut silent = vec![0.0; width];
                        silent[0] = 1.0;
                        gathered.push(Contribution {
                            parent,
                            rows: silent.repeat(self.network.size(parent)),
                        });
                        gathered.len() - 1
                    }
                };
                let row = &mut gathered[at].rows[state * width..(state + 1) * width];
                row[0] = 1.0 - link.speaks;
                for (word, share) in link.says.get_ref() {
                    let says = states.iter().position(|s| s == word).ok_or_else(|| {
                        BuildError::NoState {
                            variable: "sign".to_owned(),
                            state: word.clone(),
                        }
                    })?;
                    row[1 + says] = link.speaks * share;
                }
            }
        }
        Ok(gathered)
    }
}
