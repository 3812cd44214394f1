//! The trade's checks against the hypotheses: what each would show, what it costs, what hides it.
//!
//! A check done at each cylinder is offered once for all of them; it shows nothing out of the
//! ordinary, one cylinder, or several. Where a check looks at more than one function, their
//! chances are multiplied: with all parts clamped they hang together only through what was seen.
//! Must not search.

use super::answer::Hidden;
use super::hypotheses::Hypotheses;
use super::looking::Looking;
use super::prices::Prices;
use crate::evidence::Case;
use crate::evidence::reading::{Looked, Scale, in_measure, law_of, row_for};
use crate::job::{Job, Repeat};
use crate::knowledge::{Check, CheckKind, Cold, Knowledge, Per};
use crate::network::build::Shape;

/// Volts of a system nobody named; the commonest.
const SYSTEM_VOLTS: f64 = 12.0;

/// A check that may be offered.
pub(super) struct Offered<'k> {
    pub check: &'k Check,
    /// Cylinder, for one reading taken again there.
    pub cylinder: Option<u8>,
    /// How it repeats a reading; `None` for a check not yet done.
    pub repeat: Option<Repeat>,
    pub names: Vec<String>,
    /// `[hypothesis, outcome]`.
    pub chances: Vec<f64>,
    pub minutes: f64,
    /// Access groups with those that must be open before them.
    pub access: Vec<usize>,
}

impl Offered<'_> {
    /// Cylinders that must be opened for it; none where all of them. Neighbours change places.
    pub(super) fn cylinders(&self, of: u8) -> Vec<u8> {
        let Some(own) = self.cylinder else {
            return Vec::new();
        };
        let neighbour = if own < of { own + 1 } else { own - 1 };
        match self.repeat {
            Some(Repeat::Swapped) if of > 1 => vec![own, neighbour],
            _ => vec![own],
        }
    }

    /// Name in the problem: `check`, and for a repeat `check:cylinder@kind`.
    pub(super) fn name(&self) -> String {
        let mut name = self.check.id.get_ref().clone();
        if let Some(c) = self.cylinder {
            name.push_str(&format!(":{c}"));
        }
        if let Some(repeat) = self.repeat {
            name.push_str(&format!("@{}", repeat.id()));
        }
        name
    }
}

/// Everything a check's outcome hangs on.
pub(super) struct Bench<'a> {
    pub knowledge: &'a Knowledge,
    pub job: &'a Job,
    pub case: &'a Case,
    pub shape: &'a Shape,
    pub hypotheses: &'a Hypotheses,
    pub temperature: f64,
    pub prices: Prices,
}

/// Names of the functions checks look at, for every cylinder.
pub(super) fn functions_of(knowledge: &Knowledge, shape: &Shape) -> Vec<String> {
    let mut names = Vec::new();
    for function in &knowledge.functions {
        let id = function.id.get_ref();
        let looked = knowledge.checks.iter().any(|c| {
            c.looks_at
                .iter()
                .any(|l| l.get_ref() == id || (id == "seal" && l.get_ref() == "seals_low"))
        });
        if looked || id == "glow" || id == "seal" || id == "spray" {
            match function.scope {
                crate::knowledge::Scope::Engine => names.push(id.clone()),
                crate::knowledge::Scope::Cylinder => {
                    names.extend((1..=shape.cylinders).map(|c| format!("{id}:{c}")))
                }
            }
        }
    }
    names
}

impl<'a> Bench<'a> {
    /// Checks that can be done, and those that cannot with why.
    pub(super) fn offered(&self) -> (Vec<Offered<'a>>, Vec<Hidden>) {
        let mut offered = Vec::new();
        let mut hidden = Vec::new();
        for check in &self.knowledge.checks {
            match self.left_to_do(check) {
                Err(why) => hidden.push(why),
                Ok(cylinders) => offered.extend(self.offer(check, &cylinders)),
            }
        }
        (offered, hidden)
    }

