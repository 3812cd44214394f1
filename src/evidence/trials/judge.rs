//! From timings to the whole judgement: checks, both ways of counting, references. Must not
//! format, and drops no reading.

use super::advice::{Advice, Judged, advise};
use super::answer::{
    Counts, CylinderAnswer, Judgement, NominalChance, Pace, PaceSource, Reference, TrialAnswer,
    TrialsAnswer,
};
use super::chances::{Beliefs, level_chances, odd_outside, odd_within, pace_quantile, weigh};
use super::drift::compare;
use super::grid::{CylinderLikelihood, Grid, STEP, Shifted};
use super::law::{Catalogue, Figures};
use super::readings::{
    Bench, Observed, Prepared, Ready, SupplyNote, Timing, TimingNote, TrialsError, prepare,
};
use super::reference::{dixon, esd, grubbs, mad, median};
use super::verdict::{CylinderChances, Verdict, enough, of_cylinder, of_set, set_chances};

/// A set further than this beyond the slowest catalogue time is slow as a whole. Common practice,
/// no source (the grey zone begins at 1.25).
const BEYOND: f64 = 1.25;
/// Ends of the 80 % range of the pace.
const RANGE: (f64, f64) = (0.1, 0.9);

/// Judges a set of trials.
///
/// # Errors
/// All problems of the timings, the figures and the catalogue at once.
pub fn judge(
    timings: &[Timing],
    bench: &Bench,
    figures: &Figures,
    catalogue: &Catalogue,
) -> Result<TrialsAnswer, Vec<TrialsError>> {
    judge_on_step(timings, bench, figures, catalogue, STEP)
}

/// As [`judge`], on a grid of that step.
pub(super) fn judge_on_step(
    timings: &[Timing],
    bench: &Bench,
    figures: &Figures,
    catalogue: &Catalogue,
    step: f64,
) -> Result<TrialsAnswer, Vec<TrialsError>> {
    let prepared = check(timings, bench, figures, catalogue)?;
    let grid = Grid::new(figures, catalogue, step);
    let mut judgement = judge_set(&grid, figures, catalogue, &prepared.trials, false);
    let set_aside = timings.iter().filter(|t| t.set_aside).count();
    let with_set_aside =
        (set_aside > 0).then(|| judge_set(&grid, figures, catalogue, &prepared.trials, true));
    let missing = match prepared.supply {
        SupplyNote::Corrected => 0,
        SupplyNote::PartlyAssumed { missing, .. } => missing,
        SupplyNote::Missing => timings.len(),
    };
    if missing > 0 {
        judgement.advice.push(Advice::NoteSupplyVolts { missing });
    }
    for note in &prepared.notes {
        let TimingNote::ShortRest {
            cylinder, trial, ..
        } = *note;
        judgement
            .advice
            .push(Advice::RestLonger { cylinder, trial });
    }
    let exact = |t: &Ready| match t.corrected {
        Observed::Exact(s) | Observed::About(s) if !t.timing.set_aside => Some(s),
        _ => None,
    };
    let medians = judgement.cylinders.iter().filter_map(|c| c.median);
    Ok(TrialsAnswer {
        reference: reference(prepared.trials.iter().filter_map(exact).collect()),
        reference_medians: reference(medians.collect()),
        judgement,
        with_set_aside,
        supply_note: prepared.supply,
        notes: prepared.notes,
        counts: Counts {
            recorded: timings.len(),
            kept: timings.len() - set_aside,
            set_aside,
        },
    })
}

/// Everything that can be wrong with the inputs, else the prepared trials.
pub(super) fn check(
    timings: &[Timing],
    bench: &Bench,
    figures: &Figures,
    catalogue: &Catalogue,
) -> Result<Prepared, Vec<TrialsError>> {
    let mut problems = figures.problems();
    problems.extend(catalogue.problems());
    match prepare(timings, bench) {
        Ok(prepared) if problems.is_empty() => Ok(prepared),
        Ok(_) => Err(problems),
        Err(more) => {
            problems.extend(more);
            Err(problems)
        }
    }
}

