//! The jobs of the two shops: reading them, cutting them at a stage, and asking for the answer.
//!
//! A stage is named by the `note` of its last entry. Must not assert clauses.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::{Mutex, OnceLock};

use hardstart::diagnosis::{Ranking, causes};
use hardstart::evidence::gather;
use hardstart::job::{Job, read_toml};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};

/// All jobs that have an answer of their own, by file name.
pub const ALL: [&str; 16] = [
    "kl-11",
    "kl-14",
    "kl-17",
    "kl-22",
    "kl-25",
    "kl-31",
    "kl-36",
    "kl-40",
    "kl-44",
    "sm-03",
    "sm-07",
    "sm-07-flame",
    "sm-12",
    "sm-15",
    "sm-18",
    "sm-21",
];

/// The built-in knowledge.
pub fn knowledge() -> &'static Knowledge {
    static KNOWLEDGE: OnceLock<Knowledge> = OnceLock::new();
    KNOWLEDGE.get_or_init(|| load(&KnowledgeFiles::built_in()).unwrap_or_else(|e| panic!("{e}")))
}

/// Path of a job file.
pub fn path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("data/scenarios")
        .join(format!("{name}.toml"))
}

/// Text of a job file.
pub fn text(name: &str) -> String {
    std::fs::read_to_string(path(name)).unwrap()
}

/// A whole job.
pub fn job(name: &str) -> Job {
    understood(&text(name), name)
}

/// A job from its text; it must be read without a problem or a note.
pub fn understood(text: &str, name: &str) -> Job {
    let parsed = read_toml(text, name, knowledge()).unwrap_or_else(|e| panic!("{e}"));
    assert!(parsed.notes.is_empty(), "{name}: {:?}", parsed.notes);
    parsed.job
}

/// A job up to the entry whose note names the stage.
pub fn stage(name: &str, stage: &str) -> Job {
    let mut job = job(name);
    let last = job
        .entries
        .iter()
        .position(|e| e.note.as_deref() == Some(stage));
    job.entries
        .truncate(last.unwrap_or_else(|| panic!("{name} has no stage `{stage}`")) + 1);
    job
}

/// The answer to a job, or what stands in its way.
pub fn try_answer(job: &Job) -> Result<Ranking, String> {
    let evidence = gather(knowledge(), job).map_err(|e| e.to_string())?;
    causes(&evidence, job).map_err(|e| e.to_string())
}

/// The answer to a job.
pub fn answer(job: &Job) -> Ranking {
    try_answer(job).unwrap_or_else(|e| panic!("{}: {e}", job.job))
}

/// The answer to a job at a stage; asked once however many clauses look at it.
pub fn at(name: &str, stage_name: &str) -> Ranking {
    remembered(&format!("{name} {stage_name}"), || stage(name, stage_name))
}

/// The answer to a whole job; asked once.
pub fn whole(name: &str) -> Ranking {
    remembered(name, || job(name))
}

fn remembered(key: &str, job: impl FnOnce() -> Job) -> Ranking {
    type Cell = std::sync::Arc<OnceLock<Result<Ranking, String>>>;
    static KNOWN: OnceLock<Mutex<BTreeMap<String, Cell>>> = OnceLock::new();
    let cell = {
        let known = KNOWN.get_or_init(Mutex::default);
        // A clause that fails elsewhere leaves the answers as good as they were.
        let mut known = known.lock().unwrap_or_else(|e| e.into_inner());
        known.entry(key.to_owned()).or_default().clone()
    };
    cell.get_or_init(|| try_answer(&job()))
        .clone()
        .unwrap_or_else(|e| panic!("{key}: {e}"))
}

/// Chance of one cause, in hundredths; a cause this engine cannot have has none.
pub fn of(ranking: &Ranking, cause: &str) -> f64 {
    let found = ranking.causes.iter().find(|c| c.cause == cause);
    100.0 * found.map_or(0.0, |c| c.chance)
}

/// Sum of the chances of some causes, in hundredths. Where only one of them explains what was
/// seen the sum is the chance of the group.
pub fn sum(ranking: &Ranking, causes: &[&str]) -> f64 {
    causes.iter().map(|c| of(ranking, c)).sum()
}

/// Sum over all causes of a part, whatever the fault and cylinder, in hundredths.
pub fn of_part(ranking: &Ranking, part: &str) -> f64 {
    let of_part = ranking.causes.iter().filter(|c| c.part == part);
    100.0 * of_part.map(|c| c.chance).sum::<f64>()
}

/// Chance of a system, in hundredths.
pub fn of_system(ranking: &Ranking, system: &str) -> f64 {
    let found = ranking.systems.iter().find(|s| s.system == system);
    100.0 * found.unwrap_or_else(|| panic!("no system {system}")).chance
}

/// Place of a cause in the ranking, from 1.
pub fn place(ranking: &Ranking, cause: &str) -> usize {
    let at = ranking.causes.iter().position(|c| c.cause == cause);
    at.unwrap_or_else(|| panic!("no cause {cause}")) + 1
}

/// The first causes, for messages.
pub fn top(ranking: &Ranking) -> String {
    let first = ranking.causes.iter().take(8);
    first
        .map(|c| format!("{} {:.1}", c.cause, 100.0 * c.chance))
        .collect::<Vec<_>>()
        .join(", ")
}

/// Asserts a bound on a figure, showing the first causes where it does not hold.
macro_rules! holds {
    ($ranking:expr, $left:expr, $op:tt, $right:expr) => {{
        let (left, right): (f64, f64) = ($left, $right);
        assert!(
            left $op right,
            "{} = {left:.1}, wanted {} {right:.1}; {}",
            stringify!($left),
            stringify!($op),
            crate::shop::top(&$ranking)
        );
    }};
}
pub(crate) use holds;
