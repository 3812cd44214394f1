//! The card of fitted figures: what they are for, what they rest on, and what they do not know.
//!
//! Must not compute beyond rounding.

use std::fmt::Write;

use super::fit_text::{SHARE_HEAD, Told, most_moved, sha256, share_row};
use super::score_text;

/// The card, as Markdown.
#[must_use]
pub fn card(told: &Told<'_>) -> String {
    let counts = &told.fit.counts;
    let mut card = String::from("# Fitted figures\n\n## For\n\n");
    card.push_str(
        "Chances of causes of a hard cold start, on engines and in shops like those the jobs came\n\
         from. Not for engines with electronic injection, and no proof of anything on one engine.\n\n\
         ## Rests on\n\n",
    );
    let _ = writeln!(card, "- Starter figures `{}`", counts.over);
    for hash in &counts.data {
        let _ = writeln!(card, "- Jobs `{hash}`");
    }
    let _ = writeln!(card, "- This layer `{}`", sha256(told.layer));
    let _ = writeln!(card, "- {} finished jobs", counts.jobs);
    if let Some((first, last)) = &counts.days {
        let _ = writeln!(card, "- From {first} to {last}");
    }
    for (why, n) in &counts.left_out {
        let _ = writeln!(card, "- {n} jobs left out: {}", why.replace('_', " "));
    }
    card.push_str("\n| kind of engine | jobs |\n|---|---|\n");
    for (engine, n) in &counts.engines {
        let _ = writeln!(card, "| {engine} | {n} |");
    }
    let never = told
        .knowledge
        .engines
        .kind
        .iter()
        .map(|k| format!("{}/{}", k.chamber, k.preheat));
    let never = never
        .filter(|k| !counts.engines.contains_key(k))
        .collect::<Vec<_>>();
    if !never.is_empty() {
        let _ = writeln!(card, "\nNever seen: {}.", never.join(", "));
    }
    card.push_str("\n| shop | jobs |\n|---|---|\n");
    for (shop, n) in &counts.shops {
        let name = if shop.is_empty() { "not stated" } else { shop };
        let _ = writeln!(card, "| {name} | {n} |");
    }
    let differ = told.fit.moved.shops_differ;
    if differ > 0.0 {
        let _ = writeln!(card, "\nShops differ: spread of log-odds {differ:.3}.");
    } else {
        card.push_str("\nShops are taken as alike.\n");
    }
    let rounds = told.fit.log_likelihood.len().saturating_sub(1);
    let settled = if told.fit.settled {
        "settled"
    } else {
        "not settled"
    };
    let _ = writeln!(
        card,
        "\n## How\n\n{rounds} rounds, {settled}; worth of the starter figures × {}.",
        told.weight
    );
    card.push_str(
        "Only what stood there before the repair was read. Findings count as far as their proof\n\
         goes. That jobs are there because of a complaint, and that causes which are heavy work to\n\
         reach stay unconfirmed, is part of the reckoning.\n\n## Shares\n\n```text\n",
    );
    let _ = writeln!(card, "{SHARE_HEAD}");
    for sure in most_moved(told.sureness) {
        let _ = writeln!(card, "{}", share_row(sure));
    }
    card.push_str(
        "```\n\n\"jobs\" is how many fully known jobs would say as much.\n\n## How good\n\n",
    );
    match told.held_out {
        Some(held) => {
            let _ = writeln!(
                card,
                "{} jobs were held out; starter figures first, fitted second.\n\n```text",
                held.jobs
            );
            card.push_str(&score_text::comparison_means(held.comparison));
            card.push_str("```\n");
        }
        None => card.push_str("Not compared on jobs held out; `--hold-out fold=1/5` does that.\n"),
    }
    card.push_str(
        "\n## Mind\n\n- Only starting chances, how often causes are confirmed and how far findings are to be\n  \
         believed were moved; what a fault does to signs and checks stays as the starter figures say.\n\
         - A check that was done says something by itself: shops check what they suspect. That is not\n  \
         reckoned with; what was not tested is skipped, never taken as normal.\n\
         - Jobs hold no names, plates or numbers of engines; whoever shares a layer shares shop names.\n",
    );
    card
}
