//! What a plan stands on: the listed hypotheses of a job give each cause the chance that the
//! exact ranking gives it. The exact ranking is the reference.

use std::collections::BTreeMap;
use std::path::Path;

use hardstart::diagnosis::causes;
use hardstart::evidence::gather;
use hardstart::job::{Job, read_toml};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::planning::bench::problem;
use hardstart::planning::{Hypotheses, Problem};

fn job(knowledge: &Knowledge, file: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    let text = std::fs::read_to_string(path).unwrap();
    let read = read_toml(&text, file, knowledge);
    read.unwrap_or_else(|e| panic!("{e}")).job
}

/// Chance of each fault over the listed hypotheses.
fn listed(problem: &Problem) -> BTreeMap<String, f64> {
    let Hypotheses::Listed(list) = &problem.hypotheses else {
        panic!("a job lists its hypotheses");
    };
    let mut chances: BTreeMap<String, f64> = BTreeMap::new();
    for hypothesis in list {
        for fault in &hypothesis.faults {
            *chances
                .entry(problem.faults[*fault].name.clone())
                .or_default() += hypothesis.weight;
        }
    }
    chances
}

/// Chances by the list and by the exact ranking that are further apart than `most`.
fn apart(knowledge: &Knowledge, job: &Job, most: f64) -> Vec<(String, f64, f64)> {
    let evidence = gather(knowledge, job).unwrap();
    let exact = causes(&evidence, job).unwrap();
    let listed = listed(&problem(knowledge, job, &evidence).unwrap());
    let both = exact.causes.iter().map(|c| {
        let here = listed.get(&c.cause).copied().unwrap_or(0.0);
        (c.cause.clone(), here, c.chance)
    });
    both.filter(|(_, here, exact)| (here - exact).abs() > most)
        .collect()
}

/// How far a chance may be off; own judgement: what few sets out of very many hold is rounded.
const OFF: f64 = 0.1;

/// All four plugs dead and the relay stuck, wax with a dead plug besides, two dead plugs of six in
/// fifteen ways: with pairs of the likeliest faults alone the relay was lost.
#[test]
fn a_plan_holds_each_cause_as_likely_as_the_ranking_does() {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    let files = [
        "data/scenarios/kl-31.toml",
        "data/scenarios/kl-11.toml",
        "examples/jobs/tb-06-wax.toml",
    ];
    for file in files {
        let far = apart(&knowledge, &job(&knowledge, file), OFF);
        assert!(far.is_empty(), "{file}: {far:#?}");
    }
}

/// Three plugs dead of six, a feed that drops and a tired battery: what went wrong here was that
/// all that no pair of faults covers was put on "something on no list", which then came to be
/// proposed for mending beside a plug all but proven dead.
#[test]
fn several_faults_at_once_are_not_something_on_no_list() {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
    let reading = |check: &str, at: &str, value: &str| {
        format!("[[entry]]\nreading = {{ check = \"{check}\", {at}value = \"{value}\" }}\n")
    };
    let mut text =
        "schema = \"hardstart/job/1\"\njob = \"x\"\ncomplaint = \"hard to start cold\"\n\
        engine = { cylinders = 6, chamber = \"direct\", preheat = \"plugs\" }\n[[entry]]\n\
        start = { engine_temperature = \"-12 degC\", soak = \"14 h\", crank_time = \"14 s\", \
        smoke_cranking = \"white\" }\n"
            .to_owned();
    for (cylinder, amps) in ["0 A", "15 A", "0 A", "15 A", "0 A", "15 A"]
        .iter()
        .enumerate()
    {
        let at = format!("cylinder = {}, ", cylinder + 1);
        text.push_str(&reading("plug_current", &at, amps));
    }
    text.push_str(&reading("cranking_volts", "", "8.2 V"));
    let job = read_toml(&text, "job", &knowledge).unwrap().job;
    let far = apart(&knowledge, &job, OFF);
    assert!(far.is_empty(), "{far:#?}");
    let evidence = gather(&knowledge, &job).unwrap();
    let chances = listed(&problem(&knowledge, &job, &evidence).unwrap());
    assert!(chances["plug.dead:1"] > 0.5, "{chances:?}");
    assert!(chances["other.present"] < 0.1, "{chances:?}");
}
