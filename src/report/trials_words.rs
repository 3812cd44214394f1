//! Words for verdicts, advice and reference rules of repeated timings.
//!
//! Says "check", never "replace". Must not judge.

use super::page::Page;
use crate::evidence::trials::{Advice, Reference, TrialsAnswer, Verdict};

/// A verdict on the set.
#[must_use]
pub fn set(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InLine => "In line: nothing stands out",
        Verdict::OddTrial => "Odd trial: one trial far from its own cylinder's others",
        Verdict::OddCylinder => "Odd cylinder: slow in every trial",
        Verdict::AllAlikeButSlow => "All alike but slow",
        Verdict::Drifting => "Drifting from trial to trial",
        Verdict::TooFew => "Too few to tell",
    }
}

/// A verdict on one cylinder.
#[must_use]
pub fn cylinder(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::InLine => "in line",
        Verdict::OddTrial => "odd trial",
        Verdict::OddCylinder => "odd cylinder",
        Verdict::AllAlikeButSlow => "alike but slow",
        Verdict::Drifting => "drifting",
        Verdict::TooFew => "too few to tell",
    }
}

/// One piece of advice.
#[must_use]
pub fn advice(advice: &Advice) -> String {
    match advice {
        Advice::TwoMoreTrials { cylinder } => {
            format!("Cylinder {cylinder}: one trial is no judgement; time it twice more.")
        }
        Advice::ThirdTrial { cylinder } => {
            format!("Cylinder {cylinder}: two trials disagree; time it a third time, don't guess.")
        }
        Advice::CheckContact {
            cylinder,
            trial,
            longer,
        } => format!(
            "Cylinder {cylinder}, trial {trial}: {longer:.1} s slower than its own others; check \
             clip, cable and stopwatch, clean the contact and repeat."
        ),
        Advice::CheckCurrent {
            cylinder,
            trial,
            ratio,
        } => format!(
            "Cylinder {cylinder}, trial {trial}: {ratio:.2} times its own others, too fast to be \
             true; let the plug cool and measure its current."
        ),
        Advice::CheckPlugAndLead { cylinder, ratio } => format!(
            "Cylinder {cylinder}: {ratio:.2} times the others in every trial; check the plug and \
             its lead."
        ),
        Advice::NeverGlowed { cylinder, watched } => format!(
            "Cylinder {cylinder}: no glow in {watched:.0} s; before calling it slow, check whether \
             it is dead or unfed: its current, or a lamp in line."
        ),
        Advice::SwapClipsAndRepeat { cylinder, ratio } => format!(
            "Cylinder {cylinder}: {ratio:.2} times the others, neither in line nor slow; swap the \
             clips with a neighbour and repeat."
        ),
        Advice::CheckSupplyAndPlugKind => {
            "Check the volts at the plug, the kind of plug, and how it was timed.".to_owned()
        }
        Advice::SupportBattery { per_trial } => format!(
            "Times grow by {:.0} % a trial; check the battery, charge or support it, and repeat.",
            100.0 * per_trial
        ),
        Advice::LetCool { per_trial } => format!(
            "Times shrink by {:.0} % a trial; let the plugs cool two minutes between trials.",
            100.0 * per_trial.abs()
        ),
        Advice::NoteSupplyVolts { missing } => {
            format!("Note the volts at the plug with every trial; {missing} are without.")
        }
        Advice::RestLonger { cylinder, trial } => {
            format!("Cylinder {cylinder}: rest it two minutes before trial {trial}.")
        }
    }
}

/// The published rules on the same numbers, for comparison.
pub fn references(page: &mut Page, answer: &TrialsAnswer) {
    page.say("For those who know them, published rules for outliers on the same numbers");
    rules(page, "all trials", &answer.reference);
    rules(page, "medians of the cylinders", &answer.reference_medians);
}

fn rules(page: &mut Page, of: &str, reference: &Reference) {
    let mut list = Vec::new();
    if let Some(g) = &reference.grubbs {
        list.push(format!(
            "Grubbs {:.2} against {:.2}: {}",
            g.statistic,
            g.critical,
            outlier(g.rejects)
        ));
    }
    if let Some(d) = &reference.dixon {
        list.push(format!(
            "Dixon {:.2} against {:.2}: {}",
            d.low.max(d.high),
            d.critical,
            outlier(d.rejects)
        ));
    }
    if let Some(e) = &reference.esd {
        list.push(format!("generalised ESD: {} outlying", e.outliers));
    }
    if let Some(m) = &reference.mad {
        list.push(format!(
            "median {:.2} s, MAD {:.2} s: {} beyond 3.5",
            m.median,
            m.mad,
            m.flagged.len()
        ));
    }
    if list.is_empty() {
        list.push("too few numbers".to_owned());
    }
    page.hang(&format!("  {of}: "), &format!("{}.", list.join("; ")));
}

fn outlier(rejects: bool) -> &'static str {
    if rejects { "outlying" } else { "not outlying" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn advice_says_check_and_never_replace() {
        let list = [
            Advice::CheckPlugAndLead {
                cylinder: 3,
                ratio: 1.7,
            },
            Advice::CheckSupplyAndPlugKind,
            Advice::SupportBattery { per_trial: 0.03 },
            Advice::CheckContact {
                cylinder: 3,
                trial: 2,
                longer: 6.85,
            },
        ];
        for text in list.iter().map(advice) {
            assert!(text.to_lowercase().contains("check"), "{text}");
            assert!(!text.contains("replace"), "{text}");
        }
    }
}
