//! `hardstart fit`: figures from finished jobs, in one piece or in parts.
//!
//! Must not fit; it passes over the file, and writes.

use std::path::{Path, PathBuf};

use super::args::Common;
use super::args_fit::{Fit, FitMerge, FitWhat};
use super::exit::Exit;
use super::failure::Failure;
use super::fit_check::{self, HeldOut};
use super::jobs_in::Jobs;
use super::progress::Progress;
use super::{files, input, out, usage};
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::learning::fit::counts::{Counts, SCHEMA};
use crate::learning::fit::expect::Expectation;
use crate::learning::fit::layer;
use crate::learning::fit::maximise::maximise;
use crate::learning::fit::moved::{Moved, Starter};
use crate::learning::fit::run::{self, Settings};
use crate::learning::fit::spread::sureness;
use crate::learning::{fit_roots, root_layer_toml};
use crate::network::Pool;
use crate::report::fit_card;
use crate::report::fit_text::{self, Told};
use crate::report::trouble::Trouble;
use crate::scoring::split::{Split, part};

const MEGABYTE: usize = 1 << 20;

/// Runs the command.
///
/// # Errors
/// When the figures or jobs cannot be used, the fitting fails, or an answer is not written.
pub fn run(args: &Fit, common: &Common) -> Result<(), Failure> {
    match (&args.what, &args.file) {
        (Some(FitWhat::Roots), _) => roots(common),
        (Some(FitWhat::Merge(args)), _) => merge(args, common),
        (None, Some(file)) => jobs(args, file, common),
        (None, None) => Err(Failure::Help(usage::page("fit"))),
    }
}

fn roots(common: &Common) -> Result<(), Failure> {
    let knowledge = input::starter(common.priors.as_deref())?;
    let layer = fit_roots(&knowledge).map_err(|error| {
        let advice = "compare the shares and figures with the built-in ones";
        Failure::new(Exit::Failed, Trouble::new(error.to_string(), advice))
    })?;
    out::text(&root_layer_toml(&layer))
}

/// The starter figures, what is worth beside them, and where to go on from.
fn start(common: &Common, weight: f64) -> Result<(Knowledge, Starter, Moved), Failure> {
    let knowledge = input::starter(common.priors.as_deref())?;
    let starter = Starter::of(&knowledge, weight);
    let moved = match &common.fitted {
        None => starter.unmoved(),
        Some(path) => {
            let (_, layer) = input::layered(knowledge.clone(), path)?;
            Moved::of_layer(&starter, &layer)
        }
    };
    Ok((knowledge, starter, moved))
}

/// One way over the file.
struct Pass<'a> {
    args: &'a Fit,
    file: &'a Path,
    knowledge: &'a Knowledge,
    starter: &'a Starter,
    pool: Pool,
    shard: (u64, u64),
    split: Option<Split>,
    data: String,
    /// Troubles of lines, from the last pass.
    end: Option<(Exit, Vec<Trouble>)>,
}

impl Pass<'_> {
    fn over(&mut self, moved: &Moved, round: u32) -> Result<Counts, Failure> {
        let expectation = Expectation::new(self.knowledge, self.starter, moved, &self.pool);
        let mut counts = expectation.nothing(round);
        counts.data = vec![self.data.clone()];
        let name = self.file.display().to_string();
        let mut jobs = Jobs::open(&name, self.knowledge, || usage::page("fit"))?;
        let mut progress = Progress::new("jobs counted", None);
        while let Some(batch) = jobs.next(self.args.at_a_time.max(1))? {
            let ours = |(line, job): &&(usize, Job)| {
                let held = self.split.as_ref().is_some_and(|s| s.holds_out(job));
                *line as u64 % self.shard.1 == self.shard.0 - 1 && !held
            };
            let batch = batch.iter().filter(ours).map(|b| &b.1).collect::<Vec<_>>();
            expectation.count(&batch, &mut counts);
            progress.done(counts.jobs);
        }
        self.end = Some((jobs.end(), std::mem::take(&mut jobs.troubles)));
        Ok(counts)
    }
}

