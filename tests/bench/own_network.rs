//! Times of our own network: 4, 6, 8 and 12 cylinders, one start and two, eight signs seen;
//! making a program, and 1 to 32 lanes through it.
//!
//! Printed, never asserted. Run with `cargo bench --bench own_network`.

use std::hint::black_box;
use std::io::{Write, stderr};

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use hardstart::knowledge::{KnowledgeFiles, load};
use hardstart::network::build::{Builder, Condition, Model, Shape, root_chances};
use hardstart::network::{Lane, Program, Request, Seen, Slot};

/// Tries of the search for an order.
const RESTARTS: usize = 4;
/// Eight signs of one cold start, most of them as an ordinary engine shows them.
const SIGNS: [&str; 8] = [
    "crank_time",
    "smoke_cranking",
    "smoke_after",
    "miss",
    "time_to_even",
    "knock",
    "cranking_sound",
    "dies",
];

/// A network with its starts, and the slots of what was seen.
fn model(cylinders: u8, starts: usize) -> (Model, Vec<Slot>) {
    let knowledge = load(&KnowledgeFiles::built_in()).expect("sound figures");
    let shape = Shape {
        cylinders,
        chamber: "swirl".to_owned(),
        preheat: "plugs".to_owned(),
        wiring: "strip".to_owned(),
        pump: "rotary".to_owned(),
    };
    let roots = root_chances(&knowledge, &shape, 0.0, &[]);
    let mut builder = Builder::new(&knowledge, shape, roots).expect("a network");
    let mut slots = Vec::new();
    for start in 0..starts {
        let warmer = if start == 0 { 0.0 } else { 10.0 };
        let condition = Condition {
            temperature: warmer,
            primed: false,
        };
        let at = builder.condition(condition).expect("a start");
        if start == 0 {
            slots.push(Slot {
                scope: vec![builder.complaint().expect("a complaint")],
                seen: Seen::Hard(1),
            });
        }
        for sign in SIGNS
            .iter()
            .filter(|s| knowledge.signs.iter().any(|k| k.id.get_ref() == *s))
        {
            slots.push(Slot {
                scope: vec![builder.sign(sign, at, start + 1).expect("a sign")],
                seen: Seen::Hard(usize::from(start == 0 && *sign == "miss")),
            });
        }
    }
    (builder.finish(), slots)
}

fn own(criterion: &mut Criterion) {
    for (cylinders, starts) in [
        (4, 1),
        (4, 2),
        (6, 1),
        (6, 2),
        (8, 1),
        (8, 2),
        (12, 1),
        (12, 2),
    ] {
        let (model, slots) = model(cylinders, starts);
        let queries = model.parts_now().into_iter().map(|p| vec![p]).collect();
        let request = Request {
            slots,
            queries,
            restarts: RESTARTS,
        };
        let name = format!("{cylinders} cylinders, {starts} starts");
        let program = match Program::compile(&model.network, &request) {
            Ok(program) => program,
            Err(error) => {
                writeln!(stderr(), "{name}: {error}").expect("a place to print");
                continue;
            }
        };
        writeln!(stderr(), "{name}: {:?}", program.width()).expect("a place to print");
        let mut group = criterion.benchmark_group(&name);
        group.sample_size(10);
        group.bench_function("compile", |b| {
            b.iter(|| Program::compile(&model.network, black_box(&request)).expect("narrow"));
        });
        let bound = program
            .bind(&model.network.figures())
            .expect("same figures");
        for count in [1, 2, 4, 8, 16, 32] {
            let lanes = vec![Lane::default(); count];
            group.throughput(Throughput::Elements(count as u64));
            group.bench_with_input(BenchmarkId::new("lanes", count), &lanes, |b, lanes| {
                b.iter(|| program.run(&bound, black_box(lanes)));
            });
        }
        group.finish();
    }
}

criterion_group!(benches, own);
criterion_main!(benches);
