//! Evidence as switches and as sums of terms, against the same evidence compiled as it stands.
//!
//! Constructed here: three ways to the same number; they share the kernel, which is held against
//! enumeration elsewhere. What has gone wrong before: a count that tied all cylinders together
//! made a job of two starts too wide.

use std::path::Path;

use hardstart::diagnosis::Reckoner;
use hardstart::evidence::{Case, gather};
use hardstart::job::read_toml;
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::network::clamp::Clamped;
use hardstart::network::{Program, Shelf, VarId};

/// Agreement asked of the three ways; sums with signs may lose a few digits.
const CLOSE: f64 = 1e-9;

fn each_case(check: impl Fn(&str, &Case)) {
    let knowledge = load(&KnowledgeFiles::built_in()).expect("the built-in files pass");
    for name in JOBS {
        let evidence = evidence(&knowledge, name);
        for case in evidence.cases.iter().take(2) {
            check(name, case);
        }
    }
}

fn evidence(knowledge: &Knowledge, name: &str) -> hardstart::evidence::Evidence {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let file = std::fs::read_dir(&path)
        .expect("the examples")
        .filter_map(|f| f.ok()?.file_name().into_string().ok())
        .find(|f| f.starts_with(name))
        .unwrap_or_else(|| panic!("{name} is not there"));
    let text = std::fs::read_to_string(path.join(&file)).expect("readable");
    let parsed = read_toml(&text, &file, knowledge).expect("a sound job");
    gather(knowledge, &parsed.job).expect("gathers")
}

/// Jobs with a total current, with compressions, with timings, and with signs alone.
const JOBS: &[&str] = &["tb-01", "tb-02", "tb-04", "tb-08"];

type Answer = (f64, Vec<Vec<f64>>);

/// The evidence that `keep` admits, as it stands.
fn stands(case: &Case, parts: &[VarId], keep: impl Fn(usize) -> bool + Copy) -> Answer {
    let queries = parts.iter().map(|p| vec![*p]).collect();
    let (request, lane) = case.request(queries, 0, keep);
    let program = Program::compile(&case.model.network, &request).expect("narrow enough");
    let bound = program.bind(&case.model.network.figures()).expect("bound");
    let answer = program.run(&bound, &[lane]).remove(0).expect("possible");
    (answer.log_evidence, answer.chances)
}

/// The same through switches, with or without terms.
fn switched(
    case: &Case,
    parts: &[VarId],
    keep: impl Fn(usize) -> bool + Copy,
    terms: bool,
) -> Answer {
    let switched = case.switched(terms);
    let queries = parts.iter().map(|p| vec![*p]).collect();
    let clamped =
        Clamped::compile(&Shelf::none(), &case.model, &switched.slots, queries, 0).expect("narrow");
    let bound = clamped.bind(&case.model.network).expect("bound");
    let group = clamped.group(&switched.group(true, keep), |_, _| true);
    let answer = clamped.program().run_groups(&bound, &[group], true);
    let answer = answer.into_iter().next().expect("one").expect("possible");
    assert!(answer.error <= CLOSE, "{}", answer.error);
    (answer.answers.log_evidence, answer.answers.chances)
}

fn close(name: &str, a: &Answer, b: &Answer) {
    assert!((a.0 - b.0).abs() < CLOSE, "{name}: {} {}", a.0, b.0);
    for (x, y) in a.1.iter().flatten().zip(b.1.iter().flatten()) {
        assert!((x - y).abs() < CLOSE, "{name}: {x} {y}");
    }
}

#[test]
fn switches_and_terms_say_what_the_evidence_says() {
    each_case(|name, case| {
        let parts = case.model.parts_now();
        let whole = stands(case, &parts, |_| true);
        close(name, &whole, &switched(case, &parts, |_| true, false));
        close(name, &whole, &switched(case, &parts, |_| true, true));
    });
}

#[test]
fn what_is_switched_off_says_nothing() {
    each_case(|name, case| {
        let parts = case.model.parts_now();
        for keep in [0, 1] {
            let odd = move |at: usize| at % 2 == keep;
            let half = stands(case, &parts, odd);
            close(name, &half, &switched(case, &parts, odd, false));
            close(name, &half, &switched(case, &parts, odd, true));
        }
    });
}

/// A kind of engine on which something cannot be seen is ruled out; it once shifted the answers
/// of the others by one place, or failed the whole job.
#[test]
fn a_kind_of_engine_that_is_ruled_out_keeps_its_place() {
    let knowledge = load(&KnowledgeFiles::built_in()).expect("the built-in files pass");
    let text = r#"
schema = "hardstart/job/1"
job = "E-1"
complaint = "hard to start cold"
[engine]
cylinders = 4
[[entry]]
start.engine_temperature = "-4 degC"
start.soak = "12 h"
start.crank_time = "12 s"
start.smoke_cranking = "white"
"#;
    let parsed = read_toml(text, "ruled-out.toml", &knowledge).expect("a sound job");
    let mut evidence = gather(&knowledge, &parsed.job).expect("gathers");
    assert!(evidence.cases.len() > 2, "several kinds may be");
    let plain = Reckoner::new(&evidence).expect("narrow enough");
    let all = vec![vec![true; plain.items()]];
    let before = plain.answers(&all).expect("possible").remove(0);
    drop(plain);
    // The second kind now gives the first item no chance.
    for (_, values) in &mut evidence.cases[1].items[0].slots {
        values.iter_mut().for_each(|v| *v = 0.0);
    }
    let first = &mut evidence.cases[1].items[0].slots[0];
    if first.1.is_empty() {
        first.0.seen = hardstart::network::Seen::Mostly(0);
        first.1 = vec![0.0, 0.0];
    }
    let ruled = Reckoner::new(&evidence).expect("narrow enough");
    let after = ruled.answers(&all).expect("the others stand").remove(0);
    assert_eq!(after.len(), before.len());
    assert_eq!(after[1].0, 0.0);
    let left = 1.0 - before[1].0;
    for (at, ((weight, answer), (was, answered))) in after.iter().zip(&before).enumerate() {
        if at != 1 {
            assert!((weight - was / left).abs() < 1e-12, "{at}: {weight} {was}");
            assert_eq!(answer.parts, answered.parts, "{at}");
        }
    }
}