fn jobs(args: &Fit, file: &Path, common: &Common) -> Result<(), Failure> {
    let usage_trouble =
        |what: String, advice: &str| Failure::new(Exit::Usage, Trouble::new(what, advice));
    let shard = match args.shard.as_deref() {
        None => (1, 1),
        Some(text) => {
            part(text).ok_or_else(|| usage_trouble(format!("`{text}` is no part"), "write 2/8"))?
        }
    };
    let split = args
        .hold_out
        .as_deref()
        .map(|s| Split::parse(s, args.seed))
        .transpose();
    let split = split.map_err(|e| usage_trouble(e.to_string(), "see hardstart fit --help"))?;
    let sound = args.starter_weight.is_finite() && args.starter_weight > 0.0;
    if !sound || !args.enough.is_finite() {
        let what = "weights and gains are numbers above nought".to_owned();
        return Err(usage_trouble(what, "see hardstart fit --help"));
    }
    if args.figures_out.is_none() && args.counts.is_none() {
        let what = "nowhere to write the fitted figures".to_owned();
        return Err(usage_trouble(
            what,
            "give --figures-out FILE.toml, or --counts FILE.json",
        ));
    }
    let (knowledge, starter, moved) = start(common, args.starter_weight)?;
    let mut pass = Pass {
        args,
        file,
        knowledge: &knowledge,
        starter: &starter,
        pool: Pool::new(args.programs_mb * MEGABYTE, crate::scoring::solve::WIDEST),
        shard,
        split,
        data: files::sha256(file)?,
        end: None,
    };
    if let Some(path) = &args.counts {
        let counts = pass.over(&moved, 0)?;
        usable(&counts, &pass)?;
        let text = serde_json::to_string(&counts).unwrap_or_default();
        files::write(path, &text)?;
        return end(&pass);
    }
    let settings = Settings {
        rounds: args.rounds,
        enough: args.enough,
        shops: !args.shops_alike,
    };
    let mut first = true;
    let fit = run::fit(&knowledge, &starter, moved, settings, |moved, round| {
        let counts = pass.over(moved, round)?;
        if std::mem::take(&mut first) {
            usable(&counts, &pass)?;
        }
        Ok::<_, Failure>(counts)
    })?;
    let sure = sureness(&starter, &fit.moved, &fit.counts);
    let text = layer::layer(&fit.moved, &fit.counts, &sure);
    let held = match &pass.split {
        None => None,
        Some(split) => Some(fit_check::held_out(
            file, &knowledge, &text, split, args.seed,
        )?),
    };
    let told = Told {
        knowledge: &knowledge,
        fit: &fit,
        sureness: &sure,
        layer: &text,
        seed: args.seed,
        weight: args.starter_weight,
        held_out: held.as_ref().map(HeldOut::told),
    };
    if let Some(path) = &args.figures_out {
        write_all(path, &text, &told)?;
    }
    if common.json {
        out::document(&fit_text::document(&told))?;
    } else {
        out::text(&fit_text::page(&told))?;
    }
    end(&pass)
}

/// Card and record first: a layer that stands has both.
fn write_all(path: &Path, text: &str, told: &Told<'_>) -> Result<(), Failure> {
    files::write(&beside(path, "card.md"), &fit_card::card(told))?;
    files::write(
        &beside(path, "run.json"),
        &format!("{:#}\n", fit_text::record(told)),
    )?;
    files::write(path, text)
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    path.with_extension(ending)
}

fn usable(counts: &Counts, pass: &Pass<'_>) -> Result<(), Failure> {
    if counts.jobs > 0 {
        return Ok(());
    }
    let mut troubles = pass.end.as_ref().map(|e| e.1.clone()).unwrap_or_default();
    let name = pass.file.display().to_string();
    troubles.push(Trouble::in_file(
        name,
        "no job in it can be used",
        "give one JSON job a line",
    ));
    Err(Failure::Said {
        exit: Exit::NoUsableInput,
        troubles,
    })
}

fn end(pass: &Pass<'_>) -> Result<(), Failure> {
    match &pass.end {
        Some((exit, troubles)) if *exit != Exit::Done => Err(Failure::Said {
            exit: *exit,
            troubles: troubles.clone(),
        }),
        _ => Ok(()),
    }
}

fn merge(args: &FitMerge, common: &Common) -> Result<(), Failure> {
    let (knowledge, starter, moved) = start(common, args.starter_weight)?;
    let mut whole: Option<Counts> = None;
    for file in &args.files {
        let trouble = |what: String, advice: &str| {
            let trouble = Trouble::in_file(file.display().to_string(), what, advice);
            Failure::new(Exit::VersionMismatch, trouble)
        };
        let counts: Counts = serde_json::from_str(&files::read(file)?).map_err(|error| {
            let advice = "give a file that `hardstart fit --counts` wrote";
            trouble(format!("these are no counts: {error}"), advice)
        })?;
        let other = "count all parts again with the same --priors and --fitted";
        if counts.schema != SCHEMA {
            return Err(trouble("counts of another version".to_owned(), other));
        }
        if counts.over != knowledge.sha256 || counts.under != layer::hash(&moved) {
            return Err(trouble(
                "they were counted under other figures".to_owned(),
                other,
            ));
        }
        match &mut whole {
            None => whole = Some(counts),
            Some(whole) => whole
                .merge(&counts)
                .map_err(|what| trouble(what.to_owned(), other))?,
        }
    }
    let mut counts = whole.unwrap_or_default();
    let next = maximise(&knowledge, &starter, &moved, &counts);
    counts.rounds += 1;
    let sure = sureness(&starter, &next, &counts);
    let text = layer::layer(&next, &counts, &sure);
    let log = counts.log_likelihood.value();
    let fit = run::Fit {
        objective: vec![log + starter.log(&moved)],
        log_likelihood: vec![log],
        moved: next,
        counts,
        settled: false,
    };
    let told = Told {
        knowledge: &knowledge,
        fit: &fit,
        sureness: &sure,
        layer: &text,
        seed: 0,
        weight: args.starter_weight,
        held_out: None,
    };
    write_all(&args.figures_out, &text, &told)?;
    if common.json {
        out::document(&fit_text::document(&told))
    } else {
        out::text(&fit_text::page(&told))
    }
}