    fn offer(&self, check: &'a Check, cylinders: &[Option<u8>]) -> Option<Offered<'a>> {
        let names = self.outcome_names(check);
        let mut looks = cylinders
            .iter()
            .map(|c| Looking::new(self, check, *c, names.len()))
            .collect::<Vec<_>>();
        let sound = match check.per {
            Per::Engine => 0,
            Per::Cylinder => self.sound_outcome(check),
        };
        let mut chances = Vec::new();
        for at in 0..self.hypotheses.sets.len() {
            let rows = looks
                .iter_mut()
                .map(|look| look.outcome(at))
                .collect::<Option<Vec<_>>>()?;
            match check.per {
                Per::Engine => chances.extend(&rows[0]),
                Per::Cylinder => chances.extend(pattern(sound, &rows)),
            }
        }
        let names = match check.per {
            Per::Engine => names,
            Per::Cylinder => {
                let mut all = vec!["nothing odd".to_owned()];
                all.extend(cylinders.iter().flatten().map(|c| format!("cylinder {c}")));
                all.push("several".to_owned());
                all
            }
        };
        let each = check.minutes_each.unwrap_or(check.minutes);
        #[expect(clippy::cast_precision_loss, reason = "a handful of cylinders")]
        let minutes = check.minutes + each * (cylinders.len() - 1) as f64;
        Some(Offered {
            check,
            cylinder: None,
            repeat: None,
            names,
            chances,
            minutes,
            access: self.access(check.access.iter().map(|a| a.get_ref().as_str())),
        })
    }

    pub(super) fn outcome_names(&self, check: &Check) -> Vec<String> {
        let mut names = match check.kind {
            CheckKind::States => check.states.clone(),
            CheckKind::Number => check.bound_names.clone(),
        };
        names.extend(check.off_scale.clone());
        names
    }

    /// Chance of each outcome in one hypothesis, at one cylinder.
    pub(super) fn outcome(
        &self,
        check: &Check,
        at: usize,
        cylinder: Option<u8>,
        count: usize,
    ) -> Option<Vec<f64>> {
        Looking::new(self, check, cylinder, count).outcome(at)
    }

    fn bad(&self, name: &str, at: usize) -> f64 {
        self.hypotheses
            .functions
            .get(name)
            .map_or(0.0, |rows| 1.0 - rows[at][0])
    }

    pub(super) fn seals_low(&self, at: usize) -> Vec<(&'static str, f64)> {
        let low = (1..=self.shape.cylinders)
            .map(|c| self.bad(&format!("seal:{c}"), at))
            .collect::<Vec<_>>();
        let none: f64 = low.iter().map(|p| 1.0 - p).product();
        let one: f64 = (0..low.len())
            .map(|i| {
                low.iter()
                    .enumerate()
                    .map(|(j, p)| if i == j { *p } else { 1.0 - p })
                    .product::<f64>()
            })
            .sum();
        vec![
            ("none", none),
            ("one", one),
            ("several", (1.0 - none - one).max(0.0)),
        ]
    }

    /// Whether a cylinder lights at the next start: it lags where heat, seal or spray are short.
    pub(super) fn lights(&self, at: usize, cylinder: Option<u8>) -> Vec<(&'static str, f64)> {
        let Some(c) = cylinder else {
            return vec![("at_once", 1.0)];
        };
        let good: f64 = ["glow", "seal", "spray"]
            .iter()
            .map(|f| 1.0 - self.bad(&format!("{f}:{c}"), at))
            .product();
        vec![("at_once", good), ("not", 1.0 - good)]
    }

    /// Chances of the outcomes for a joint state.
    pub(super) fn given(&self, check: &Check, state: &Looked<'_>, at: usize) -> Option<Vec<f64>> {
        let row = row_for(check, state, self.shape.cylinders)?;
        if check.kind == CheckKind::States {
            let mut now = row.chance.as_ref()?.get_ref().clone();
            for link in &check.link {
                for f in &self.hypotheses.sets[at] {
                    let fault = &self.hypotheses.faults[*f];
                    if fault.part == *link.var.get_ref() && fault.fault == *link.state.get_ref() {
                        for (s, name) in check.states.iter().enumerate() {
                            let says = link.says.get_ref().get(name).copied().unwrap_or(0.0);
                            now[s] = now[s] * (1.0 - link.speaks) + link.speaks * says;
                        }
                    }
                }
            }
            return Some(now);
        }
        let scale = self.scale();
        let off = row.off_scale.unwrap_or(0.0);
        let Some(law) = law_of(
            self.knowledge,
            check,
            row,
            state,
            self.shape.cylinders,
            scale,
        ) else {
            let mut out = vec![0.0; check.bound_names.len()];
            out.push(1.0);
            return check.off_scale.is_some().then_some(out);
        };
        let mut out = Vec::new();
        let mut before = 0.0;
        for bound in &check.bounds {
            let below = law.below(in_measure(check, *bound, scale));
            out.push((1.0 - off) * (below - before).max(0.0));
            before = below;
        }
        out.push((1.0 - off) * (1.0 - before));
        if check.off_scale.is_some() {
            out.push(off);
        }
        Some(out)
    }

    pub(super) fn scale(&self) -> Scale {
        Scale {
            nominal: 1.0,
            temperature: self.temperature,
            system_volts: self.job.engine.system_volts.unwrap_or(SYSTEM_VOLTS),
        }
    }

    /// Outcome a sound cylinder shows most.
    pub(super) fn sound_outcome(&self, check: &Check) -> usize {
        let healthy = self
            .hypotheses
            .sets
            .iter()
            .position(Vec::is_empty)
            .unwrap_or(0);
        let count = self.outcome_names(check).len();
        let row = self
            .outcome(check, healthy, Some(1), count)
            .unwrap_or_default();
        (0..row.len())
            .max_by(|a, b| row[*a].total_cmp(&row[*b]))
            .unwrap_or(0)
    }

    /// Positions of access groups, those that must be open before included.
    pub(super) fn access<'s>(&self, names: impl Iterator<Item = &'s str>) -> Vec<usize> {
        let mut open = Vec::new();
        let mut waiting = names.map(str::to_owned).collect::<Vec<_>>();
        while let Some(name) = waiting.pop() {
            let at = self
                .knowledge
                .access
                .iter()
                .position(|a| *a.id.get_ref() == name);
            if let Some(at) = at.filter(|at| !open.contains(at)) {
                open.push(at);
                waiting.extend(
                    self.knowledge.access[at]
                        .after
                        .iter()
                        .map(|a| a.get_ref().clone()),
                );
            }
        }
        open.sort_unstable();
        open
    }
}

