//! Times of the kernel on a network of our shape: making a program, one sweep of 1 to 32 lanes
//! with twelve observed variables, and a batch of fifty jobs with its programs kept.
//!
//! Printed, never asserted. Run with `cargo bench --bench kernel`.

use std::collections::BTreeMap;
use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use hardstart::network::bif::{read, with_noisy_maxima};
use hardstart::network::{Batch, Lane, Network, Program, Request, Seen, Slot, VarId};

/// Tries of the search for an order.
const RESTARTS: usize = 20;
/// Room for all programs.
const BYTES: usize = 1 << 30;

type Jobs = Vec<BTreeMap<String, usize>>;
type Reference = (Jobs, Vec<BTreeMap<String, Vec<f64>>>, Vec<f64>);

struct Shape {
    network: Network,
    jobs: Jobs,
    faults: Vec<Vec<VarId>>,
}

fn shape() -> Shape {
    let text = include_str!("../../data/kernel/shape_div.bif");
    let network = with_noisy_maxima(&read(text).expect("a sound file").network);
    let reference = include_str!("../../data/kernel/shape_jobs_reference.json");
    let (jobs, marginals, _): Reference = serde_json::from_str(reference).expect("a reference");
    let faults = marginals[0].keys();
    let faults = faults.map(|n| vec![network.find(n).expect("a known name")]);
    let faults = faults.collect();
    Shape {
        network,
        jobs,
        faults,
    }
}

fn request(shape: &Shape) -> Request {
    let slots = shape.jobs[0].keys().map(|name| Slot {
        scope: vec![shape.network.find(name).expect("a known name")],
        seen: Seen::Soft,
    });
    Request {
        slots: slots.collect(),
        queries: shape.faults.clone(),
        restarts: RESTARTS,
    }
}

fn compile(criterion: &mut Criterion) {
    let shape = shape();
    let request = request(&shape);
    criterion.bench_function("compile", |b| {
        b.iter(|| Program::compile(&shape.network, black_box(&request)).expect("narrow enough"));
    });
}

fn lanes(criterion: &mut Criterion) {
    let shape = shape();
    let program = Program::compile(&shape.network, &request(&shape)).expect("narrow enough");
    let bound = program
        .bind(&shape.network.figures())
        .expect("same figures");
    let mut group = criterion.benchmark_group("run");
    for count in [1, 2, 4, 8, 16, 32] {
        let lane = |n: usize| Lane {
            inputs: (0..program.inputs())
                .map(|i| f64::from(u8::from(!(i + n).is_multiple_of(3))))
                .collect(),
            log_scale: 0.0,
        };
        let lanes = (0..count).map(lane).collect::<Vec<_>>();
        group.throughput(Throughput::Elements(count as u64));
        group.bench_with_input(BenchmarkId::new("down", count), &lanes, |b, lanes| {
            b.iter(|| program.run(&bound, black_box(lanes)));
        });
        group.bench_with_input(BenchmarkId::new("up", count), &lanes, |b, lanes| {
            b.iter(|| program.run_upward(&bound, black_box(lanes)));
        });
    }
    group.finish();
}

fn batch(criterion: &mut Criterion) {
    let shape = shape();
    let jobs = shape.jobs.iter().map(|job| {
        let named = job
            .iter()
            .map(|(n, s)| (shape.network.find(n).expect("a known name"), *s));
        named.collect::<Vec<_>>()
    });
    let jobs = jobs.collect::<Vec<_>>();
    let mut observable = jobs.iter().flatten().map(|o| o.0).collect::<Vec<_>>();
    observable.sort_unstable();
    observable.dedup();
    let network = shape.network.clone();
    let mut batch = Batch::new(network, &observable, shape.faults.clone(), RESTARTS, BYTES);
    let mut group = criterion.benchmark_group("batch");
    group.throughput(Throughput::Elements(jobs.len() as u64));
    group.bench_function("fifty jobs", |b| {
        b.iter(|| batch.answer(black_box(&jobs)).expect("narrow enough"));
    });
    group.finish();
}

criterion_group!(benches, compile, lanes, batch);
criterion_main!(benches);
