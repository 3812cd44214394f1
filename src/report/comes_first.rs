//! What comes before any check: the first start to be watched, or the cold start that proves the
//! work.
//!
//! Must not choose among checks or judge a start.

use super::closing_text;
use crate::job::{Arrived, EntryBody, Job, JobState, state, verification};
use crate::knowledge::Knowledge;

/// What comes first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum First {
    /// The engine is cold, as far as anybody said, and no start was watched.
    Watch,
    /// The work waits for a cold start; which one counts, where that is known.
    ColdStart(Option<String>),
}

impl First {
    /// What a person reads, in whole sentences.
    #[must_use]
    pub fn in_words(&self) -> String {
        match self {
            First::Watch => "No start is written down yet. If the engine is cold, watch the first \
                             start before anything is unscrewed: there is one a day."
                .to_owned(),
            First::ColdStart(wanted) => {
                let wanted = wanted.as_ref().map_or(String::new(), |w| format!(" {w}"));
                format!(
                    "The work waits for a cold start to prove it; that comes before any \
                     check.{wanted}"
                )
            }
        }
    }
}

/// What comes before any check of the job; nothing if a check may come.
#[must_use]
pub fn comes_first(job: &Job, knowledge: &Knowledge) -> Option<First> {
    match state(job, knowledge) {
        JobState::WaitingForColdStart => {
            let wanted = closing_text::wanted(&verification(job, knowledge));
            Some(First::ColdStart(wanted))
        }
        JobState::Booked | JobState::Open => watch(job),
        _ => None,
    }
}

fn watch(job: &Job) -> Option<First> {
    let at_the_engine = job.entries.iter().filter(|e| e.is_used()).any(|e| {
        matches!(
            e.body,
            EntryBody::Start(_) | EntryBody::Reading(_) | EntryBody::Work(_)
        )
    });
    let may_be_cold = !matches!(job.bench.arrived, Some(Arrived::Warm | Arrived::NotHereYet));
    (may_be_cold && !at_the_engine).then_some(First::Watch)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::read_toml;
    use crate::knowledge::{KnowledgeFiles, load};

    fn first(more: &str) -> Option<First> {
        let knowledge = load(&KnowledgeFiles::built_in()).unwrap();
        let text = format!(
            "schema = \"hardstart/job/1\"\njob = \"x\"\ncomplaint = \"y\"\n\
             engine = {{ cylinders = 4 }}\n{more}"
        );
        comes_first(
            &read_toml(&text, "job", &knowledge).unwrap().job,
            &knowledge,
        )
    }

    #[test]
    fn an_empty_job_begins_with_the_first_start_unless_it_cannot() {
        assert_eq!(first(""), Some(First::Watch));
        assert_eq!(first("bench = { arrived = \"cold\" }"), Some(First::Watch));
        for arrived in ["warm", "not_here_yet"] {
            assert_eq!(
                first(&format!("bench = {{ arrived = \"{arrived}\" }}")),
                None
            );
        }
        assert_eq!(first(START), None);
    }

    const START: &str = "[[entry]]\nstart = { engine_temperature = \"-6 degC\", soak = \"12 h\", \
                         crank_time = \"24 s\" }\n";

    #[test]
    fn work_done_waits_for_the_start_that_proves_it() {
        let work =
            format!("{START}[[entry]]\nwork = {{ repair = \"replace_plug\", cylinder = 2 }}\n");
        let says = first(&work).unwrap().in_words();
        assert!(
            says.contains("after 8 h or more, at -3 degC or colder"),
            "{says}"
        );
        let right = format!(
            "{work}[[entry]]\nstart = {{ engine_temperature = \"-6 degC\", soak = \"12 h\", \
             result = \"right\" }}\n"
        );
        assert_eq!(first(&right), None);
    }
}
