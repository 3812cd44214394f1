//! The judgement of repeated timings for people: strip, table twin, verdicts, references.
//!
//! Must not judge. Nothing is dropped: kept and set aside together are what was recorded.

use super::page::{Layout, Page};
use super::trials_strip::{ODD, strip};
use super::trials_words as words;
use super::{cautions, chance};
use crate::evidence::timed::TIMED;
use crate::evidence::trials::{
    Counts, CylinderAnswer, Drift, DriftKind, Judgement, PaceSource, SupplyNote, TimingNote,
    TrialsAnswer, Verdict,
};
use crate::job::{CylinderOne, Job};
use crate::knowledge::Knowledge;

/// The page.
#[must_use]
pub fn trials(
    answer: &TrialsAnswer,
    reference_volts: f64,
    job: &Job,
    knowledge: &Knowledge,
    layout: Layout,
) -> String {
    let mut page = Page::new(layout);
    page.hang(&format!("Job {}  ", job.job), "Timing trials");
    page.gap();
    let judged = &answer.judgement;
    verdict(&mut page, judged);
    page.gap();
    for line in strip(judged, layout.width) {
        page.line(&line);
    }
    page.say(
        "Each figure is a trial at its time; (2) stands off its own cylinder's others, {2} was \
         set aside, 2> only says longer than.",
    );
    ends(&mut page, job.engine.cylinder_one);
    page.gap();
    for cylinder in &judged.cylinders {
        row(&mut page, cylinder);
    }
    page.gap();
    pace(&mut page, judged, reference_volts);
    supply(&mut page, answer.supply_note);
    for note in &answer.notes {
        let TimingNote::ShortRest {
            cylinder,
            trial,
            rest,
        } = note;
        page.say(&format!(
            "Cylinder {cylinder}, trial {trial}: only {rest:.0} s of rest; a warm plug reads short."
        ));
    }
    page.say(&recorded(answer.counts));
    if let Some(with) = &answer.with_set_aside {
        let text = words::set(with.verdict);
        page.say(&format!("With the trials set aside counted too: {text}."));
    }
    if !judged.advice.is_empty() {
        page.gap();
        let check = knowledge.checks.iter().find(|c| c.id.get_ref() == TIMED);
        let hazards = check.map_or(&[][..], |c| &c.hazards[..]);
        cautions::say(
            &mut page,
            knowledge,
            hazards.iter().map(|h| h.get_ref().as_str()),
        );
        page.say("What to do next");
        for advice in &judged.advice {
            page.hang("  - ", &words::advice(advice));
        }
    }
    page.gap();
    words::references(&mut page, answer);
    page.finish()
}

/// That nothing is lost: kept and set aside are what was recorded.
#[must_use]
pub fn recorded(counts: Counts) -> String {
    format!(
        "{} recorded = {} kept + {} set aside.",
        counts.recorded, counts.kept, counts.set_aside
    )
}

fn verdict(page: &mut Page, judged: &Judgement) {
    let c = &judged.chances;
    let chance = match judged.verdict {
        Verdict::InLine => Some(c.in_line),
        Verdict::OddTrial => Some(c.odd_trial),
        Verdict::OddCylinder => Some(c.odd_cylinder),
        Verdict::AllAlikeButSlow => Some(c.all_alike_but_slow),
        Verdict::Drifting => Some(c.drifting),
        Verdict::TooFew => None,
    };
    let text = words::set(judged.verdict);
    match chance {
        Some(chance) => page.say(&format!("{text}: {}.", chance::in_words(chance))),
        None => page.say(&format!("{text}.")),
    }
    let list = [
        ("in line", c.in_line),
        ("odd trial", c.odd_trial),
        ("odd cylinder", c.odd_cylinder),
        ("all alike but slow", c.all_alike_but_slow),
        ("drifting", c.drifting),
    ];
    let list: Vec<String> = list
        .iter()
        .map(|(name, chance)| format!("{name} {}", chance::count(*chance)))
        .collect();
    page.hang("Of 100: ", &list.join(", "));
    page.say(
        "From the timings alone, each plug sound or slow. hardstart causes weighs them with \
         everything else, and knows dead plugs too.",
    );
    if let Some(Drift {
        chance,
        kind,
        per_trial,
    }) = judged.drift.filter(|d| d.chance > ODD)
    {
        let way = match kind {
            DriftKind::Slowing => "longer",
            DriftKind::Quickening => "shorter",
        };
        let percent = 100.0 * per_trial.abs();
        page.say(&format!(
            "Times get about {percent:.0} % {way} from trial to trial: {}.",
            chance::in_words(chance)
        ));
    }
}

fn ends(page: &mut Page, one: CylinderOne) {
    match one {
        CylinderOne::PulleyEnd => page.say("Cylinder 1 is at the pulley end."),
        CylinderOne::FlywheelEnd => page.say("Cylinder 1 is at the flywheel end."),
        CylinderOne::Unknown => {
            page.say("Which end is cylinder 1? Note it in the job (cylinder_one).");
        }
    }
}

/// The table twin: one cylinder, all its trials, its median, its verdict and chance of a slow plug.
fn row(page: &mut Page, cylinder: &CylinderAnswer) {
    let trials: Vec<String> = cylinder
        .trials
        .iter()
        .map(|t| {
            let bound = if t.bound { "> " } else { "" };
            let mut text = format!("{bound}{} s", seconds(t.value));
            if (t.corrected - t.value).abs() >= 0.05 {
                text.push_str(&format!(" (as {} s)", seconds(t.corrected)));
            }
            if t.set_aside {
                text.push_str(" set aside");
            } else if t.odd > ODD {
                text.push_str(&format!(" odd ({} of 100)", chance::count(t.odd)));
            }
            text
        })
        .collect();
    page.hang(
        &format!("cylinder {:<3}", cylinder.cylinder),
        &trials.join("; "),
    );
    let median = cylinder
        .median
        .map_or_else(String::new, |m| format!("median {} s; ", seconds(m)));
    let slow = chance::of_100(cylinder.slow);
    page.hang(
        "            ",
        &format!(
            "{median}{}; slow plug {slow}",
            words::cylinder(cylinder.verdict)
        ),
    );
}

fn pace(page: &mut Page, judged: &Judgement, reference_volts: f64) {
    let p = &judged.pace;
    let from = match p.source {
        PaceSource::Siblings => "compared with its neighbours, not with a spec",
        PaceSource::OwnTrials => "one cylinder only, compared with plugs of the trade",
        PaceSource::Catalogue => "no trial kept, from plugs of the trade alone",
    };
    page.say(&format!(
        "A sound plug of this set glows in about {} s at {reference_volts} V ({} to {} s, 80 of \
         100); {from}.",
        seconds(p.value),
        seconds(p.low),
        seconds(p.high)
    ));
}

fn supply(page: &mut Page, note: SupplyNote) {
    match note {
        SupplyNote::Corrected => {
            page.say("Volts were noted with every trial and are allowed for.");
        }
        SupplyNote::PartlyAssumed { volts, missing } => page.say(&format!(
            "{missing} without volts: reckoned with {volts:.1} V for them."
        )),
        SupplyNote::Missing => page.say(
            "No volts noted: a battery that sags looks like slow plugs. Note them with each trial.",
        ),
    }
}

fn seconds(value: f64) -> String {
    format!("{value:.1}")
}
