//! The strip of dots: cylinders in rows, seconds to the right, every trial one mark.
//!
//! The mark is the number of the trial; a trial that stands alone too far out is put in
//! brackets, one set aside in curly ones, one that only bounds the time gets a `>`. Must not
//! judge.

use crate::evidence::trials::{CylinderAnswer, Judgement, TrialAnswer};

/// A chance from which a trial is marked odd: more likely than not. Own judgement.
pub const ODD: f64 = 0.5;
/// Share of the width of the times left free at either end.
const MARGIN: f64 = 0.05;
/// Columns taken by the name of a row.
const NAME: usize = 12;

/// A row: its name and its marks.
type Row = Vec<(f64, String)>;

/// The strip as lines: the pale band of a sound plug, the cylinders, the scale.
#[must_use]
pub fn strip(judgement: &Judgement, width: usize) -> Vec<String> {
    let rows: Vec<(String, Row)> = judgement
        .cylinders
        .iter()
        .map(|c| (format!("cylinder {}", c.cylinder), marks(c)))
        .collect();
    let times = rows.iter().flat_map(|r| r.1.iter().map(|m| m.0));
    let pace = [judgement.pace.low, judgement.pace.high];
    let all = times.chain(pace).filter(|t| t.is_finite());
    let (low, high) = all.fold((f64::INFINITY, 0.0_f64), |(l, h), t| (l.min(t), h.max(t)));
    if low > high {
        return Vec::new();
    }
    let room = MARGIN * (high - low).max(1.0);
    let scale = Scale {
        low: (low - room).max(0.0),
        high: high + room,
        columns: width.saturating_sub(NAME).max(20),
    };
    let mut lines = vec![band(&scale, judgement)];
    lines.extend(rows.iter().map(|(name, marks)| row(&scale, name, marks)));
    lines.push(ruler(&scale));
    lines
}

struct Scale {
    low: f64,
    high: f64,
    columns: usize,
}

impl Scale {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a column of a text"
    )]
    fn at(&self, seconds: f64) -> usize {
        let share = (seconds - self.low) / (self.high - self.low);
        let last = self.columns - 1;
        ((share.clamp(0.0, 1.0) * last as f64).round() as usize).min(last)
    }
}

fn marks(cylinder: &CylinderAnswer) -> Row {
    cylinder
        .trials
        .iter()
        .map(|t| (t.corrected, mark(t)))
        .collect()
}

fn mark(trial: &TrialAnswer) -> String {
    let bound = if trial.bound { ">" } else { "" };
    let number = format!("{}{bound}", trial.trial);
    if trial.set_aside {
        format!("{{{number}}}")
    } else if trial.odd > ODD {
        format!("({number})")
    } else {
        number
    }
}

/// Marks that would stand on each other move one to the right.
fn row(scale: &Scale, name: &str, marks: &Row) -> String {
    // The quicker one stands first even where both fall into one column.
    let mut by_time: Vec<&(f64, String)> = marks.iter().collect();
    by_time.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut marks: Vec<(usize, &str)> = by_time
        .into_iter()
        .map(|(t, m)| (scale.at(*t).saturating_sub(m.len() / 2), m.as_str()))
        .collect();
    marks.sort_by_key(|m| m.0);
    let mut line = String::new();
    for (at, mark) in marks {
        let at = at.max(line.len() + usize::from(!line.is_empty()));
        line.push_str(&" ".repeat(at - line.len()));
        line.push_str(mark);
    }
    format!("{name:<NAME$}{line}")
}

fn band(scale: &Scale, judgement: &Judgement) -> String {
    let (from, to) = (scale.at(judgement.pace.low), scale.at(judgement.pace.high));
    let band = "-".repeat((to - from).max(1));
    format!("{:<NAME$}{}{band}", "sound plug", " ".repeat(from))
}

fn ruler(scale: &Scale) -> String {
    let (left, right) = (format!("{:.1}", scale.low), format!("{:.1} s", scale.high));
    let gap = scale.columns.saturating_sub(left.len() + right.len());
    format!("{:<NAME$}{left}{}{right}", "seconds", " ".repeat(gap))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_never_cover_each_other() {
        let scale = Scale {
            low: 0.0,
            high: 10.0,
            columns: 21,
        };
        let marks = vec![
            (5.0, "1".to_owned()),
            (5.0, "2".to_owned()),
            (10.0, "(3)".to_owned()),
        ];
        assert_eq!(
            row(&scale, "c", &marks),
            "c                     1 2      (3)"
        );
        // Trial 2 was quicker and stood behind trial 1.
        let close = vec![(5.02, "1".to_owned()), (5.01, "2".to_owned())];
        assert_eq!(row(&scale, "c", &close), "c                     2 1");
    }
}
