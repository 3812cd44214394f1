//! The JSON Schema of job files, written by hand beside the reader.
//!
//! A test keeps its keys and the reader's the same. Must not validate: the reader does, and
//! says more.

/// The JSON Schema of `hardstart/job/1`, as text.
#[must_use]
pub fn schema_json() -> &'static str {
    include_str!("schema/job-1.json")
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use serde_json::Value;

    use super::*;
    use crate::job::names::Named;
    use crate::job::{
        Arrived, Chamber, CylinderOne, Fact, Mark, PreheatKind, Proof, PumpKind, Repeat,
        StartResult, Sure, Wiring, fields,
    };

    fn schema() -> Value {
        serde_json::from_str(schema_json()).unwrap()
    }

    fn keys(schema: &Value, pointer: &str) -> BTreeSet<String> {
        let properties = schema.pointer(&format!("{pointer}/properties")).unwrap();
        properties.as_object().unwrap().keys().cloned().collect()
    }

    fn set(lists: &[&[&str]]) -> BTreeSet<String> {
        lists
            .iter()
            .flat_map(|l| l.iter())
            .map(|k| (*k).to_owned())
            .collect()
    }

    #[test]
    fn the_schema_and_the_reader_know_the_same_keys() {
        let s = schema();
        assert_eq!(keys(&s, ""), set(&[fields::JOB]));
        assert_eq!(keys(&s, "/$defs/engine"), set(&[fields::ENGINE]));
        assert_eq!(keys(&s, "/$defs/bench"), set(&[fields::BENCH]));
        assert_eq!(
            keys(&s, "/$defs/entry"),
            set(&[fields::ENTRY, fields::BODIES])
        );
        assert_eq!(keys(&s, "/$defs/start"), set(&[fields::START]));
        assert_eq!(keys(&s, "/$defs/reading"), set(&[fields::READING]));
        assert_eq!(keys(&s, "/$defs/work"), set(&[fields::WORK]));
        assert_eq!(keys(&s, "/$defs/opinion"), set(&[fields::OPINION]));
        assert_eq!(keys(&s, "/$defs/cannot"), set(&[fields::CANNOT]));
        assert_eq!(keys(&s, "/$defs/later"), set(&[fields::LATER]));
        assert_eq!(keys(&s, "/$defs/finding"), set(&[fields::FINDING]));
        assert_eq!(keys(&s, "/$defs/mark"), set(&[fields::MARK]));
        assert_eq!(keys(&s, "/$defs/undo"), set(&[fields::UNDO]));
        assert_eq!(keys(&s, "/$defs/aside"), set(&[fields::UNDO]));
        let facts: Vec<&str> = Fact::ALL.iter().map(|f| f.id()).collect();
        assert_eq!(keys(&s, "/$defs/told"), set(&[facts.as_slice()]));
        for fact in Fact::ALL {
            let pointer = format!("/$defs/told/properties/{}", fact.id());
            assert_eq!(words(&s, &pointer), fact.states(), "{fact:?}");
        }
    }

    fn words(schema: &Value, pointer: &str) -> Vec<String> {
        let list = schema.pointer(&format!("{pointer}/enum")).unwrap();
        let list = list.as_array().unwrap().iter();
        list.filter_map(|v| v.as_str().map(str::to_owned)).collect()
    }

    fn same<T: Named>(schema: &Value, pointer: &str) {
        let known: Vec<&str> = T::all().iter().map(|v| v.word()).collect();
        assert_eq!(words(schema, pointer), known, "{pointer}");
    }

    #[test]
    fn the_schema_and_the_reader_know_the_same_words() {
        let s = schema();
        same::<Chamber>(&s, "/$defs/engine/properties/chamber");
        same::<PreheatKind>(&s, "/$defs/engine/properties/preheat");
        same::<Wiring>(&s, "/$defs/engine/properties/preheat_wiring");
        same::<PumpKind>(&s, "/$defs/engine/properties/pump");
        same::<Arrived>(&s, "/$defs/bench/properties/arrived");
        same::<CylinderOne>(&s, "/$defs/engine/properties/cylinder_one");
        same::<Repeat>(&s, "/$defs/reading/properties/repeat");
        same::<Sure>(&s, "/$defs/entry/properties/sure");
        same::<StartResult>(&s, "/$defs/start/properties/result");
        same::<Proof>(&s, "/$defs/finding/properties/proof");
        same::<Mark>(&s, "/$defs/mark/properties/state");
    }
}
