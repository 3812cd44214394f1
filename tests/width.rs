//! How wide the programs of typical jobs are, printed and held.
//!
//! Width is the main risk of the network: a link too many makes a job unanswerable. The bounds
//! stand some way above what was measured when the structure was settled; whoever passes them
//! has changed the structure and should know it.

#![expect(
    clippy::print_stderr,
    reason = "the figures are for whoever runs the test"
)]

use hardstart::evidence::gather;
use hardstart::job::read_toml;
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::network::clamp::Clamped;
use hardstart::network::{CompileError, Program, Shelf, Width};

/// A job of an invented engine: eight signs at one start, a second start, the total current.
fn job(cylinders: u8, two_starts: bool, total_current: bool) -> String {
    let mut text = format!(
        r#"
schema = "hardstart/job/1"
job = "W-1"
complaint = "hard to start cold"
[engine]
cylinders = {cylinders}
chamber = "swirl"
preheat = "plugs"
[[entry]]
start.engine_temperature = "-6 degC"
start.soak = "12 h"
start.crank_time = "9 s"
start.smoke_cranking = "white"
start.smoke_after = "white"
start.miss = "one"
start.time_to_even = "s20_60"
start.crank_sound = "normal"
start.raw_smell = "yes"
start.knock = "normal"
"#
    );
    if two_starts {
        text.push_str(
            r#"
[[entry]]
start.engine_temperature = "3 degC"
start.crank_time = "5 s"
start.smoke_cranking = "white"
start.smoke_after = "white"
start.miss = "one"
"#,
        );
    }
    if total_current {
        text.push_str(&format!(
            "\n[[entry]]\nreading.check = \"plug_current_total\"\nreading.value = \"{} A\"\n",
            u32::from(cylinders) * 9
        ));
    }
    text
}

fn width(
    knowledge: &Knowledge,
    cylinders: u8,
    two_starts: bool,
    total_current: bool,
    terms: bool,
) -> Result<(Width, usize), CompileError> {
    let text = job(cylinders, two_starts, total_current);
    let parsed = read_toml(&text, "width.toml", knowledge).expect("a sound job");
    let evidence = gather(knowledge, &parsed.job).expect("gathers");
    let case = &evidence.cases[0];
    let queries = case.model.parts_now().iter().map(|p| vec![*p]).collect();
    if !terms {
        let (request, _) = case.request(queries, 4, |_| true);
        return Program::compile(&case.model.network, &request).map(|p| (p.width(), 1));
    }
    let switched = case.switched(true);
    let clamped = Clamped::compile(&Shelf::none(), &case.model, &switched.slots, queries, 2)?;
    let lanes = switched.group(true, |_| true).terms.len();
    Ok((clamped.program().width(), lanes))
}

/// Cylinders, two starts, total current, and the operations a lane allowed.
const HELD: &[(u8, bool, bool, u64)] = &[
    (4, false, false, 1_000_000),
    (4, false, true, 2_000_000),
    (4, true, false, 3_000_000),
    (4, true, true, 8_000_000),
    (6, false, false, 1_500_000),
    (6, false, true, 4_000_000),
    (6, true, false, 10_000_000),
    (6, true, true, 70_000_000),
    (8, false, false, 2_000_000),
    (8, false, true, 6_000_000),
    (8, true, false, 20_000_000),
    (8, true, true, 260_000_000),
    (12, false, false, 4_000_000),
    (12, false, true, 12_000_000),
    (12, true, false, 60_000_000),
    (12, true, true, 60_000_000),
];

#[test]
fn typical_jobs_stay_narrow() {
    let knowledge = load(&KnowledgeFiles::built_in()).expect("the built-in files pass their rules");
    for (cylinders, two_starts, total_current, most) in HELD {
        let (width, lanes) = width(&knowledge, *cylinders, *two_starts, *total_current, true)
            .expect("narrow enough");
        eprintln!(
            "{cylinders} cylinders, {} start(s), total current {total_current}: {} operations a lane, {lanes} lane(s), {:.2e} table entries, {} cells",
            1 + u8::from(*two_starts),
            width.operations,
            width.entries,
            width.cells
        );
        assert!(
            width.operations <= *most,
            "{cylinders} cylinders, two starts {two_starts}, total current {total_current}: {} operations",
            width.operations
        );
    }
}

#[test]
fn a_job_that_is_too_wide_is_refused_with_its_size_and_not_swapped_to_death() {
    // As it stands, the count ties twelve cylinders of two starts together.
    let knowledge = load(&KnowledgeFiles::built_in()).expect("the built-in files pass their rules");
    match width(&knowledge, 12, true, true, false) {
        Err(CompileError::TooWide { entries, limit }) => assert!(entries > limit),
        other => panic!("12 cylinders, two starts, total current: {other:?}"),
    }
}
