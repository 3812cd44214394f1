//! Prints how far the network is from the trade's table of signs, worst rows first.
//!
//! `cargo run --release --example trade_residuals`: for whoever moves a figure.

#[path = "../tests/trade_rows/mod.rs"]
mod trade_rows;

use hardstart::knowledge::{KnowledgeFiles, load};
use hardstart::learning::{fit_cell, ordinary, targets};

#[allow(clippy::print_stdout)]
fn main() {
    let files = match std::env::args().nth(1) {
        Some(dir) => KnowledgeFiles::from_directory(std::path::Path::new(&dir)).expect("readable"),
        None => KnowledgeFiles::built_in(),
    };
    let knowledge = load(&files).unwrap_or_else(|e| {
        panic!(
            "{}",
            e.problems
                .iter()
                .map(|p| p.what.clone())
                .collect::<Vec<_>>()
                .join("\n")
        )
    });
    let mut residuals = trade_rows::residuals(&knowledge);
    residuals.sort_by(|a, b| {
        (b.got - b.row.wanted)
            .abs()
            .total_cmp(&(a.got - a.row.wanted).abs())
    });
    for r in residuals.iter().take(45) {
        println!(
            "{:+.3} got {:.3} want {:.2}  {} {} {} [{}] {} {}C",
            r.got - r.row.wanted,
            r.got,
            r.row.wanted,
            r.row.code,
            r.row.sign,
            r.row.state,
            r.row.condition,
            r.row.engine,
            r.row.temperature
        );
    }
    let n = residuals.len() as f64;
    let mae = residuals
        .iter()
        .map(|r| (r.got - r.row.wanted).abs())
        .sum::<f64>()
        / n;
    let near = residuals
        .iter()
        .filter(|r| (r.got - r.row.wanted).abs() <= 0.15)
        .count();
    println!(
        "rows {n}, mean absolute error {mae:.4}, within .15: {:.1} %",
        near as f64 / n * 100.0
    );
    let started = std::time::Instant::now();
    for (chamber, preheat, band, t) in [
        ("swirl", "plugs", "chill", 0.0),
        ("swirl", "plugs", "hot", 18.0),
        ("swirl", "plugs", "deep", -20.0),
        ("direct", "plugs", "mild", 10.0),
        ("direct", "flame", "chill", 0.0),
        ("direct", "none", "frost", -10.0),
    ] {
        let shape = ordinary(chamber, preheat);
        let fit = fit_cell(
            &knowledge,
            &shape,
            t,
            targets(&knowledge, &shape, band, None),
            None,
        )
        .expect("fits");
        let off = fit
            .reached
            .iter()
            .map(|(c, s)| ((s - fit.wanted.share[c]).abs(), c.clone()))
            .fold((0.0, String::new()), |a, b| if b.0 > a.0 { b } else { a });
        println!(
            "{chamber} {preheat} {band}: worst share off by {:.3} ({}), two or more {:.3}, none {:.3}, P(complaint | sound) {:.4}  [{:?}]",
            off.0,
            off.1,
            fit.two_or_more,
            fit.none,
            fit.complaint_sound,
            started.elapsed()
        );
        if band == "chill" && preheat == "plugs" {
            for (f, c) in &fit.chance {
                println!("   {f} {c:.5}");
            }
            println!(
                "   P(complaint | code alone): {}",
                fit.complaint_alone
                    .iter()
                    .map(|(c, p)| format!("{c} {p:.2}"))
                    .collect::<Vec<_>>()
                    .join(", ")
            );
        }
    }
}
