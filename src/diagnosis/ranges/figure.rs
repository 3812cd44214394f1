//! Which figures of the knowledge can matter to a job, with their strengths.
//!
//! Figures of signs nobody saw, checks nobody read and parts the engine does not have are left
//! out: they move nothing. Must not move anything itself.

use std::collections::BTreeSet;

use super::cells::{Cells, Place, cells, moves};
use super::spread;
use crate::evidence::{Evidence, Source};
use crate::job::{EntryBody, Job};
use crate::knowledge::{Check, FigureOrigin, Knowledge, Law, Relative, Sign};
use crate::network::build::counted_share;

/// Signs a start by the book shows besides its crank time.
const BOOK: (&str, [&str; 2]) = ("start_by_the_book", ["time_to_even", "dies"]);

/// One figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it is: `root:plug.dead`, `function:glow:plug.weak:some`, `sign:SIGN:row 2:STATE`,
    /// `check:CHECK:row 1:mean`, `start:heat:glow_full`; counted from 1.
    pub id: String,
    /// Value as it stands.
    pub value: f64,
    /// How far it may be off, one standard deviation: of the log-odds of a chance, of the
    /// logarithm of a number that moves by a factor, else in its own unit.
    pub spread: f64,
    /// Whether it moves by adding in its own unit rather than by a factor on it or its odds.
    pub adds: bool,
    /// Pseudo-count behind it.
    pub strength: f64,
    /// Where it comes from.
    pub source: String,
    pub(super) place: Place,
    pub(super) at: usize,
}

/// Gathers figures; the knowledge is only read, though places hand out figures to be moved.
struct List<'a> {
    knowledge: &'a mut Knowledge,
    figures: Vec<Figure>,
}

/// Every figure that can matter, in a fixed order.
pub(super) fn figures(knowledge: &Knowledge, job: &Job, evidence: &Evidence) -> Vec<Figure> {
    let mut own = knowledge.clone();
    let mut list = List {
        knowledge: &mut own,
        figures: Vec::new(),
    };
    list.roots(knowledge, evidence);
    list.functions(knowledge, evidence);
    list.starts(knowledge, evidence);
    list.signs(knowledge, evidence);
    list.checks(knowledge, evidence);
    list.work(knowledge, job);
    if evidence.cases.len() > 1 {
        for (at, kind) in knowledge.engines.kind.iter().enumerate() {
            let id = format!("engines:{}, {}", kind.chamber, kind.preheat);
            let origin = knowledge.defaults[start_file(knowledge)].origin(None, None);
            list.factor(
                id,
                Place::Kind(at),
                spread::weight(kind.share, origin.strength),
                &origin,
            );
        }
    }
    list.figures
}

/// Index of the file of starts, whose defaults hold for its figures without a table of their own.
fn start_file(knowledge: &Knowledge) -> usize {
    knowledge.signs.first().map_or(0, |s| s.file)
}

/// Starting chance of a fault in the first case that has it.
fn standing(evidence: &Evidence, part: &str, fault: &str) -> Option<f64> {
    evidence.cases.iter().find_map(|case| {
        let mut known = case.model.faults.iter();
        let found = known.find(|f| f.part == part && f.fault == fault)?;
        let variable = case.model.network.variable(found.variable);
        variable.local.init.get(found.state).copied()
    })
}

