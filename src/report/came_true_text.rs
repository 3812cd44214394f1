//! How often what was said before a repair came true in this book, in plain sentences.
//!
//! Must not count.

use serde_json::{Value, json};

use super::chance;
use super::page::{Layout, Page};
use super::round::number;
use crate::scoring::came_true::{Band, CameTrue, LEAST_JOBS, MOST_JOBS};

/// The sentences; where there is too little to say, one that says so.
#[must_use]
pub fn sentences(came: &CameTrue) -> Vec<String> {
    if came.jobs == 0 {
        let none = "No job with what we said before its repair is done and proven yet: how often it \
                    came true here cannot be said.";
        return vec![none.to_owned()];
    }
    if !came.is_enough() {
        let jobs = jobs(came.jobs);
        return vec![format!(
            "Too few jobs to say how often it came true here: {jobs} done and proven, with what we \
             said before the repair; it takes {LEAST_JOBS}."
        )];
    }
    let newest = if came.jobs >= MOST_JOBS {
        "the newest "
    } else {
        ""
    };
    let mut lines = vec![format!(
        "This is from {newest}{} of this book that are done and proven, as we said it before the \
         repair:",
        jobs(came.jobs)
    )];
    // High chances are what people act on.
    let bands = || came.bands.iter().rev().filter(|b| b.causes > 0);
    lines.extend(bands().filter(|b| b.is_enough()).map(band));
    let few: Vec<String> = bands()
        .filter(|b| !b.is_enough())
        .map(|b| format!("{} ({})", at(b), b.causes))
        .collect();
    if !few.is_empty() {
        lines.push(format!("Too few causes to say: those {}.", few.join(", ")));
    }
    lines
}

/// What counts as found; for who wonders.
pub const HOW: &str = "Found is what was written down as found and is proven; else the likeliest cause that \
                       the one repair mends which made the cold start right. Jobs that were never proven do \
                       not count, so this is no fair sample of all jobs.";

/// For the command line.
#[must_use]
pub fn text(came: &CameTrue, layout: Layout) -> String {
    let mut page = Page::new(layout);
    for sentence in sentences(came) {
        page.say(&sentence);
    }
    if came.is_enough() {
        page.gap();
        page.say(HOW);
    }
    page.finish()
}

/// For machines; nothing is held back for being few.
#[must_use]
pub fn json(came: &CameTrue) -> Value {
    let band = |b: &Band| {
        let range = b.interval();
        json!({ "from": b.from, "to": b.to, "causes": b.causes, "found": b.found,
                "said": number(b.said), "low": number(range.low), "high": number(range.high) })
    };
    json!({ "schema": "hardstart/came_true/1", "jobs": came.jobs,
            "bands": came.bands.iter().map(band).collect::<Value>() })
}

fn jobs(n: usize) -> String {
    match n {
        1 => "1 job".to_owned(),
        n => format!("{n} jobs"),
    }
}

fn band(band: &Band) -> String {
    let range = band.interval();
    let fits = if band.said < range.low {
        "more often than we said"
    } else if band.said > range.high {
        "less often than we said"
    } else {
        "which fits what we said"
    };
    format!(
        "Of {} causes we put {} before the repair, {} {} found here: {fits}. In the long run it may be {} \
         to {} of 100.",
        band.causes,
        at(band),
        band.found,
        if band.found == 1 { "was" } else { "were" },
        chance::count(range.low),
        chance::count(range.high),
    )
}

/// `at 60 to 80 of 100`; the bands meet as the words do: 80 is in the next one.
fn at(band: &Band) -> String {
    match (band.from, band.to) {
        (0, Some(to)) => format!("under {to} of 100"),
        (from, Some(to)) => format!("at {from} to {to} of 100"),
        (from, None) => format!("at {from} of 100 or more"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scoring::came_true::Judged;

    /// Jobs that each said one cause at 70 of 100 and one at 7.
    fn came(jobs: usize, found: usize) -> CameTrue {
        let job = |n| -> Judged { vec![(0.70, n < found), (0.07, false)] };
        let all: Vec<Judged> = (0..jobs).map(job).collect();
        CameTrue::of(&all)
    }

    /// Expected: counted by hand. Wilson 95 % of 15 in 20: 0.531 to 0.888; of 0 in 20: 0 to 0.161;
    /// of 8 in 20: 0.219 to 0.613 (Newcombe 1998, method 3, by a pocket calculator).
    #[test]
    fn the_sentence_has_what_was_said_what_came_and_the_range() {
        let said = sentences(&came(20, 15));
        assert_eq!(said.len(), 3, "{said:?}");
        assert!(said[0].contains("from 20 jobs of this book"), "{said:?}");
        let likely = "Of 20 causes we put at 60 to 80 of 100 before the repair, 15 were found here: which \
                      fits what we said. In the long run it may be 53 to 89 of 100.";
        assert_eq!(said[1], likely);
        assert!(said[2].starts_with("Of 20 causes we put at 5 to 20 of 100"));
        assert!(
            said[2].contains("0 were found here: which fits"),
            "{said:?}"
        );
        let said = sentences(&came(20, 8));
        assert!(said[1].contains("8 were found here: less often than we said"));
        assert!(said[1].contains("22 to 61 of 100"), "{said:?}");
    }

    #[test]
    fn too_little_is_said_to_be_too_little() {
        assert!(sentences(&came(0, 0))[0].contains("cannot be said"));
        let said = sentences(&came(LEAST_JOBS - 1, 12));
        assert_eq!(said.len(), 1);
        assert!(said[0].starts_with("Too few jobs to say"), "{said:?}");
        assert!(said[0].contains("19 jobs"), "{said:?}");
        // One band that is too thin among enough jobs.
        let mut all: Vec<Judged> = vec![vec![(0.07, false)]; LEAST_JOBS];
        all.push(vec![(0.97, true)]);
        let said = sentences(&CameTrue::of(&all));
        let last = "Too few causes to say: those at 95 of 100 or more (1).";
        assert_eq!(said.last().map(String::as_str), Some(last));
    }
}