/// Nothing odd, one cylinder, several: odd is whatever a sound cylinder shows least.
fn pattern(sound: usize, rows: &[Vec<f64>]) -> Vec<f64> {
    let odd = rows.iter().map(|r| 1.0 - r[sound]).collect::<Vec<_>>();
    let none: f64 = odd.iter().map(|p| 1.0 - p).product();
    let mut out = vec![none];
    for i in 0..odd.len() {
        out.push(
            odd.iter()
                .enumerate()
                .map(|(j, p)| if i == j { *p } else { 1.0 - p })
                .product(),
        );
    }
    let one: f64 = out[1..].iter().sum();
    out.push((1.0 - none - one).max(0.0));
    out
}

/// Whether a check needs a cold engine.
pub(super) fn needs_cold(check: &Check) -> bool {
    check.cold != Cold::Keeps
}

/// Cold mark by name.
pub(super) fn cold_name(cold: Cold) -> &'static str {
    match cold {
        Cold::Keeps => "keeps",
        Cold::Needs => "needs",
        Cold::UsesUp => "uses_up",
    }
}

/// Outcome chances of a check over all hypotheses.
pub(super) fn predicted(chances: &[f64], weights: &[f64], outcomes: usize) -> Vec<f64> {
    let mut sum = vec![0.0; outcomes];
    for (row, weight) in chances.chunks(outcomes).zip(weights) {
        for (s, c) in sum.iter_mut().zip(row) {
            *s += weight * c;
        }
    }
    sum
}
