//! Simulated jobs, scored: the chances are those of the ranking, nothing after the repair is
//! used, and parts merge to the whole.

use hardstart::job::{self, EntryBody, Job};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::learning::simulate::{SimulationSettings, Simulator};
use hardstart::scoring::batch::Scorer;
use hardstart::scoring::compare::compare;
use hardstart::scoring::label::Labels;
use hardstart::scoring::rival::Counted;
use hardstart::scoring::solve::{Solver, WIDEST};
use hardstart::scoring::summary::Summary;
use hardstart::scoring::take::{AsOf, take};
use hardstart::{diagnosis, evidence};

const PROGRAMS: usize = 16 << 20;

fn knowledge() -> Knowledge {
    load(&KnowledgeFiles::built_in()).unwrap()
}

fn plain(knowledge: &Knowledge, n: u64) -> Vec<Job> {
    let simulator = Simulator::new(knowledge, SimulationSettings::plain(5));
    (0..n).map(|n| simulator.job(n).unwrap().job).collect()
}

/// Expected: the ranking of one job, which shares no program with the solver of many.
#[test]
fn chances_of_many_jobs_are_those_of_the_ranking() {
    let knowledge = knowledge();
    let jobs = plain(&knowledge, 6);
    let taken = jobs
        .iter()
        .map(|j| take(j, AsOf::BeforeRepair).job)
        .collect::<Vec<_>>();
    let solver = Solver::new(&knowledge, PROGRAMS, WIDEST);
    let solved = solver.solve(&taken.iter().collect::<Vec<_>>());
    for (job, solved) in taken.iter().zip(solved) {
        let solved = solved.unwrap();
        let evidence = evidence::gather(&knowledge, job).unwrap();
        let ranking = diagnosis::causes(&evidence, job).unwrap();
        assert_eq!(solved.chances.len(), ranking.causes.len());
        assert!((solved.log_evidence - ranking.log_evidence).abs() < 1e-9);
        for (cause, chance) in &solved.chances {
            let wanted = ranking.causes.iter().find(|c| c.cause == *cause).unwrap();
            assert!((chance - wanted.chance).abs() < 1e-9, "{cause}");
        }
    }
}

/// A job is written, read back and drawn again as the same.
#[test]
fn simulated_jobs_repeat_and_read_back() {
    let knowledge = knowledge();
    let settings = SimulationSettings::default();
    let all = Simulator::new(&knowledge, settings.clone());
    let first = (0..8).map(|n| all.job(n).unwrap()).collect::<Vec<_>>();
    let alone = Simulator::new(&knowledge, settings);
    assert_eq!(alone.job(7).unwrap(), first[7]);
    for drawn in &first {
        let text = job::to_json(&drawn.job).to_string();
        let read = job::read_json(&text, "drawn", &knowledge).unwrap().job;
        assert_eq!(job::to_json(&read), job::to_json(&drawn.job));
        assert_eq!(
            hardstart::scoring::label::truth(&read).unwrap(),
            drawn.truth
        );
    }
}

/// The answer stands in the work and the findings; as of before the repair none of it is there.
#[test]
fn nothing_after_the_repair_is_used() {
    let knowledge = knowledge();
    for job in plain(&knowledge, 20) {
        let taken = take(&job, AsOf::BeforeRepair);
        assert!(taken.job.entries.iter().all(|e| matches!(
            e.body,
            EntryBody::Told(_) | EntryBody::Start(_) | EntryBody::Reading(_)
        )));
        let left: usize = taken.left_out.values().sum();
        assert_eq!(taken.used + left, job.entries.len());
        let work = job
            .entries
            .iter()
            .position(|e| matches!(e.body, EntryBody::Work(_)));
        assert!(taken.used <= work.unwrap_or(job.entries.len()));
    }
}

/// Sums are exact: two parts in the other order give the same figures, bit for bit.
#[test]
fn parts_merge_to_the_whole() {
    let knowledge = knowledge();
    let jobs = plain(&knowledge, 24);
    let scorer = Scorer::new(
        &knowledge,
        AsOf::BeforeRepair,
        Labels::Simulated,
        Counted::default(),
        PROGRAMS,
        WIDEST,
    );
    let scored = scorer.score(&jobs.iter().collect::<Vec<_>>());
    let (mut whole, mut odd, mut even) = <(Summary, Summary, Summary)>::default();
    for (at, one) in scored.iter().enumerate() {
        whole.add(at as u64, &one.line, &one.outcomes);
        let part = if at % 2 == 0 { &mut even } else { &mut odd };
        part.add(at as u64, &one.line, &one.outcomes);
    }
    odd.merge(&even);
    assert_eq!(odd, whole);
    assert_eq!(whole.scored, 24);
    // The same jobs one by one: what is solved together changes nothing.
    let again = Scorer::new(
        &knowledge,
        AsOf::BeforeRepair,
        Labels::Simulated,
        Counted::default(),
        0,
        WIDEST,
    );
    for (job, one) in jobs.iter().zip(&scored).take(5) {
        assert_eq!(again.score(&[job])[0], *one);
    }
    let lines = scored.iter().map(|s| s.line.clone()).collect::<Vec<_>>();
    let same = compare(&lines, &lines, 1);
    assert_eq!((same.paired, same.better, same.worse), (24, 0, 0));
    assert!(
        same.differences
            .values()
            .all(|d| d.0 == 0.0 && d.1.low == 0.0 && d.1.high == 0.0)
    );
}
