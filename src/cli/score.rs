//! `hardstart score`, `compare`, `merge`: how good the chances of finished jobs were.
//!
//! Must not measure; it reads, asks, and writes line by line.

use std::path::Path;

use rayon::prelude::*;
use serde_json::Value;

use super::args::Common;
use super::args_scoring::{AsOf as AsOfArg, Compare, Merge, Score};
use super::exit::Exit;
use super::failure::Failure;
use super::jobs_in::Jobs;
use super::progress::Progress;
use super::{files, input, out, usage};
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::report::trouble::Trouble;
use crate::report::{calibration_svg, round, score_settle, score_text, score_worst};
use crate::scoring::batch::Scorer;
use crate::scoring::compare::{Comparison, compare};
use crate::scoring::condition::Condition;
use crate::scoring::label::{Labels, label};
use crate::scoring::line::Line;
use crate::scoring::rival::{Counted, features};
use crate::scoring::settle::{Sample, Settling};
use crate::scoring::split::{Split, part};
use crate::scoring::summary::Summary;
use crate::scoring::take::{AsOf, take};
use crate::scoring::worst::Worst;

const MEGABYTE: usize = 1 << 20;

fn usage_trouble(error: impl std::fmt::Display, advice: &str) -> Failure {
    Failure::new(Exit::Usage, Trouble::new(error.to_string(), advice))
}

/// Runs `score`.
///
/// # Errors
/// When nothing can be used, a part cannot be written, or a `--fail-if` condition holds.
pub fn score(args: &Score, common: &Common) -> Result<(), Failure> {
    let conditions = conditions(&args.fail_if)?;
    let split = args.split.as_deref().map(|s| Split::parse(s, args.seed));
    let split = split
        .transpose()
        .map_err(|e| usage_trouble(e, "see hardstart score --help"))?;
    let shard = match args.shard.as_deref() {
        None => (1, 1),
        Some(text) => {
            part(text).ok_or_else(|| usage_trouble(format!("`{text}` is no part"), "write 2/8"))?
        }
    };
    let base = args.base.as_deref().map(sums).transpose()?;
    let knowledge = input::knowledge(common)?;
    let labels = if args.simulated_truth {
        Labels::Simulated
    } else {
        Labels::Found
    };
    let trained = match &split {
        None => Trained::default(),
        Some(split) => train(args, split, labels, &knowledge)?,
    };
    let scorer = Scorer::new(
        &knowledge,
        as_of(args.as_of),
        labels,
        trained.counted,
        args.programs_mb * MEGABYTE,
        args.widest,
    );
    #[cfg(feature = "classifiers")]
    let scorer = scorer.beside(&trained.examples);
    let mut jobs = Jobs::open(&args.file, &knowledge, || usage::page("score"))?;
    let mut progress = Progress::new("jobs scored", None);
    let mut summary = Summary::default();
    let mut worst = Worst::new(args.worst);
    let mut sample = Sample::new(args.settle, args.seed);
    while let Some(batch) = jobs.next(args.at_a_time.max(1))? {
        let ours = |(line, job): &&(usize, Job)| {
            *line as u64 % shard.1 == shard.0 - 1 && split.as_ref().is_none_or(|s| s.holds_out(job))
        };
        let batch = batch.iter().filter(ours).collect::<Vec<_>>();
        let scored = scorer.score(&batch.iter().map(|b| &b.1).collect::<Vec<_>>());
        let lines = batch
            .iter()
            .zip(&scored)
            .map(|((at, _), scored)| (*at as u64, scored));
        summary.merge(&Summary::of(&lines.collect::<Vec<_>>()));
        for ((at, job), scored) in batch.iter().zip(&scored) {
            worst.offer(&scored.line, job);
            sample.offer(*at as u64, job);
        }
        if args.ndjson {
            let lines = scored.par_iter().map(|scored| {
                let line = serde_json::to_value(&scored.line).map_err(unwritable)?;
                Ok(format!("{}\n", round::all(line)))
            });
            out::text(&lines.collect::<Result<String, Failure>>()?)?;
        }
        progress.done(summary.jobs);
    }
    drop(progress);
    if let Some(path) = &args.sums {
        let text = serde_json::to_string(&summary).map_err(unwritable)?;
        files::write(path, &text)?;
    }
    if let Some(path) = &args.diagram {
        files::write(path, &calibration_svg::diagram(&summary))?;
    }
    // Of no job there is nothing to tell; why there is none is said below.
    if !args.ndjson && summary.jobs > 0 {
        let settling = (args.settle > 0).then(|| sample.settle(&knowledge, labels));
        tell(&summary, settling.as_ref(), &knowledge, common)?;
        if args.worst > 0 && !common.json {
            out::text(&score_worst::worst(&worst.misled(&scorer)))?;
        }
    }
    judge(&conditions, |name| match name.strip_prefix("base.") {
        Some(name) => base.as_ref().and_then(|b| b.measure(name)),
        None => summary.measure(name),
    })?;
    end(&jobs)
}

fn tell(
    summary: &Summary,
    settling: Option<&Settling>,
    knowledge: &Knowledge,
    common: &Common,
) -> Result<(), Failure> {
    if common.json {
        let mut document = score_text::summary_json(summary, &knowledge.sha256);
        document["settle"] = settling.map_or(Value::Null, score_settle::settle_json);
        return out::document(&document);
    }
    out::text(&score_text::summary(summary))?;
    settling.map_or(Ok(()), |s| out::text(&score_settle::settle(s)))
}

