//! A small valid set of knowledge files for the tests of the rules. Must not be used elsewhere.

use crate::knowledge::files::{KnowledgeFile, KnowledgeFiles};
use crate::knowledge::load::load;

const HEAD: &str = "format = 1\n";
const DEFAULTS: &str = "[defaults]\nsource = \"own judgement\"\nstrength = 10.0\n";

const PARTS: &str = r#"
[[part]]
id = "relay"
label = "relay"
scope = "engine"
[[part.fault]]
id = "burnt"
code = "P06"
label = "burnt contacts"
mechanism = "drops volts"
[[part]]
id = "spare"
label = "spare"
scope = "engine"
given = "relay"
given_rows = { burnt = [0.2] }
[[part.fault]]
id = "bad"
code = "P07"
label = "bad"
mechanism = "is bad"
"#;

const FUNCTIONS: &str = r#"
[[function]]
id = "feed"
label = "volts at the strip"
scope = "engine"
states = ["full", "none"]
fold = "worst"
leak = [0.99, 0.01]
from = [{ var = "relay", state = "burnt", gives = [0.1, 0.9] }]
"#;

const SIGNS: &str = r#"
[[sign]]
id = "smoke"
code = "S03"
label = "smoke"
look = "look"
when = "start"
states = ["no", "white"]
drivers = ["feed"]
row = [{ given = { feed = ["none"] }, chance = [0.2, 0.8] }, { chance = [0.7, 0.3] }]
link = [{ var = "spare", state = "bad", speaks = 0.5, says = { white = 1.0 } }]
"#;

const CHECKS: &str = r#"
[[access]]
id = "covers"
code = "A1"
label = "covers off"
minutes = 10.0
stays_open = true
[[access]]
id = "plugs_out"
code = "A4"
label = "plugs out"
minutes = 60.0
after = ["covers"]
stays_open = false
hazards = ["plug_removal"]
[[tool]]
id = "multimeter"
label = "meter"
[[hazard]]
id = "plug_removal"
text = "A plug snaps."
[[hazard]]
id = "fuel_injection"
text = "Fuel pierces skin."
[[check]]
id = "relay_lamp"
code = "T04"
label = "Hold a lamp on the relay"
system = "preheat"
per = "engine"
kind = "states"
looks_at = ["relay"]
states = ["bright", "off"]
row = [{ given = { relay = ["burnt"] }, chance = [0.1, 0.9] }, { chance = [0.95, 0.05] }]
copies = 0.6
minutes = 2.0
access = ["plugs_out"]
tools = [["multimeter"]]
cold = "keeps"
hazards = ["plug_removal"]
how = ["Look.", "Hold.", "Write."]
[[check]]
id = "relay_drop"
code = "T06"
label = "Measure the drop"
system = "preheat"
per = "engine"
kind = "number"
looks_at = ["relay"]
quantity = "voltage"
unit = "V"
law = "normal"
bounds = [0.2]
bound_names = ["ordinary", "much"]
row = [{ given = { relay = ["burnt"] }, mean = 2.0, sd = 1.5 }, { mean = 0.1, sd = 0.05 }]
copies = 0.6
minutes = 2.0
cold = "keeps"
how = ["Look.", "Hold.", "Write."]
"#;

const REPAIRS: &str = r#"
[[repair]]
id = "replace_relay"
label = "Fit a relay"
system = "preheat"
per = "engine"
fixes = [{ fault = "relay.burnt", surely = 0.98 }]
bad_new = 0.02
minutes = 15.0
parts_cost = 4.0
verify = "Volts are back."
[[repair]]
id = "replace_spare"
label = "Fit a spare"
system = "preheat"
per = "engine"
fixes = [{ fault = "spare.bad", surely = 1.0 }]
bad_new = 0.02
minutes = 15.0
parts_cost = 4.0
verify = "It is good."
"#;

const WORDS: &str = "[[word]]\nword = \"glow relay\"\nmeans = \"relay\"\n";

fn text(name: &str, built_in: &str) -> String {
    let file = |body: &str| format!("{HEAD}{DEFAULTS}{body}");
    match name {
        "preheat.toml" => format!("{HEAD}system = \"preheat\"\n{DEFAULTS}{PARTS}"),
        "functions.toml" => file(FUNCTIONS),
        // Figures of starts without the signs and without what speaks for the complaint.
        "starts.toml" => {
            let head = built_in.split("[start.complaint]").next().unwrap_or("");
            format!("{head}[start.complaint]\nleak = 0.004\nlink = []\n{SIGNS}")
        }
        "engines.toml" => built_in.to_owned(),
        "checks.toml" => file(CHECKS),
        "repairs.toml" => file(REPAIRS),
        "vocabulary.toml" => file(WORDS),
        "roots.toml" => format!("{HEAD}roots = {{}}\n{DEFAULTS}"),
        system => {
            let system = system.trim_end_matches(".toml");
            format!("{HEAD}system = \"{system}\"\npart = []\n{DEFAULTS}")
        }
    }
}

fn set() -> KnowledgeFiles {
    let files = KnowledgeFiles::built_in().files;
    let files = files.into_iter().map(|f| KnowledgeFile {
        text: text(&f.name, &f.text),
        name: f.name,
    });
    KnowledgeFiles {
        files: files.collect(),
    }
}

/// The sample with `from` changed `to` in one file; each problem as its rule and the text it
/// points at.
pub(super) fn found(file: &str, from: &str, to: &str) -> Vec<(&'static str, String)> {
    let mut files = set();
    let target = files.files.iter_mut().find(|f| f.name == file);
    let target = target.expect("a file of the set");
    assert!(target.text.contains(from), "{from} is not in {file}");
    target.text = target.text.replacen(from, to, 1);
    let Err(errors) = load(&files) else {
        return Vec::new();
    };
    let place = |p: &crate::knowledge::problem::Problem| {
        let text = files.text(&p.file).unwrap_or("");
        text.get(p.span.clone()).unwrap_or("").to_owned()
    };
    errors.problems.iter().map(|p| (p.rule, place(p))).collect()
}

/// Asserts that the change makes exactly one problem, of that rule, pointing at that text.
pub(super) fn one(file: &str, from: &str, to: &str, rule: &str, at: &str) {
    assert_eq!(found(file, from, to), [(rule, at.to_owned())]);
}

#[test]
fn the_sample_itself_is_in_order() {
    assert_eq!(found("checks.toml", "covers off", "covers off"), []);
}
