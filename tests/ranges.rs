//! Ranges: derivatives against networks built anew, and ranges against figures drawn at random.
//!
//! `HARDSTART_LONG=1` draws two thousand times a job, else few times.

use hardstart::diagnosis::ranges::{Ranges, chances_with, draws, ranges, tipping};
use hardstart::evidence::{Evidence, gather};
use hardstart::job::{Job, read_bytes};
use hardstart::knowledge::{Knowledge, KnowledgeFiles, load};
use hardstart::network::bif::read;
use hardstart::network::{Lane, Program, Request, Seen, Slot};

/// Jobs that are drawn.
const JOBS: [&str; 10] = [
    "tb-01-one-dead-plug",
    "tb-02-strip-joint",
    "tb-03-blocked-filter",
    "tb-04-tired-battery",
    "tb-05-air-in-the-line",
    "tb-06-wax",
    "tb-07-timing-late",
    "tb-08-leaking-valve",
    "tb-09-dripping-nozzle",
    "tb-11-preheat-is-fine",
];

fn knowledge() -> Knowledge {
    load(&KnowledgeFiles::built_in()).unwrap()
}

fn job(name: &str, knowledge: &Knowledge) -> (Job, Evidence) {
    let file = format!("examples/jobs/{name}.toml");
    let bytes = std::fs::read(&file).unwrap();
    let job = read_bytes(&bytes, &file, knowledge).unwrap().job;
    let evidence = gather(knowledge, &job).unwrap();
    (job, evidence)
}

fn log_odds(p: f64) -> f64 {
    (p / (1.0 - p)).ln()
}

/// Expected: central differences of ln P(evidence), rows kept at one.
#[test]
fn slopes_are_derivatives_of_the_chance_of_the_evidence() {
    let text = include_str!("../data/published/chest_clinic.bif");
    let network = read(text).unwrap().network;
    let slot = |name: &str, seen| Slot {
        scope: vec![network.find(name).unwrap()],
        seen,
    };
    let request = Request {
        slots: vec![slot("dyspnoea", Seen::Hard(1)), slot("xray", Seen::Soft)],
        queries: Vec::new(),
        restarts: 2,
    };
    let program = Program::compile(&network, &request).unwrap();
    let figures = network.figures();
    let lane = |x: f64| Lane {
        inputs: vec![0.3, x],
        log_scale: 0.25,
    };
    let log = |figures: &[f64], x: f64| {
        let bound = program.bind(figures).unwrap();
        program
            .run_upward(&bound, &[lane(x)])
            .pop()
            .unwrap()
            .unwrap()
    };
    let bound = program.bind(&figures).unwrap();
    let found = program
        .gradient(figures.len())
        .run(&bound, &[lane(0.8)])
        .unwrap();
    assert!((found[0].log_evidence - log(&figures, 0.8)).abs() < 1e-14);
    let h = 1e-5;
    let mut compared = 0;
    for row in (0..figures.len()).step_by(2) {
        if figures[row] == 0.0 || figures[row] == 1.0 {
            continue;
        }
        let at = |by: f64| {
            let mut own = figures.clone();
            own[row] += by;
            own[row + 1] -= by;
            log(&own, 0.8)
        };
        let expected = (at(h) - at(-h)) / (2.0 * h);
        let slope = found[0].figures[row] - found[0].figures[row + 1];
        assert!(
            (slope - expected).abs() < 1e-7,
            "{row}: {slope}, {expected}"
        );
        compared += 1;
    }
    assert!(compared > 10);
    let expected = (log(&figures, 0.8 + h) - log(&figures, 0.8 - h)) / (2.0 * h);
    assert!((found[0].inputs[1] - expected).abs() < 1e-7);
}

/// Expected: every network built anew with one figure moved.
#[test]
fn derivatives_follow_a_figure_through_every_table() {
    let knowledge = knowledge();
    let (job, evidence) = job("tb-04-tired-battery", &knowledge);
    let ranges = ranges(&knowledge, &job, &evidence).unwrap();
    let cause = |r: &Ranges| {
        let battery = |c: &&hardstart::diagnosis::ranges::CauseRange| {
            c.place.part == "battery" && c.place.fault == "tired"
        };
        r.causes.iter().position(|c| battery(&c)).unwrap()
    };
    let at = cause(&ranges);
    let h = 1e-2;
    for matters in ranges.causes[at].matter_most(6) {
        let odds = |spreads: f64| {
            let moved = (matters.figure, spreads);
            let chances = chances_with(&knowledge, &job, &evidence, &ranges, moved);
            log_odds(chances.unwrap().unwrap()[at])
        };
        // Five points: what is left is of the fourth order in h.
        let near = (odds(h) - odds(-h)) / (2.0 * h);
        let far = (odds(2.0 * h) - odds(-2.0 * h)) / (4.0 * h);
        let expected = (4.0 * near - far) / 3.0;
        let id = &ranges.figures[matters.figure].id;
        assert!(
            (matters.moves - expected).abs() < 1e-6,
            "{id}: {} {expected}",
            matters.moves
        );
    }
}

