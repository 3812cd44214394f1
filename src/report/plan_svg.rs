//! The next few moves drawn as a tree, left to right, in black on white.
//!
//! Cautions stand above the tree. A dashed rule stands behind each step that uses up the cold.
//! Plain shapes and text only: no script, no colour, nothing fetched. Must not choose or reckon.

use std::fmt::Write;

use super::plan_text::{hazards, listed, state, takes, title};
use super::{chance, moves, page};
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::planning::bench::{Plan, PlanStep};

/// Width of a step and of the room for its findings, in units of the drawing.
const BOX: usize = 280;
const GAP: usize = 190;
const LINE: usize = 16;
const MARGIN: usize = 16;
/// Letters a line of a step and of a finding holds at 12 units a letter high.
const BOX_LETTERS: usize = 40;
const GAP_LETTERS: usize = 25;
const PAGE_LETTERS: usize = 150;

/// The drawing, as the text of an SVG file.
#[must_use]
pub fn plan(plan: &Plan, job: &Job, knowledge: &Knowledge) -> String {
    drawn(plan, job, knowledge, true)
}

/// The same where the cautions stand beside it already.
#[must_use]
pub fn without_cautions(plan: &Plan, job: &Job, knowledge: &Knowledge) -> String {
    drawn(plan, job, knowledge, false)
}

fn drawn(plan: &Plan, job: &Job, knowledge: &Knowledge, with_cautions: bool) -> String {
    let mut drawing = Drawing::default();
    let mut y = MARGIN + LINE;
    for line in wrap(&format!("Job {}: {}", job.job, job.complaint), PAGE_LETTERS) {
        drawing.text(MARGIN, y, &line);
        y += LINE;
    }
    let Some(first) = &plan.first else {
        for line in wrap(moves::nothing_left(plan.over), PAGE_LETTERS) {
            y += LINE;
            drawing.text(MARGIN, y, &line);
        }
        return drawing.finish(&job.job, y + MARGIN);
    };
    let cautions = match with_cautions {
        true => hazards(first),
        false => Vec::new(),
    };
    if !cautions.is_empty() {
        y += LINE;
        drawing.text(MARGIN, y, "Take care");
        y += LINE;
    }
    for id in cautions {
        let known = knowledge.hazards.iter().find(|h| h.id.get_ref() == id);
        let text = known.map_or(id, |h| h.text.as_str());
        for line in wrap(&format!("! {text}"), PAGE_LETTERS) {
            drawing.text(MARGIN, y, &line);
            y += LINE;
        }
    }
    let bottom = drawing.step(first, knowledge, MARGIN, y + LINE);
    drawing.finish(&job.job, bottom + MARGIN)
}

#[derive(Default)]
struct Drawing {
    body: String,
    right: usize,
}

impl Drawing {
    fn text(&mut self, x: usize, y: usize, text: &str) {
        let _ = writeln!(
            self.body,
            "<text x=\"{x}\" y=\"{y}\">{}</text>",
            escape(text)
        );
    }

    fn path(&mut self, d: &str, dashed: bool) {
        let dash = if dashed {
            " stroke-dasharray=\"6 4\""
        } else {
            ""
        };
        let _ = writeln!(
            self.body,
            "<path d=\"{d}\" fill=\"none\" stroke=\"black\"{dash}/>"
        );
    }

    /// Draws a step with what follows, its upper edge at `y`; gives the lower edge of it all.
    fn step(&mut self, step: &PlanStep, knowledge: &Knowledge, x: usize, y: usize) -> usize {
        let mut lines = wrap(&title(step, knowledge), BOX_LETTERS);
        if !step.hazards.is_empty() {
            lines.insert(0, "! take care".to_owned());
        }
        lines.extend(wrap(&takes(step), BOX_LETTERS));
        let height = LINE * lines.len() + LINE / 2;
        let _ = writeln!(
            self.body,
            "<rect x=\"{x}\" y=\"{y}\" width=\"{BOX}\" height=\"{height}\" fill=\"white\" stroke=\"black\"/>"
        );
        for (n, line) in lines.iter().enumerate() {
            self.text(x + 8, y + LINE * (n + 1), line);
        }
        self.right = self.right.max(x + BOX);
        let (branches, rare) = listed(step);
        let from = x + BOX;
        let mut at = y;
        for branch in branches {
            let label = format!("{}  {}", chance::of_100(branch.chance), state(step, branch));
            let label = wrap(&label, GAP_LETTERS);
            let level = at + LINE;
            self.path(
                &format!(
                    "M{from} {} H{} V{level} H{}",
                    y + LINE,
                    from + 12,
                    from + GAP
                ),
                false,
            );
            for (n, line) in label.iter().enumerate() {
                let below = if n == 0 { level - 4 } else { level + LINE * n };
                self.text(from + 16, below, line);
            }
            let own = at + LINE * (label.len() + 1);
            let next = branch
                .then
                .as_ref()
                .map_or(own, |then| self.step(then, knowledge, from + GAP, at));
            self.right = self.right.max(from + GAP);
            at = own.max(next) + LINE / 2;
        }
        if rare > 0 {
            let findings = if rare == 1 { "finding" } else { "findings" };
            self.text(
                from + 16,
                at + LINE - 4,
                &format!("{rare} rarer {findings}"),
            );
            at += LINE;
        }
        let bottom = at.max(y + height);
        if step.uses_up_cold {
            let place = from + 6;
            self.path(&format!("M{place} {y} V{bottom}"), true);
            self.text(x, y + height + LINE, "the cold is used up here |");
            return bottom.max(y + height + LINE + LINE / 2);
        }
        bottom
    }

    fn finish(self, job: &str, height: usize) -> String {
        // The lines above the tree may be wider than it.
        let width = (self.right + MARGIN).max(7 * PAGE_LETTERS);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
             viewBox=\"0 0 {width} {height}\" font-family=\"sans-serif\" font-size=\"12\" \
             role=\"img\">\n<title>Plan of job {}</title>\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"white\"/>\n{}</svg>\n",
            escape(job),
            self.body
        )
    }
}

/// Words into lines of about so many letters.
fn wrap(text: &str, letters: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in page::clean(text).split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= letters => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn escape(text: &str) -> String {
    let text = page::clean(text);
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typed_text_cannot_leave_its_place() {
        assert_eq!(escape("a<b>&\"c\u{1b}"), "a&lt;b&gt;&amp;&quot;c");
        assert_eq!(wrap("one two three", 7), ["one two", "three"]);
    }
}
