//! One record into one job, with everything that has to be said about its cells.
//!
//! Looks at one record only, so that records can be judged side by side. Must not drop a cell:
//! what is not understood is kept as text.

use std::borrow::Cow;
use std::fmt::Write;
use std::sync::Arc;

use super::cell::{self, Remark, Value};
use super::draft_job::{self, DraftJob, Entries, json, set};
use super::issue::{Code, Level};
use super::judged::{Context, Judged, Numbered, Said};
use super::memo::{Memo, Read};
use super::plan::{Column, Reads, ValueColumn};
use super::story::{self, Counts};
use super::target::Place;
use super::text;
use super::watch;
use crate::job::Absent;

/// One record at work.
pub(super) struct Work<'a, 'c> {
    pub(super) context: &'c Context<'a>,
    pub(super) numbered: &'c Numbered<'c>,
    /// The text of all cells, where it needs no decoding.
    plain: Option<&'c str>,
    pub(super) memo: &'c mut Memo,
    pub(super) draft: DraftJob<'c>,
    pub(super) judged: Judged,
    pub(super) said: &'c mut Said,
    minutes: Option<String>,
    cost: Option<String>,
    pub(super) remarks: Vec<Remark>,
    /// Cylinders of this engine, as far as is known.
    cylinders: Option<u8>,
    /// Trials already taken.
    trials: Vec<(&'c str, Option<u8>, u32)>,
}

/// Judges the cells of a record whose key is known; the job is written to the end of `lines`,
/// with a line end, and what has to be said to the end of `said`.
pub fn judge(
    context: &Context<'_>,
    numbered: &Numbered<'_>,
    memo: &mut Memo,
    lines: &mut String,
    said: &mut Said,
) -> Judged {
    let [readings, closing] = std::mem::take(&mut memo.spare);
    let mut work = Work {
        context,
        numbered,
        plain: numbered.record.plain(),
        memo,
        draft: DraftJob {
            job: numbered.key.into(),
            usual: &context.plan.engine,
            readings,
            closing,
            ..DraftJob::default()
        },
        judged: Judged::default(),
        said,
        minutes: None,
        cost: None,
        remarks: Vec::new(),
        cylinders: context.plan.cylinders,
        trials: Vec::new(),
    };
    work.count_cylinders();
    work.cells();
    work.finish(lines);
    let mut spare = [work.draft.readings, work.draft.closing];
    spare.iter_mut().for_each(Entries::clear);
    work.memo.spare = spare;
    work.judged.said = work.said.lines.len();
    work.judged
}

impl<'c> Work<'_, 'c> {
    /// The number of cylinders, from its own column: others are judged by it.
    fn count_cylinders(&mut self) {
        for (at, column) in self.context.plan.columns.iter().enumerate() {
            let Column::Value(value) = column else {
                continue;
            };
            if matches!(&value.place, Place::Engine { field } if field == "cylinders") {
                let text = text::cell(self.numbered.record.cell(at), &self.context.coding).text;
                let mut unsaid = Vec::new();
                if let Reads::Bare(signs, whole, bounds) = &value.reads
                    && let Value::Result(n) =
                        cell::bare(&text, *signs, *whole, *bounds, &mut unsaid)
                {
                    self.cylinders = n.parse().ok();
                }
            }
        }
    }

