//! Keys and values typed on the command line (`engine.cylinders=6`) into the objects of job files.
//!
//! Must not know which keys there are; the reader of jobs does.

use serde_json::{Map, Value};

use super::exit::Exit;
use super::failure::Failure;
use crate::report::trouble::Trouble;

/// Keys whose value is a list, typed with commas.
const LISTS: [&str; 1] = ["tools"];

/// One object from `KEY=VALUE` words; a dot leads into a table.
///
/// # Errors
/// Usage, for a word without `=` or a key that is a table and a value at once.
pub fn object(words: &[String]) -> Result<Map<String, Value>, Failure> {
    let mut object = Map::new();
    for word in words {
        let Some((key, value)) = word.split_once('=') else {
            return Err(unclear(word, "it has no `=`"));
        };
        let mut table = &mut object;
        let mut path: Vec<&str> = key.trim().split('.').collect();
        let last = path.pop().unwrap_or_default();
        for step in path {
            let inner = table
                .entry(step)
                .or_insert_with(|| Value::Object(Map::new()));
            let Value::Object(inner) = inner else {
                return Err(unclear(word, "the key is a value already"));
            };
            table = inner;
        }
        if table.insert(last.to_owned(), typed(last, value)).is_some() {
            return Err(unclear(word, "the key stands twice"));
        }
    }
    Ok(object)
}

/// Refuses keys that something else on the command line already says.
///
/// # Errors
/// Usage, for the first such key.
pub fn none_of(object: &Map<String, Value>, keys: &[&str], why: &str) -> Result<(), Failure> {
    match object.keys().find(|k| keys.contains(&k.as_str())) {
        None => Ok(()),
        Some(key) => {
            let what = format!("`{key}` cannot be given as KEY=VALUE here");
            Err(Failure::new(Exit::Usage, Trouble::new(what, why)))
        }
    }
}

/// A thing with its cylinder, `plug_current:3`.
pub fn with_cylinder(typed: &str, key: &str, into: &mut Map<String, Value>) {
    let (name, cylinder) = match typed.split_once(':') {
        Some((name, cylinder)) => (name, Some(cylinder)),
        None => (typed, None),
    };
    into.insert(key.to_owned(), name.into());
    if let Some(cylinder) = cylinder {
        let number = cylinder.parse::<u64>().map(Value::from);
        // What is no number is refused by the reader of jobs, which says what belongs there.
        into.insert("cylinder".to_owned(), number.unwrap_or(cylinder.into()));
    }
}

fn unclear(word: &str, why: &str) -> Failure {
    let what = format!("`{word}` is not understood: {why}");
    let advice = "write KEY=VALUE as in job files: engine.cylinders=6 or soak=\"12 h\"";
    Failure::new(Exit::Usage, Trouble::new(what, advice))
}

/// Whole numbers, true and false as such; nothing as null; everything else as text.
fn typed(key: &str, value: &str) -> Value {
    if LISTS.contains(&key) {
        let items = value.split(',').map(str::trim).filter(|i| !i.is_empty());
        return items.map(Value::from).collect();
    }
    match value {
        "" => Value::Null,
        "true" => true.into(),
        "false" => false.into(),
        // A decimal comma is one here as in job files.
        _ => match (
            value.parse::<i64>(),
            value.replacen(',', ".", 1).parse::<f64>(),
        ) {
            (Ok(whole), _) => whole.into(),
            (_, Ok(number)) if number.is_finite() => number.into(),
            _ => value.into(),
        },
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn words_become_the_objects_of_job_files() {
        let words = [
            "engine.cylinders=6",
            "engine.use=a = b",
            "bench.tools=test_lamp, clamp",
        ];
        let object = object(&words.map(str::to_owned)).unwrap();
        let wanted = json!({
            "engine": { "cylinders": 6, "use": "a = b" },
            "bench": { "tools": ["test_lamp", "clamp"] },
        });
        assert_eq!(Value::Object(object), wanted);
    }

    #[test]
    fn what_is_unclear_is_refused() {
        for words in [vec!["soak"], vec!["a=1", "a=2"], vec!["a=1", "a.b=2"]] {
            let words: Vec<String> = words.into_iter().map(str::to_owned).collect();
            assert!(object(&words).is_err(), "{words:?}");
        }
    }
}
