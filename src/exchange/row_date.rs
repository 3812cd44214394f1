//! The day of a record, and the time of day beside it.
//!
//! Must not guess which of two numbers is the month.

use super::cell::Remark;
use super::dates::{self, DateSpec, Dated};
use super::issue::{Code, Level};
use super::row::Work;

impl Work<'_, '_> {
    /// Puts the day of a record where jobs keep it, or says why it is none.
    pub(super) fn date(&mut self, at: usize, spec: &DateSpec, time: Option<usize>, text: &str) {
        let clock = time
            .map(|t| self.text(t).into_owned())
            .filter(|t| !t.is_empty());
        let dated = self.memo.date(at, text, || spec.read(text));
        let (code, what, hint) = match &*dated {
            Dated::Is(date) => {
                self.draft.at = Some(self.with_time(date.clone(), clock, time));
                return;
            }
            Dated::Serial(date) => {
                let what = format!("the day number {text} is read as {date}");
                self.draft.at = Some(self.with_time(date.clone(), clock, time));
                self.remarks
                    .push(Remark::new(Code::DateSerial, Level::Note, what, ""));
                self.say(at, text);
                return;
            }
            Dated::Ambiguous => (
                Code::DateAmbiguous,
                format!("day and month of `{text}` cannot be told apart"),
                "state `patterns` for this column",
            ),
            Dated::Impossible => (
                Code::DateImpossible,
                format!("there is no day `{text}`"),
                "correct the cell",
            ),
            Dated::Not => (
                Code::DateImpossible,
                format!("`{text}` is no date"),
                "correct the cell, or state `patterns`",
            ),
            Dated::MustBeStated(what) => (
                Code::MustBeStated,
                format!("`{text}` cannot be read as a date yet"),
                *what,
            ),
        };
        // A job is named by its key; a key without a day is none.
        let level = if self.context.plan.key.contains(&at) {
            Level::Row
        } else {
            Level::Cell
        };
        self.remarks.push(Remark::new(code, level, what, hint));
        self.say(at, text);
        self.keep(at, text);
    }

    fn with_time(&mut self, date: String, clock: Option<String>, column: Option<usize>) -> String {
        let (Some(clock), Some(column)) = (clock, column) else {
            return date;
        };
        if let Some(time) = dates::time(&clock) {
            return format!("{}T{time}", date.split('T').next().unwrap_or(&date));
        }
        let what = format!("`{clock}` is no time of day");
        self.remarks.push(Remark::new(
            Code::NumberBad,
            Level::Cell,
            what,
            "write it as 07:40",
        ));
        self.say(column, &clock);
        self.keep(column, &clock);
        date
    }
}