/// The cylinders present, in order, each with all its trials.
pub(super) fn by_cylinder(trials: &[Ready]) -> Vec<(u8, Vec<Ready>)> {
    let mut cylinders: Vec<(u8, Vec<Ready>)> = Vec::new();
    for t in trials {
        match cylinders.last_mut() {
            Some((c, list)) if *c == t.timing.cylinder => list.push(*t),
            _ => cylinders.push((t.timing.cylinder, vec![*t])),
        }
    }
    cylinders
}

/// Likelihoods of the kept trials of one cylinder.
pub(super) fn likelihood(grid: &Grid, kept: &[Ready]) -> CylinderLikelihood {
    let plain = |t: &Ready| Shifted {
        observed: t.corrected,
        shift: 0.0,
    };
    grid.cylinder(&kept.iter().map(plain).collect::<Vec<_>>())
}

fn judge_set(
    grid: &Grid,
    figures: &Figures,
    catalogue: &Catalogue,
    trials: &[Ready],
    count_all: bool,
) -> Judgement {
    let cylinders = by_cylinder(trials);
    let is_kept = |t: &&Ready| count_all || !t.timing.set_aside;
    let kept: Vec<Vec<Ready>> = cylinders
        .iter()
        .map(|(_, list)| list.iter().filter(is_kept).copied().collect())
        .collect();
    let likelihoods: Vec<_> = kept.iter().map(|k| likelihood(grid, k)).collect();
    let slowest = catalogue.nominals.iter().filter(|n| n.1 > 0.0);
    let slowest = slowest.map(|n| n.0).fold(0.0, f64::max);
    let beliefs = weigh(grid, &likelihoods, figures.pslow, (BEYOND * slowest).ln());
    let drift = compare(grid, &kept, figures.pslow, beliefs.log_evidence);

    let mut answers = Vec::new();
    let mut odds = Vec::new();
    for (i, (cylinder, list)) in cylinders.iter().enumerate() {
        let levels = level_chances(grid, &likelihoods[i], &beliefs.pace, figures.pslow);
        let trials: Vec<TrialAnswer> = list
            .iter()
            .map(|t| trial_answer(grid, &levels, t, count_all))
            .collect();
        let used = trials.iter().filter(|t| !t.set_aside);
        odds.push(used.map(|t| t.odd).collect::<Vec<f64>>());
        answers.push(cylinder_answer(&beliefs, i, *cylinder, &kept[i], trials));
    }
    let verdicts: Vec<Verdict> = answers.iter().map(|a| a.verdict).collect();
    let chances = set_chances(&beliefs.joint, drift.as_ref());
    let verdict = of_set(&chances, &verdicts);
    let judged: Vec<Judged<'_>> = answers
        .iter()
        .enumerate()
        .map(|(i, a)| Judged {
            cylinder: a.cylinder,
            verdict: a.verdict,
            chances: a.chances,
            kept: &kept[i],
            odd: &odds[i],
            median: a.median,
        })
        .collect();
    let advice = advise(verdict, drift.as_ref(), &judged);
    Judgement {
        pace: pace(
            grid,
            &beliefs,
            kept.iter().filter(|k| !k.is_empty()).count(),
        ),
        nominals: nominals(grid, &beliefs, catalogue),
        verdict,
        chances,
        drift,
        cylinders: answers,
        advice,
    }
}

fn trial_answer(grid: &Grid, levels: &[f64], t: &Ready, count_all: bool) -> TrialAnswer {
    let set_aside = t.timing.set_aside && !count_all;
    let odd = if set_aside {
        odd_outside(grid, levels, t.corrected)
    } else {
        odd_within(grid, levels, t.corrected)
    };
    TrialAnswer {
        trial: t.timing.trial,
        value: t.timing.observed.seconds(),
        corrected: t.corrected.seconds(),
        bound: matches!(t.corrected, Observed::Above(_) | Observed::Below(_)),
        odd,
        set_aside,
    }
}