fn end(jobs: &Jobs<'_>) -> Result<(), Failure> {
    let exit = jobs.end();
    if exit == Exit::Done {
        return Ok(());
    }
    let mut troubles = jobs.troubles.clone();
    if troubles.is_empty() {
        troubles.push(Trouble::in_file(
            &jobs.name,
            "there is no job in it",
            "give one JSON job a line",
        ));
    }
    Err(Failure::Said { exit, troubles })
}

/// What the rivals learn from.
#[derive(Default)]
struct Trained {
    counted: Counted,
    #[cfg(feature = "classifiers")]
    examples: crate::scoring::classifier::Examples,
}

/// Reads the jobs that are not held out, for the rivals.
fn train(
    args: &Score,
    split: &Split,
    labels: Labels,
    knowledge: &Knowledge,
) -> Result<Trained, Failure> {
    if args.file == input::STANDARD_INPUT {
        let advice = "save the jobs to a file first: with --split they are read twice";
        return Err(usage_trouble(
            "--split does not go with the standard input",
            advice,
        ));
    }
    let mut jobs = Jobs::open(&args.file, knowledge, || usage::page("score"))?;
    let mut trained = Trained::default();
    while let Some(batch) = jobs.next(args.at_a_time.max(1))? {
        for (_, job) in batch.iter().filter(|(_, j)| !split.holds_out(j)) {
            let taken = take(job, as_of(args.as_of));
            let Some(label) = label(job, knowledge, labels) else {
                continue;
            };
            if let Some(cause) = label.causes.first() {
                let features = features(&taken.job);
                trained.counted.add(&features, cause, label.weight);
                #[cfg(feature = "classifiers")]
                trained.examples.add(&features, cause);
            }
        }
    }
    Ok(trained)
}

fn as_of(arg: AsOfArg) -> AsOf {
    match arg {
        AsOfArg::FirstLook => AsOf::FirstLook,
        AsOfArg::BeforeRepair => AsOf::BeforeRepair,
        AsOfArg::All => AsOf::All,
    }
}

fn conditions(texts: &[String]) -> Result<Vec<(String, Condition)>, Failure> {
    let read = |text: &String| {
        let condition = text
            .parse()
            .map_err(|e| usage_trouble(e, "for example \"top3 < 0.6\""));
        Ok((text.clone(), condition?))
    };
    texts.iter().map(read).collect()
}

fn judge(
    conditions: &[(String, Condition)],
    measure: impl Fn(&str) -> Option<f64>,
) -> Result<(), Failure> {
    for (text, condition) in conditions {
        let met = condition.met(&measure).map_err(|name| {
            let advice = "measures: log_score, log_score_all, brier, rank, top1, top3, top5, \
                          rival.NAME, and with --base the same after `base.`";
            usage_trouble(format!("there is no measure `{name}` here"), advice)
        })?;
        if met {
            let trouble = Trouble::new(format!("`{text}` holds"), "see the summary");
            return Err(Failure::new(Exit::ConditionMet, trouble));
        }
    }
    Ok(())
}

/// What cannot be put into JSON is said, not written as nothing.
fn unwritable(error: serde_json::Error) -> Failure {
    let what = format!("the answer could not be put into JSON: {error}");
    let advice = "see which job of the batch it is with --shard, and leave it out";
    Failure::new(Exit::Failed, Trouble::new(what, advice))
}

fn sums(path: &Path) -> Result<Summary, Failure> {
    serde_json::from_str(&files::read(path)?).map_err(|error| {
        let what = format!("these are no sums: {error}");
        let advice = "give a file that `hardstart score --sums FILE` wrote";
        let trouble = Trouble::in_file(path.display().to_string(), what, advice);
        Failure::new(Exit::VersionMismatch, trouble)
    })
}

/// Runs `merge`.
///
/// # Errors
/// When a part cannot be read or the answer not written.
pub fn merge(args: &Merge, common: &Common) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    let mut whole = Summary::default();
    for file in &args.files {
        whole.merge(&sums(file)?);
    }
    tell(&whole, None, &knowledge, common)
}

/// Runs `compare`.
///
/// # Errors
/// When a file cannot be read or a `--fail-if` condition holds.
pub fn run_compare(args: &Compare, common: &Common) -> Result<(), Failure> {
    let conditions = conditions(&args.fail_if)?;
    let result: Comparison = compare(&lines(&args.first)?, &lines(&args.second)?, args.seed);
    if common.json {
        out::document(&score_text::comparison_json(&result))?;
    } else {
        out::text(&score_text::comparison(&result))?;
    }
    judge(&conditions, |name| {
        result.differences.get(name).map(|d| d.0)
    })
}

fn lines(path: &Path) -> Result<Vec<Line>, Failure> {
    let text = files::read(path)?;
    let numbered = text
        .lines()
        .enumerate()
        .filter(|(_, l)| !l.trim().is_empty());
    let lines = numbered.map(|(n, l)| {
        serde_json::from_str(l).map_err(|error| {
            let what = format!("line {}: this is no scored job: {error}", n + 1);
            let advice = "give what `hardstart score --ndjson` wrote";
            let trouble = Trouble::in_file(path.display().to_string(), what, advice);
            Failure::new(Exit::NoUsableInput, trouble)
        })
    });
    lines.collect()
}