#[test]
fn a_range_holds_its_chance_and_firmer_figures_narrow_it() {
    let mut knowledge = knowledge();
    let (job, evidence) = job("tb-03-blocked-filter", &knowledge);
    let thin = ranges(&knowledge, &job, &evidence).unwrap();
    let causes = hardstart::diagnosis::causes(&evidence, &job).unwrap();
    for cause in &causes.causes {
        let range = thin.causes.iter().find(|c| {
            c.place.part == cause.part
                && c.place.fault == cause.fault
                && c.place.cylinder == cause.cylinder
        });
        let range = range.unwrap();
        assert!(
            (range.chance - cause.chance).abs() < 1e-9,
            "{}",
            cause.cause
        );
        assert!(range.low <= range.chance && range.chance <= range.high);
        assert!(range.low > 0.0 && range.high < 1.0);
    }
    // Every figure worth a hundred times as many jobs.
    knowledge
        .defaults
        .iter_mut()
        .for_each(|d| d.strength *= 100.0);
    let firm = ranges(&knowledge, &job, &evidence).unwrap();
    for (thin, firm) in thin.causes.iter().zip(&firm.causes) {
        assert!(firm.deviation() < thin.deviation(), "{:?}", thin.place);
    }
}

/// Expected: by definition of a tipping value the two are level there.
#[test]
fn at_a_tipping_value_two_causes_are_level() {
    let knowledge = knowledge();
    let (job, evidence) = job("tb-10-two-at-once", &knowledge);
    let ranges = ranges(&knowledge, &job, &evidence).unwrap();
    for tip in tipping(&knowledge, &job, &evidence, &ranges, 2).unwrap() {
        let moved = (tip.figure, tip.spreads);
        let chances = chances_with(&knowledge, &job, &evidence, &ranges, moved);
        let chances = chances.unwrap().unwrap();
        let of = |place| ranges.causes.iter().position(|c| c.place == place).unwrap();
        let (from, to) = (chances[of(tip.from.clone())], chances[of(tip.to.clone())]);
        assert!((log_odds(from) - log_odds(to)).abs() < 1e-5, "{from} {to}");
        assert!(chances.iter().all(|c| *c <= from.max(to) + 1e-9));
    }
}

/// Expected: eight of ten draws lie in the range, within five points; with few draws, within
/// what chance does to few draws as well.
#[test]
fn drawn_figures_fall_into_the_ranges() {
    let long = std::env::var("HARDSTART_LONG").is_ok_and(|v| v == "1");
    let (jobs, count, within) = if long {
        (&JOBS[..], 2000, 0.05)
    } else {
        (&JOBS[2..5], 200, 0.10)
    };
    let knowledge = knowledge();
    let mut off = Vec::new();
    for name in jobs {
        let (job, evidence) = job(name, &knowledge);
        let ranges = ranges(&knowledge, &job, &evidence).unwrap();
        let places = ranges
            .causes
            .iter()
            .map(|c| c.place.clone())
            .collect::<Vec<_>>();
        let both = (&ranges.figures[..], &places[..]);
        let drawn = draws(&knowledge, &job, &evidence, both, count, 7).unwrap();
        assert!(
            drawn.len() * 100 >= count * 99,
            "{name}: {} draws",
            drawn.len()
        );
        let inside = |at: usize| {
            let range = &ranges.causes[at];
            let inside = drawn
                .iter()
                .filter(|d| (range.low..=range.high).contains(&d[at]));
            inside.count() as f64 / drawn.len() as f64
        };
        let mean = (0..places.len()).map(inside).sum::<f64>() / places.len() as f64;
        if (mean - 0.8).abs() > within {
            off.push((*name, mean));
        }
    }
    assert!(off.is_empty(), "{off:?}");
}
