//! What has to be said of a cell, on its way out of the judging.
//!
//! Lines are written at once where a file of them is asked for; an issue as such is made only
//! where somebody looks at it. Must not judge.

use super::cell::Remark;
use super::issue::{Issue, Level, Told};
use super::row::Work;

impl Work<'_, '_> {
    pub(super) fn issue(&mut self, at: usize, raw: &str, remark: &Remark) {
        let record = self.numbered.record;
        let level = if self.context.strict {
            remark.level.promoted()
        } else {
            remark.level
        };
        let header = self.context.plan.headings.get(at);
        let told = Told {
            file: self.context.file,
            sha256: self.context.sha256,
            line_from: record.line_from,
            line_to: record.line_to,
            record: self.numbered.number,
            column: Some(at + 1),
            header: header.map_or("", String::as_str),
            raw,
            code: remark.code.word(),
            level: level.word(),
            message: &remark.message,
            hint: &remark.hint,
        };
        self.said.add(remark.code, &told);
        if self.said.keep || level == Level::Row {
            self.judged
                .issues
                .push(Issue::of(&told, remark.code, level));
        }
    }

    pub(super) fn say(&mut self, at: usize, raw: &str) {
        let mut remarks = std::mem::take(&mut self.remarks);
        self.say_each(at, raw, &remarks);
        remarks.clear();
        self.remarks = remarks;
    }

    pub(super) fn say_each(&mut self, at: usize, raw: &str, remarks: &[Remark]) {
        remarks.iter().for_each(|r| self.issue(at, raw, r));
    }
}