    pub(super) fn text(&mut self, at: usize) -> Cow<'c, str> {
        if let Some(plain) = self.plain {
            return Cow::Borrowed(self.numbered.record.part(plain, at).trim_ascii());
        }
        let cell = text::cell(self.numbered.record.cell(at), &self.context.coding);
        if cell.bad {
            let remark = Remark::new(
                Code::BadByte,
                Level::Cell,
                "a byte does not fit the encoding of the file",
                "state the encoding (`encoding` in the map), or correct the cell",
            );
            self.issue(at, &cell.text, &remark);
        }
        cell.text
    }

    fn cells(&mut self) {
        let plan = self.context.plan;
        let mut proof = None;
        let (mut causes, mut actions) = (Vec::new(), Vec::new());
        for (at, column) in plan.columns.iter().enumerate() {
            if matches!(column, Column::Ignored) {
                continue;
            }
            let text = self.text(at);
            if text.is_empty() {
                continue;
            }
            match column {
                Column::Date(spec, time) => self.date(at, spec, *time, &text),
                Column::Value(value) => self.value(at, value, &text),
                Column::Cause => causes.push((at, text)),
                Column::Action => actions.push((at, text)),
                Column::Shown(words) => match words.get(&text::folded(&text)) {
                    Some(level) => proof = Some(*level),
                    None => {
                        let what = format!("no word list says what `{text}` shows");
                        self.remarks.push(Remark::new(
                            Code::TextUnmapped,
                            Level::Cell,
                            what,
                            "add it to `words` of this column",
                        ));
                        self.say(at, &text);
                        self.keep(at, &text);
                    }
                },
                Column::Extra => {
                    self.watch(at, &text);
                    self.keep(at, &text);
                }
                Column::Ignored => {}
            }
        }
        self.story(&causes, &actions, proof);
    }

    /// Keeps a text under its heading.
    pub(super) fn keep(&mut self, at: usize, text: &str) {
        let heading = self.context.plan.headings.get(at);
        let heading = match heading {
            Some(heading) => Cow::Borrowed(heading.as_str()),
            None => format!("column_{}", at + 1).into(),
        };
        set(&mut self.draft.extra, heading, json(text));
    }

    fn watch(&mut self, at: usize, text: &str) {
        watch::over(text, &mut self.remarks);
        self.say(at, text);
    }

    fn value(&mut self, at: usize, column: &'c ValueColumn, text: &str) {
        let Some(repeat) = &column.repeat else {
            self.one(at, column, text, column.cylinder, column.trial);
            return;
        };
        let parts: Vec<&str> = text
            .split(repeat.separator.as_str())
            .map(str::trim)
            .collect();
        for (place, part) in parts.iter().enumerate() {
            // A gap keeps its place in the numbering.
            let place = place + 1;
            let (cylinder, trial) = if repeat.cylinders {
                (u8::try_from(place).ok(), column.trial)
            } else {
                (column.cylinder, u32::try_from(place).ok())
            };
            self.one(at, column, part, cylinder, trial);
        }
        if !repeat.cylinders && parts.len() > 1 {
            let what = format!(
                "{} values in one cell are trials 1 to {}",
                parts.len(),
                parts.len()
            );
            self.remarks
                .push(Remark::new(Code::TrialNumbered, Level::Note, what, ""));
            self.say(at, text);
        }
    }

    fn read(&mut self, column: &ValueColumn, text: &str) -> Value {
        let remarks = &mut self.remarks;
        match &column.reads {
            Reads::Numbers(numbers, states) => {
                numbers.read(text, &column.words, states, &mut self.memo.units, remarks)
            }
            Reads::Bare(signs, whole, bounds) => cell::bare(text, *signs, *whole, *bounds, remarks),
            Reads::States(states) => cell::state(text, &column.words, states, remarks),
            Reads::Free if text.is_empty() => Value::Empty,
            Reads::Free => {
                watch::over(text, remarks);
                Value::Result(text.to_owned())
            }
        }
    }

    /// Understands a cell that was not met before.
    fn understand(&mut self, at: usize, column: &'c ValueColumn, text: &str) -> Arc<Read> {
        let before = std::mem::take(&mut self.remarks);
        let mut value = self.read(column, text);
        if column.place == Place::WorkMinutes
            && let Value::Result(written) = &value
        {
            value = Value::Result(story::minutes(written));
        }
        let remarks = std::mem::replace(&mut self.remarks, before);
        // A plain result of a check, or why there is none, makes the same entry wherever it
        // stands in the column.
        let result = match &value {
            Value::Result(value) => Some(value.as_str()),
            Value::Absent(absent) if *absent != Absent::Unreadable => Some(absent.id()),
            _ => None,
        };
        let entry = match (&column.place, result) {
            (Place::Reading { check, .. }, Some(value))
                if remarks.is_empty() && column.repeat.is_none() =>
            {
                let (cylinder, trial) = (column.cylinder, column.trial);
                Some(draft_job::reading(
                    check, cylinder, trial, value, None, None,
                ))
            }
            _ => None,
        };
        let read = Arc::new(Read {
            value,
            remarks,
            entry,
        });
        self.memo.keep(at, text, Arc::clone(&read));
        read
    }

    fn fits(&self, cylinder: Option<u8>) -> bool {
        let most = self.cylinders.unwrap_or(12);
        cylinder.is_none_or(|c| c != 0 && c <= most)
    }

    /// Whether this is the first reading of its trial; it is marked as taken.
    fn first_of(
        &mut self,
        column: &'c ValueColumn,
        cylinder: Option<u8>,
        trial: Option<u32>,
    ) -> bool {
        let (Place::Reading { check, .. }, Some(trial)) = (&column.place, trial) else {
            return true;
        };
        let place = (check.as_str(), cylinder, trial);
        let first = !self.trials.contains(&place);
        if first {
            self.trials.push(place);
        }
        first
    }

    fn one(
        &mut self,
        at: usize,
        column: &'c ValueColumn,
        text: &str,
        cylinder: Option<u8>,
        trial: Option<u32>,
    ) {
        let known = match self.memo.cell(at, text) {
            Some(known) => known,
            None => self.understand(at, column, text),
        };
        if let Some(entry) = &known.entry
            && column.cylinder == cylinder
            && column.trial == trial
            && self.fits(cylinder)
            && self.first_of(column, cylinder, trial)
        {
            self.draft.readings.push(entry);
            return;
        }
        let value = known.value.clone();
        let unused = matches!(
            value,
            Value::Doubtful(..) | Value::Absent(Absent::Unreadable)
        );
        self.say_each(at, text, &known.remarks);
        if let Place::Reading { check, .. } = &column.place {
            let most = self.cylinders.unwrap_or(12);
            if cylinder.is_some_and(|c| c == 0 || c > most) {
                let what = format!("there is no cylinder {}", cylinder.unwrap_or(0));
                self.issue(
                    at,
                    text,
                    &Remark::new(
                        Code::OutOfWindow,
                        Level::Cell,
                        what,
                        "see how many repeats the cell holds",
                    ),
                );
                self.keep(at, text);
                return;
            }
            if let Some(trial) = trial {
                let place = (check.as_str(), cylinder, trial);
                if self.trials.contains(&place) {
                    self.keep(at, text);
                    return;
                }
                self.trials.push(place);
            }
            let note = unused.then(|| format!("in the table: {text}"));
            let (value, aside) = match value {
                Value::Empty => return,
                Value::Result(value) => (value, None),
                Value::Doubtful(value, why) => (value, Some(why)),
                Value::Absent(absent) => (absent.id().to_owned(), None),
            };
            let entry = draft_job::reading(
                check,
                cylinder,
                trial,
                &value,
                aside.as_deref(),
                note.as_deref(),
            );
            self.draft.readings.push(&entry);
            return;
        }
        if unused {
            self.keep(at, text);
        }
        let bare = matches!(column.reads, Reads::Bare(..));
        let value = match value {
            Value::Empty | Value::Doubtful(..) => return,
            Value::Result(value) => value,
            Value::Absent(absent) if column.absent => absent.id().to_owned(),
            Value::Absent(_) => return,
        };
        self.put(at, &column.place, value, bare);
    }

    fn put(&mut self, at: usize, place: &'c Place, value: String, bare: bool) {
        let truth =
            matches!(place, Place::Start { field, .. } if field == "primed" || field == "heated");
        let written = if bare || truth {
            value.clone()
        } else {
            json(&value)
        };
        let new = match place {
            Place::Start {
                field,
                after: false,
            } => set(&mut self.draft.start, field.as_str(), written),
            Place::Start { field, after: true } => {
                set(&mut self.draft.after, field.as_str(), written)
            }
            Place::Told { field } => set(&mut self.draft.told, field.as_str(), written),
            Place::Engine { field } => {
                // What stands in the record is nearer than what the map says of all.
                self.draft.engine.retain(|(k, _)| k != field);
                set(&mut self.draft.engine, field.as_str(), written)
            }
            Place::Complaint => {
                let new = self.draft.complaint.is_empty();
                if new {
                    self.draft.complaint = value.clone().into();
                }
                new
            }
            Place::Note => {
                draft_job::note(self.draft.readings.next(), "", &value);
                true
            }
            Place::WorkMinutes => {
                self.minutes = Some(value.clone());
                true
            }
            Place::PartsCost => {
                self.cost = Some(written);
                true
            }
            Place::Reading { .. } | Place::Extra | Place::Ignored => false,
        };
        if !new {
            self.keep(at, &value);
        }
    }

    fn story(
        &mut self,
        causes: &[(usize, Cow<'_, str>)],
        actions: &[(usize, Cow<'_, str>)],
        proof: Option<crate::job::Proof>,
    ) {
        let plan = self.context.plan;
        for (at, text) in causes.iter().chain(actions) {
            self.watch(*at, text);
        }
        let figures = story::Figures {
            minutes: self.minutes.take(),
            cost: self.cost.take(),
            cylinders: self.cylinders,
            proof: proof.or(plan.proof),
        };
        let closing = std::mem::take(&mut self.draft.closing);
        let story = self.context.story;
        let told = story.tell(causes, actions, &figures, self.memo, closing);
        for (at, raw, remark) in told.remarks {
            self.issue(at, &raw, &remark);
        }
        for (key, value) in told.left {
            set(&mut self.draft.extra, key, value);
        }
        self.draft.closing = told.entries;
        self.judged.counts = told.counts;
    }

    fn finish(&mut self, lines: &mut String) {
        if self.judged.issues.iter().any(|i| i.level == Level::Row) {
            self.judged.counts = Counts::default();
            return;
        }
        if self.draft.complaint.is_empty() {
            self.draft.complaint = self.context.plan.complaint.as_str().into();
        }
        let (sha256, line) = self
            .numbered
            .source
            .unwrap_or((self.context.sha256, self.numbered.record.line_from));
        let content = self.numbered.content;
        self.judged.taken = true;
        self.draft.line(lines, |out| {
            out.push_str("{\"file\":");
            draft_job::push_json(out, self.context.file);
            out.push_str(",\"sha256\":\"");
            out.push_str(sha256);
            // Writing to a text cannot fail.
            let _ = write!(out, "\",\"line\":{line},\"content\":\"{content:016x}\"}}");
        });
        lines.push('\n');
    }
}
