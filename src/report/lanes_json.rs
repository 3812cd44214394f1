//! Answers of a network to many sets of observations, one object a line.
//!
//! Must not reckon.

use serde_json::{Map, Value, json};

use super::round;
use crate::network::{Answers, KernelError};

/// What is answered to one line of observations.
#[derive(Debug, Clone, PartialEq)]
pub enum LaneAnswer {
    /// The kernel's answer, the chances in the order of the names.
    Reckoned(Result<Answers, KernelError>),
    /// The line could not be read.
    Unread(String),
}

/// The object of one line, numbered from 1 in its file.
#[must_use]
pub fn line(answer: &LaneAnswer, names: &[String], number: usize) -> Value {
    match answer {
        LaneAnswer::Reckoned(Ok(answer)) => {
            let chances = answer.chances.iter().map(|row| {
                let row = row.iter().map(|c| round::number(*c));
                row.collect::<Value>()
            });
            let marginals = names.iter().cloned().zip(chances).collect::<Map<_, _>>();
            json!({
                "log_evidence": round::number(answer.log_evidence),
                "marginals": marginals,
            })
        }
        LaneAnswer::Reckoned(Err(KernelError::Impossible)) => json!({
            "line": number,
            "log_evidence": Value::Null,
            "error": "impossible: the chance of these observations is nought",
        }),
        LaneAnswer::Reckoned(Err(error)) => json!({
            "line": number,
            "log_evidence": Value::Null,
            "error": error.to_string(),
        }),
        LaneAnswer::Unread(what) => json!({ "line": number, "error": what }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_names_its_nodes_and_an_error_its_line() {
        let answer = Answers {
            log_evidence: -0.5,
            chances: vec![vec![0.25, 0.75]],
        };
        let names = ["x".to_owned()];
        let text = |a: &LaneAnswer| line(a, &names, 7).to_string();
        assert_eq!(
            text(&LaneAnswer::Reckoned(Ok(answer))),
            r#"{"log_evidence":-0.5,"marginals":{"x":[0.25,0.75]}}"#
        );
        let impossible = LaneAnswer::Reckoned(Err(KernelError::Impossible));
        assert!(text(&impossible).starts_with(r#"{"line":7,"log_evidence":null,"error":"imp"#));
        let unread = LaneAnswer::Unread("no".to_owned());
        assert_eq!(text(&unread), r#"{"line":7,"error":"no"}"#);
    }
}