fn cylinder_answer(
    beliefs: &Beliefs,
    i: usize,
    cylinder: u8,
    kept: &[Ready],
    trials: Vec<TrialAnswer>,
) -> CylinderAnswer {
    let chances = CylinderChances {
        in_line: beliefs.clean[i],
        odd_trial: (1.0 - beliefs.slow[i] - beliefs.clean[i]).max(0.0),
        odd_cylinder: beliefs.slow[i],
    };
    let seconds: Vec<f64> = kept.iter().map(|t| t.corrected.seconds()).collect();
    CylinderAnswer {
        cylinder,
        verdict: of_cylinder(&chances, enough(kept)),
        slow: beliefs.slow[i],
        chances,
        median: median(&seconds),
        trials,
    }
}

fn pace(grid: &Grid, beliefs: &Beliefs, with_trials: usize) -> Pace {
    let at = |q: f64| pace_quantile(grid, &beliefs.pace, q).exp();
    Pace {
        value: at(0.5),
        low: at(RANGE.0),
        high: at(RANGE.1),
        source: match with_trials {
            0 => PaceSource::Catalogue,
            1 => PaceSource::OwnTrials,
            _ => PaceSource::Siblings,
        },
    }
}

fn nominals(grid: &Grid, beliefs: &Beliefs, catalogue: &Catalogue) -> Vec<NominalChance> {
    let chance = |k: usize| -> f64 {
        let shares = grid.nominal_share.iter().zip(&beliefs.pace);
        shares.map(|(share, w)| share[k] * w).sum()
    };
    let listed = catalogue.nominals.iter().enumerate();
    listed
        .map(|(k, &(seconds, _))| NominalChance {
            seconds,
            chance: chance(k),
        })
        .collect()
}

/// The published rules on `values`. Up to half of them may be outliers, ten at most.
fn reference(values: Vec<f64>) -> Reference {
    Reference {
        grubbs: grubbs(&values),
        dixon: dixon(&values),
        esd: esd(&values, (values.len() / 2).min(10)),
        mad: mad(&values),
        values,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set() -> Vec<Timing> {
        let seconds = [
            [8.1, 8.3, 8.0],
            [11.2, 8.2, 13.1],
            [9.4, 9.5, 9.3],
            [12.6, 12.9, 12.4],
        ];
        let mut list = Vec::new();
        for (i, trials) in seconds.iter().enumerate() {
            for (k, &s) in trials.iter().enumerate() {
                list.push(Timing::new(i as u8 + 1, k as u32 + 1, s));
            }
        }
        list[1].observed = Observed::About(8.3);
        list[4].observed = Observed::Above(20.0);
        list[6].observed = Observed::Below(10.0);
        list
    }

    /// Expected: all laws are smooth on the scale of the step, so halving it changes nothing that
    /// a person could see.
    #[test]
    fn a_finer_grid_gives_the_same_answer() {
        let on = |step: f64| {
            judge_on_step(
                &set(),
                &Bench::default(),
                &Figures::default(),
                &Catalogue::default(),
                step,
            )
            .unwrap()
            .judgement
        };
        let (usual, fine) = (on(STEP), on(STEP / 2.0));
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-6, "{a} {b}");
        for (a, b) in usual.cylinders.iter().zip(&fine.cylinders) {
            near(a.slow, b.slow);
            near(a.chances.in_line, b.chances.in_line);
            for (a, b) in a.trials.iter().zip(&b.trials) {
                near(a.odd, b.odd);
            }
        }
        for (a, b) in usual.nominals.iter().zip(&fine.nominals) {
            near(a.chance, b.chance);
        }
        let drift = |j: &Judgement| j.drift.map(|d| d.chance);
        near(drift(&usual).unwrap(), drift(&fine).unwrap());
        // The pace is read off between points, and the limit of a set slow as a whole falls
        // between two: both are as fine as the step.
        assert!((usual.pace.value - fine.pace.value).abs() < 0.01 * usual.pace.value);
        assert!((usual.chances.odd_cylinder - fine.chances.odd_cylinder).abs() < 1e-3);
    }
}