impl List<'_> {
    /// Chances of a row, `names` for its entries. `strength_of` may replace the chance by which a
    /// figure is reckoned to have been counted.
    fn row(
        &mut self,
        id: &str,
        names: &[String],
        place: &Place,
        origin: &FigureOrigin,
        counted: Option<&[f64]>,
    ) {
        let Some(found) = cells(self.knowledge, place) else {
            return;
        };
        let rest = matches!(found, Cells::Rests(_));
        for (at, value) in found.values().into_iter().enumerate() {
            if !moves(value) {
                continue;
            }
            let p = counted.and_then(|c| c.get(at).copied()).unwrap_or(value);
            let spread = if rest {
                spread::odds(p, origin.strength)
            } else {
                spread::weight(p, origin.strength)
            };
            let name = names.get(at).map(|n| format!(":{n}")).unwrap_or_default();
            self.figures.push(Figure {
                id: format!("{id}{name}"),
                value,
                spread,
                adds: false,
                strength: origin.strength,
                source: origin.source.clone(),
                place: place.clone(),
                at,
            });
        }
    }

    fn number(&mut self, id: String, place: Place, spread: f64, adds: bool, origin: &FigureOrigin) {
        let value = cells(self.knowledge, &place).and_then(|c| c.values().first().copied());
        let Some(value) = value.filter(|_| spread > 0.0) else {
            return;
        };
        self.figures.push(Figure {
            id,
            value,
            spread,
            adds,
            strength: origin.strength,
            source: origin.source.clone(),
            place,
            at: 0,
        });
    }

    fn factor(&mut self, id: String, place: Place, spread: f64, origin: &FigureOrigin) {
        self.number(id, place, spread, false, origin);
    }

    fn added(&mut self, id: String, place: Place, spread: f64, origin: &FigureOrigin) {
        self.number(id, place, spread, true, origin);
    }

    /// Starting chances are fitted to shares of complaints: they are as sure as those shares.
    fn roots(&mut self, knowledge: &Knowledge, evidence: &Evidence) {
        for (at, part) in knowledge.parts.iter().enumerate() {
            let id = part.id.get_ref();
            let there = |c: &crate::evidence::Case| c.model.faults.iter().any(|f| f.part == *id);
            if !evidence.cases.iter().any(there) {
                continue;
            }
            let names = part.fault.iter().map(|f| f.id.get_ref().clone());
            let names = names.collect::<Vec<_>>();
            let defaults = &knowledge.defaults[part.file];
            let origin = defaults.origin(part.source.as_deref(), part.strength);
            let place = Place::Root(at);
            let roots = cells(self.knowledge, &place).map_or(Vec::new(), |c| c.values());
            let counted = part.fault.iter().enumerate().map(|(n, fault)| {
                let share = counted_share(knowledge, fault);
                share.or(roots.get(n).copied()).unwrap_or(0.0)
            });
            let counted = counted.collect::<Vec<_>>();
            for (n, name) in names.iter().enumerate() {
                let before = self.figures.len();
                self.row("", &names, &place, &origin, Some(&counted));
                let mut made = self.figures.split_off(before);
                made.retain(|f| f.at == n);
                for figure in &mut made {
                    figure.id = format!("root:{id}.{name}");
                    // As it stands in this job's context, not in the first one of the file.
                    figure.value = standing(evidence, id, name).unwrap_or(figure.value);
                }
                self.figures.extend(made);
            }
            for state in part.given_rows.keys() {
                let place = Place::Given(at, state.clone());
                let driver = part.given.as_ref().map_or("", |g| g.get_ref());
                self.row(
                    &format!("given:{id}:{driver}.{state}"),
                    &names,
                    &place,
                    &origin,
                    None,
                );
            }
        }
    }

    fn functions(&mut self, knowledge: &Knowledge, evidence: &Evidence) {
        for (at, function) in knowledge.functions.iter().enumerate() {
            let id = function.id.get_ref();
            let first = format!("{id}:1");
            let there = |c: &crate::evidence::Case| {
                c.model.now.contains_key(id) || c.model.now.contains_key(&first)
            };
            if !evidence.cases.iter().any(there) {
                continue;
            }
            let defaults = &knowledge.defaults[function.file];
            let origin = defaults.origin(function.source.as_deref(), function.strength);
            let name = format!("function:{id}:leak");
            self.row(&name, &function.states, &Place::Leak(at), &origin, None);
            for (n, from) in function.from.iter().enumerate() {
                let source = from.source.as_deref().or(function.source.as_deref());
                let origin = defaults.origin(source, from.strength.or(function.strength));
                let name = format!(
                    "function:{id}:{}.{}",
                    from.var.get_ref(),
                    from.state.get_ref()
                );
                self.row(&name, &function.states, &Place::Gives(at, n), &origin, None);
            }
        }
    }

    /// Figures of the heat margin, of catching and of the complaint. Temperatures are reckoned to
    /// have been judged where a cylinder lights as often as not.
    fn starts(&mut self, knowledge: &Knowledge, evidence: &Evidence) {
        let origin = knowledge.defaults[start_file(knowledge)].origin(None, None);
        let n = origin.strength;
        let heat = &knowledge.starts.heat;
        let kelvin = spread::shift(heat.width, n);
        let factor = spread::log_deviation(n);
        let chambers = evidence.cases.iter().map(|c| c.chamber.clone());
        for chamber in chambers.collect::<BTreeSet<_>>() {
            for name in ["half_unheated", "glow_full", "glow_some"] {
                let id = format!("start:heat:{chamber}:{name}");
                self.added(id, Place::Chamber(chamber.clone(), name), kelvin, &origin);
            }
        }
        for name in ["seal_low", "seal_very_low", "spray"] {
            self.added(
                format!("start:heat:{name}"),
                Place::Heat(name),
                kelvin,
                &origin,
            );
        }
        // A band cannot be narrower than nothing, so it moves by a factor.
        let band = kelvin / heat.late_band;
        let place = Place::Heat("late_band");
        self.factor("start:heat:late_band".to_owned(), place, band, &origin);
        for name in ["width", "step"] {
            self.factor(
                format!("start:heat:{name}"),
                Place::Heat(name),
                factor,
                &origin,
            );
        }
        for name in ["no_spray_late", "stray"] {
            self.row(
                &format!("start:heat:{name}"),
                &[],
                &Place::Heat(name),
                &origin,
                None,
            );
        }
        let shift = spread::shift(1.0, n);
        self.added(
            "start:catch:base".to_owned(),
            Place::Catch("base"),
            shift,
            &origin,
        );
        for name in ["cold", "unlit", "unlit_cold"] {
            self.factor(
                format!("start:catch:{name}"),
                Place::Catch(name),
                factor,
                &origin,
            );
        }
        for (at, link) in knowledge.starts.complaint.link.iter().enumerate() {
            let defaults = &knowledge.defaults[start_file(knowledge)];
            let origin = defaults.origin(link.source.as_deref(), link.strength);
            let id = format!("complaint:{}.{}", link.var.get_ref(), link.state.get_ref());
            self.row(&id, &[], &Place::ComplaintSpeaks(at), &origin, None);
        }
        self.row("complaint:leak", &[], &Place::ComplaintLeak, &origin, None);
        self.row("told", &[], &Place::Told, &origin, None);
        self.row("wide_share", &[], &Place::WideShare, &origin, None);
    }

    fn signs(&mut self, knowledge: &Knowledge, evidence: &Evidence) {
        let mut seen = BTreeSet::from(["crank_time".to_owned()]);
        for item in evidence.cases.iter().flat_map(|c| &c.items) {
            match &item.source {
                Source::Told { sign } | Source::Seen { sign, .. } => {
                    seen.insert(sign.clone());
                }
                Source::Reading { check, .. } if check == BOOK.0 => {
                    seen.extend(BOOK.1.map(str::to_owned));
                }
                _ => {}
            }
        }
        for (at, sign) in knowledge.signs.iter().enumerate() {
            if seen.contains(sign.id.get_ref()) {
                self.sign(knowledge, at, sign);
            }
        }
    }

    fn sign(&mut self, knowledge: &Knowledge, at: usize, sign: &Sign) {
        let id = sign.id.get_ref();
        let defaults = &knowledge.defaults[sign.file];
        let origin = |source: &Option<String>, strength: Option<f64>| {
            let source = source.as_deref().or(sign.source.as_deref());
            defaults.origin(source, strength.or(sign.strength))
        };
        for (n, row) in sign.row.iter().enumerate() {
            let name = format!("sign:{id}:row {}", n + 1);
            let origin = origin(&row.source, row.strength);
            self.row(&name, &sign.states, &Place::SignRow(at, n), &origin, None);
        }
        for (n, from) in sign.from.iter().enumerate() {
            let name = format!("sign:{id}:{}.{}", from.var.get_ref(), from.state.get_ref());
            let origin = origin(&from.source, from.strength);
            self.row(&name, &sign.states, &Place::SignGives(at, n), &origin, None);
        }
        for (n, link) in sign.link.iter().enumerate() {
            let name = format!("sign:{id}:{}.{}", link.var.get_ref(), link.state.get_ref());
            let origin = origin(&link.source, link.strength);
            let states = link.says.get_ref().keys().cloned().collect::<Vec<_>>();
            self.row(
                &format!("{name}:speaks"),
                &[],
                &Place::Speaks(at, n),
                &origin,
                None,
            );
            self.row(
                &format!("{name}:says"),
                &states,
                &Place::Says(at, n),
                &origin,
                None,
            );
        }
    }

    fn checks(&mut self, knowledge: &Knowledge, evidence: &Evidence) {
        let items = evidence.cases.iter().flat_map(|c| &c.items);
        let read = items.filter_map(|i| match &i.source {
            Source::Reading { check, .. } => Some(check.clone()),
            _ => None,
        });
        let read = read.collect::<BTreeSet<_>>();
        for (at, check) in knowledge.checks.iter().enumerate() {
            if read.contains(check.id.get_ref()) {
                self.check(knowledge, at, check);
            }
        }
    }

    fn check(&mut self, knowledge: &Knowledge, at: usize, check: &Check) {
        let id = check.id.get_ref();
        let defaults = &knowledge.defaults[check.file];
        let origin = |source: &Option<String>, strength: Option<f64>| {
            let source = source.as_deref().or(check.source.as_deref());
            defaults.origin(source, strength.or(check.strength))
        };
        for (n, row) in check.row.iter().enumerate() {
            let name = format!("check:{id}:row {}", n + 1);
            let origin = origin(&row.source, row.strength);
            self.row(&name, &check.states, &Place::CheckRow(at, n), &origin, None);
            self.row(
                &format!("{name}:off_scale"),
                &[],
                &Place::OffScale(at, n),
                &origin,
                None,
            );
            let (Some(_), Some(sd)) = (row.mean, row.sd) else {
                continue;
            };
            let strength = origin.strength;
            let centre = spread::mean(sd, strength);
            let mean = format!("{name}:mean");
            let ratio = check.relative.is_some_and(|r| r != Relative::BatteryTable);
            if check.law == Some(Law::LogNormal) && (ratio || row.mean > Some(0.0)) {
                self.factor(mean, Place::MeanFactor(at, n), centre, &origin);
            } else {
                self.added(mean, Place::Mean(at, n), centre, &origin);
            }
            let deviation = spread::log_deviation(strength);
            self.factor(
                format!("{name}:sd"),
                Place::Deviation(at, n),
                deviation,
                &origin,
            );
        }
        for (n, link) in check.link.iter().enumerate() {
            let name = format!("check:{id}:{}.{}", link.var.get_ref(), link.state.get_ref());
            let origin = origin(&link.source, link.strength);
            let states = link.says.get_ref().keys().cloned().collect::<Vec<_>>();
            self.row(
                &format!("{name}:speaks"),
                &[],
                &Place::CheckSpeaks(at, n),
                &origin,
                None,
            );
            self.row(
                &format!("{name}:says"),
                &states,
                &Place::CheckSays(at, n),
                &origin,
                None,
            );
        }
    }

    fn work(&mut self, knowledge: &Knowledge, job: &Job) {
        let done = job.entries.iter().filter(|e| e.set_aside.is_none());
        let done = done.filter_map(|e| match &e.body {
            EntryBody::Work(work) => Some(work.repair.as_str()),
            _ => None,
        });
        let done = done.collect::<BTreeSet<_>>();
        for (at, repair) in knowledge.repairs.iter().enumerate() {
            let id = repair.id.get_ref();
            if !done.contains(id.as_str()) {
                continue;
            }
            let defaults = &knowledge.defaults[repair.file];
            let origin = defaults.origin(repair.source.as_deref(), repair.strength);
            self.row(
                &format!("repair:{id}:bad_new"),
                &[],
                &Place::BadNew(at),
                &origin,
                None,
            );
            for (n, fix) in repair.fixes.iter().enumerate() {
                let name = format!("repair:{id}:{}", fix.fault.get_ref());
                self.row(&name, &[], &Place::Surely(at, n), &origin, None);
            }
        }
    }
}
