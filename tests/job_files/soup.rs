//! Any bytes give a job or problems with places, never a panic.

use hardstart::job::{JobErrors, read_bytes, read_json, read_ndjson, read_toml, to_json};
use proptest::prelude::*;

use crate::EXAMPLE;
use crate::small::small;

/// Every problem has a place within the text and can be drawn.
fn sound(errors: &JobErrors, text: &str) -> Result<(), TestCaseError> {
    prop_assert!(!errors.problems.is_empty());
    for p in &errors.problems {
        prop_assert!(p.line >= 1 && p.column >= 1);
        prop_assert!(p.line <= text.lines().count() + 1, "{}", p.what);
        prop_assert!(!p.what.is_empty() && !p.try_.is_empty());
        prop_assert!(p.render(text).contains(&p.try_));
    }
    Ok(())
}

fn read_all(text: &str) -> Result<(), TestCaseError> {
    let knowledge = small();
    if let Err(errors) = read_toml(text, "a", knowledge) {
        sound(&errors, text)?;
    }
    if let Err(errors) = read_json(text, "a", knowledge) {
        sound(&errors, text)?;
    }
    Ok(())
}

/// The text with a piece cut out at `from` and `with` put in.
fn mutated(text: &str, from: usize, length: usize, with: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let from = from % (chars.len() + 1);
    let to = (from + length).min(chars.len());
    let mut out: String = chars[..from].iter().collect();
    out.push_str(with);
    out.extend(&chars[to..]);
    out
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let knowledge = small();
        if let Err(errors) = read_bytes(&bytes, "a", knowledge) {
            sound(&errors, &String::from_utf8_lossy(&bytes))?;
        }
        for line in read_ndjson(bytes.as_slice(), "a", knowledge) {
            prop_assert!(line.is_ok());
        }
    }

    #[test]
    fn any_text(text in any::<String>()) {
        read_all(&text)?;
    }

    #[test]
    fn any_lines_like_ours(lines in prop::collection::vec(
        "(\\[{0,2}(entry|engine|bench|x)\\]{0,2}|(told|start|reading|work|mark)?\\.?(check|value|cylinder|since|soak|state|x) ?= ?(\"[a-z0-9 ,.<>°VsA]{0,8}\"|[0-9]{0,3}|true|\\[|\\{|nan|1987-05-01))", 0..8)) {
        read_all(&lines.join("\n"))?;
    }

    #[test]
    fn a_damaged_example(from in any::<usize>(), length in 0..40usize, with in "[\\PC\n\"=\\[\\]{}.]{0,6}") {
        read_all(&mutated(EXAMPLE, from, length, &with))?;
    }

    #[test]
    fn a_damaged_json_example(from in any::<usize>(), length in 0..40usize, with in "[\\PC\n\"=\\[\\]{}.]{0,6}") {
        let job = read_toml(EXAMPLE, "a", small()).unwrap().job;
        read_all(&mutated(&to_json(&job).to_string(), from, length, &with))?;
    }
}

#[test]
fn deep_nesting_is_refused() {
    let deep = 100_000;
    let texts = [
        format!("a = {}", "[".repeat(deep)),
        format!("a = {}1{}", "[".repeat(deep), "]".repeat(deep)),
        format!("a = {}", "{a=".repeat(deep)),
        format!("{}a = 1", "a.".repeat(deep)),
        format!("[{}a]", "a.".repeat(deep)),
        format!("x = {{ {}a = 1 }}", "a.".repeat(deep)),
        format!("\"q\".{}a = 1", "a.".repeat(deep)),
        "[".repeat(deep),
        "{\"a\":".repeat(deep),
        format!("{}1{}", "[".repeat(100), "]".repeat(100)),
        format!("{}1{}", "{\"a\":".repeat(100), "}".repeat(100)),
    ];
    for text in texts {
        assert!(read_toml(&text, "a", small()).is_err());
        assert!(read_json(&text, "a", small()).is_err());
    }
}

#[test]
fn a_long_value_is_not_said_back_in_full() {
    // A value of 100 kB came back whole in the message about it.
    let text = format!(
        "schema = \"hardstart/job/1\"\njob = \"a\"\n[engine]\nchamber = \"{}\"\n",
        "x".repeat(100_000)
    );
    let errors = read_toml(&text, "a", small()).unwrap_err();
    assert!(errors.summary().len() < 1000, "{}", errors.summary().len());
    assert!(errors.summary().contains("characters left out"));
    assert!(
        errors.render(&text).len() < 2000,
        "{}",
        errors.render(&text).len()
    );
}
