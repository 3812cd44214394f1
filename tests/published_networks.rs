//! The kernel against published answers of small networks (chest clinic, sprinkler, burglary,
//! winter, umbrella), each named beside its check.
//!
//! Printed values are asked for with half a unit in their last place; where a source prints few
//! digits, the long value (full-joint enumeration and two independent libraries agreeing to
//! 1e-12) is asked for as well. "Recalled" marks a printed figure that was not seen in print.

use hardstart::network::{
    Answers, Fold, KernelError, Lane, Network, Program, Request, Role, Seen, Slot, VarId, Variable,
};

/// Agreement with long values, which carry twelve digits.
const LONG: f64 = 1e-11;

/// A network of two-state variables, states `no` and `yes`.
#[derive(Default)]
struct Net {
    network: Network,
}

impl Net {
    /// Adds a variable; `yes` gives P(yes) for each joint state of the parents, the last parent
    /// fastest, `no` before `yes`.
    fn add(&mut self, name: &str, parents: &[&str], yes: &[f64]) -> &mut Self {
        let drivers = parents.iter().map(|p| self.id(p)).collect();
        let init = yes.iter().flat_map(|p| [1.0 - p, *p]).collect();
        self.network
            .add(Variable {
                name: name.to_owned(),
                states: vec!["no".into(), "yes".into()],
                role: Role::Part,
                local: Fold::table(drivers, init),
            })
            .expect("made to fit");
        self
    }

    fn id(&self, name: &str) -> VarId {
        self.network.find(name).expect("a known name")
    }

    /// Answers with hard evidence such as `A` or `!X` and soft likelihoods `[no, yes]`.
    fn ask(
        &self,
        hard: &str,
        soft: &[(&str, [f64; 2])],
        query: &[&str],
    ) -> Result<Answers, KernelError> {
        let mut slots = Vec::new();
        let mut inputs = Vec::new();
        for word in hard.split_whitespace() {
            let name = word.trim_start_matches('!');
            slots.push(Slot {
                scope: vec![self.id(name)],
                seen: Seen::Hard(usize::from(name == word)),
            });
        }
        for (name, likelihood) in soft {
            slots.push(Slot {
                scope: vec![self.id(name)],
                seen: Seen::Soft,
            });
            inputs.extend_from_slice(likelihood);
        }
        let request = Request {
            slots,
            queries: vec![query.iter().map(|q| self.id(q)).collect()],
            restarts: 2,
        };
        let program = Program::compile(&self.network, &request).expect("small");
        let bound = program.bind(&self.network.figures()).expect("same figures");
        let lane = Lane {
            inputs,
            log_scale: 0.0,
        };
        program.run(&bound, &[lane])[0].clone()
    }

    /// P(yes) of a variable given hard evidence.
    fn yes(&self, name: &str, given: &str) -> f64 {
        self.ask(given, &[], &[name]).expect("possible").chances[0][1]
    }

    /// P(evidence).
    fn weight(&self, given: &str) -> f64 {
        let first = self.network.variables()[0].name.clone();
        self.ask(given, &[], &[&first])
            .expect("possible")
            .log_evidence
            .exp()
    }
}

#[track_caller]
fn near(found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "found {found}, expected {expected}"
    );
}

/// Asks for several chances given one set of evidence.
#[track_caller]
fn table(net: &Net, given: &str, expected: &[(&str, f64)]) {
    for (name, chance) in expected {
        near(net.yes(name, given), *chance, LONG);
    }
}

/// Lauritzen & Spiegelhalter 1988, J. R. Statist. Soc. B 50(2): 157-224, tables as printed in
/// several listings of the R package gRain.
fn chest_clinic() -> Net {
    let mut net = Net::default();
    net.add("A", &[], &[0.01])
        .add("S", &[], &[0.5])
        .add("T", &["A"], &[0.01, 0.05])
        .add("L", &["S"], &[0.01, 0.10])
        .add("B", &["S"], &[0.30, 0.60])
        .add("E", &["T", "L"], &[0.0, 1.0, 1.0, 1.0])
        .add("X", &["E"], &[0.05, 0.98])
        .add("D", &["E", "B"], &[0.1, 0.8, 0.7, 0.9]);
    net
}

#[test]
fn chest_clinic_without_evidence_as_printed_by_grain() {
    let net = chest_clinic();
    // Joint of L and B, printed .0315 .0235 .4185 .5265 (yes yes, yes no, no yes, no no).
    let joint = net.ask("", &[], &["L", "B"]).unwrap().chances[0].clone();
    for (found, expected) in joint.iter().zip([0.5265, 0.4185, 0.0235, 0.0315]) {
        near(*found, expected, LONG);
    }
    near(net.weight(""), 1.0, LONG);
    // Lauritzen & Spiegelhalter 1988; long values by enumeration.
    table(
        &net,
        "",
        &[
            ("T", 0.0104),
            ("L", 0.055),
            ("B", 0.45),
            ("E", 0.064828),
            ("X", 0.11029004),
            ("D", 0.4359706),
        ],
    );
}

#[test]
fn chest_clinic_after_a_visit_and_dyspnoea_as_printed_by_grain() {
    let net = chest_clinic();
    // gRain prints P(e) .004501375, L .09952515, B .8114021.
    near(net.weight("A D"), 0.004501375, 1e-14);
    near(net.yes("L", "A D"), 0.09952515, 5e-9);
    near(net.yes("B", "A D"), 0.8114021, 5e-8);
    table(
        &net,
        "A D",
        &[
            ("L", 0.099525145095),
            ("B", 0.811402071589),
            ("T", 0.087750964983),
            ("S", 0.625919857821),
            ("E", 0.182299852823),
            ("X", 0.219538863125),
        ],
    );
    near(net.weight("A D S"), 0.0028175, 1e-14);
    table(
        &net,
        "A D S",
        &[
            ("L", 0.145519077196),
            ("B", 0.867258207631),
            ("T", 0.072759538598),
            ("X", 0.246232475599),
        ],
    );
}

#[test]
fn chest_clinic_other_evidence_as_two_libraries_find() {
    // Not published: enumeration, pyAgrum 3.3.1 and pgmpy 1.1.2 agree to 1e-12.
    let net = chest_clinic();
    table(
        &net,
        "D",
        &[
            ("T", 0.018845307459),
            ("L", 0.102759222755),
            ("B", 0.833967336330),
            ("S", 0.633996879606),
            ("X", 0.162098325896),
        ],
    );
    table(
        &net,
        "X",
        &[
            ("T", 0.092410883159),
            ("L", 0.488711401320),
            ("B", 0.506326156016),
            ("D", 0.640765969438),
        ],
    );
    table(
        &net,
        "A D X",
        &[
            ("T", 0.391711720008),
            ("L", 0.444270507755),
            ("B", 0.628821775974),
            ("S", 0.702025117211),
        ],
    );
    table(
        &net,
        "A D !X",
        &[
            ("T", 0.002248695312),
            ("L", 0.002550418987),
            ("B", 0.862760773047),
        ],
    );
    table(
        &net,
        "A !S D",
        &[
            ("T", 0.112834978843),
            ("L", 0.022566995769),
            ("B", 0.717942246307),
        ],
    );
    for (given, weight) in [
        ("D", 0.4359706),
        ("X", 0.11029004),
        ("A D X", 0.00098822675),
        ("A D !X", 0.00351314825),
        ("A !S D", 0.001683875),
        ("!A !S D X", 0.01485646965),
    ] {
        near(net.weight(given), weight, 1e-14);
    }
    // Equal chances beforehand, so the two diseases must come out the same.
    let (t, l) = (net.yes("T", "!A !S D X"), net.yes("L", "!A !S D X"));
    near(t, 0.248158552257, LONG);
    near(t, l, 1e-15);
    near(net.yes("B", "!A !S D X"), 0.567310841577, LONG);
}

#[test]
fn chest_clinic_with_likelihood_evidence_as_an_independent_library_finds() {
    // Not published: enumeration = pyAgrum 3.3.1.
    let net = chest_clinic();
    let soft = [("X", [0.3, 0.8])];
    let chance = |name| net.ask("", &soft, &[name]).unwrap().chances[0][1];
    near(chance("L"), 0.122344387653, LONG);
    near(chance("T"), 0.023134211484, LONG);
}

#[test]
fn states_that_cannot_meet_are_impossible_and_never_a_nan() {
    // E is T or L: both absent and E present contradict each other.
    let net = chest_clinic();
    for query in ["A", "D", "X", "B"] {
        let hard = net.ask("!T !L E", &[], &[query]);
        assert_eq!(hard, Err(KernelError::Impossible));
        let none = [1.0, 0.0];
        let soft = net.ask("E", &[("T", none), ("L", none)], &[query]);
        assert_eq!(soft, Err(KernelError::Impossible));
    }
    let nothing = net.ask("", &[("X", [0.0, 0.0])], &["A"]);
    assert_eq!(nothing, Err(KernelError::Impossible));
}

#[test]
fn sprinkler_as_in_murphys_tutorial() {
    // Murphy 1998/2001, "A brief introduction to graphical models": .430, .708, .1945.
    let mut net = Net::default();
    net.add("C", &[], &[0.5])
        .add("S", &["C"], &[0.5, 0.1])
        .add("R", &["C"], &[0.2, 0.8])
        .add("W", &["S", "R"], &[0.0, 0.9, 0.9, 0.99]);
    near(net.weight("W"), 0.6471, 1e-13);
    near(net.yes("S", "W"), 0.430, 5e-4);
    near(net.yes("S", "W"), 0.2781 / 0.6471, 1e-13);
    near(net.yes("R", "W"), 0.708, 5e-4);
    near(net.yes("R", "W"), 0.4581 / 0.6471, 1e-13);
    near(net.yes("S", "W R"), 0.1945, 5e-5);
    near(net.yes("S", "W R"), 0.194499017682, LONG);
    near(net.yes("C", "W"), 0.575799721836, LONG);
}

#[test]
fn burglary_as_in_russell_and_norvig() {
    // Russell & Norvig, Artificial Intelligence, chapter 14: .284, .00059224, .0014919, .000628.
    let mut net = Net::default();
    net.add("B", &[], &[0.001])
        .add("E", &[], &[0.002])
        .add("A", &["B", "E"], &[0.001, 0.29, 0.94, 0.95])
        .add("J", &["A"], &[0.05, 0.9])
        .add("M", &["A"], &[0.01, 0.7]);
    near(net.yes("B", "J M"), 0.284, 5e-4);
    near(net.yes("B", "J M"), 0.284171835364, LONG);
    near(net.weight("B J M"), 0.00059224, 5e-9);
    near(net.weight("B J M"), 0.00059224259, 5e-15);
    near(net.weight("!B J M"), 0.0014919, 5e-8);
    near(net.weight("!B J M"), 0.001491857649, 5e-13);
    near(net.weight("J M A !B !E"), 0.000628, 5e-7);
    near(net.weight("J M A !B !E"), 0.00062811126, 5e-15);
    near(net.yes("J", "B"), 0.84902, 5e-6);
    table(
        &net,
        "",
        &[
            ("A", 0.002516442),
            ("J", 0.0521389757),
            ("M", 0.01173634498),
        ],
    );
    for (name, given, expected) in [
        ("B", "J", 0.016283729947),
        ("B", "M", 0.056117454039),
        ("B", "A", 0.373551228282),
        ("B", "A E", 0.003268423588),
        ("B", "J !M", 0.005129858133),
        ("E", "J M", 0.176066838405),
        ("A", "J M", 0.760692038863),
    ] {
        near(net.yes(name, given), expected, LONG);
    }
}

#[test]
fn winter_network_marginals() {
    // Tables recalled from Darwiche 2009, Modeling and Reasoning with Bayesian Networks; the
    // chances follow by hand: B = .6 * .2 + .4 * .75, and so on.
    let mut net = Net::default();
    net.add("A", &[], &[0.6])
        .add("B", &["A"], &[0.75, 0.2])
        .add("C", &["A"], &[0.1, 0.8])
        .add("D", &["B", "C"], &[0.0, 0.8, 0.9, 0.95])
        .add("E", &["C"], &[0.0, 0.7]);
    table(
        &net,
        "",
        &[
            ("A", 0.6),
            ("B", 0.42),
            ("C", 0.52),
            ("D", 0.6995),
            ("E", 0.364),
        ],
    );
    near(net.yes("C", "A !E"), 0.24 / 0.44, 1e-13);
}

/// Umbrella days: rain today given rain the day before, umbrella given rain.
fn umbrella(days: usize) -> Net {
    let mut net = Net::default();
    net.add("R0", &[], &[0.5]);
    for day in 1..=days {
        let before = format!("R{}", day - 1);
        let rain = format!("R{day}");
        net.add(&rain, &[&before], &[0.3, 0.7]);
        net.add(&format!("U{day}"), &[&rain], &[0.2, 0.9]);
    }
    net
}

#[test]
fn umbrella_filtering_and_smoothing_as_in_russell_and_norvig() {
    // Russell & Norvig, chapter 15; the printed .883 of smoothing and filtering is recalled, the
    // six digits follow from the two-state recursion.
    let given = ["U1", "U2", "!U3", "U4", "U5"];
    let filtered = [0.818182, 0.883357, 0.190668, 0.730794, 0.867339];
    for (day, expected) in filtered.iter().enumerate() {
        let net = umbrella(day + 1);
        let rain = format!("R{}", day + 1);
        near(net.yes(&rain, &given[..=day].join(" ")), *expected, 5e-7);
    }
    near(umbrella(2).yes("R1", "U1 U2"), 0.883357, 5e-7);
    // Smoothing does not depend on which variables of the future are in the network.
    let long = umbrella(5).yes("R1", "U1 U2");
    near(umbrella(2).yes("R1", "U1 U2"), long, 1e-14);
}

#[test]
fn a_test_with_prevalence_as_in_eddy_and_gigerenzer() {
    // Eddy 1982 ("7.8 %"); Gigerenzer ("about 1 in 10"); .29301854 of a statistics text; all by
    // Bayes' rule p s / (p s + (1 - p) f).
    let screen = |p: f64, sensitivity: f64, false_alarm: f64| {
        let mut net = Net::default();
        net.add("ill", &[], &[p])
            .add("positive", &["ill"], &[false_alarm, sensitivity]);
        net
    };
    for (p, s, f, expected) in [
        (0.01, 0.80, 0.096, 0.077640),
        (0.01, 0.79, 0.096, 0.076744),
        (0.01, 0.90, 0.09, 0.091743),
        (0.008, 0.90, 0.07, 0.093946),
        (0.0238, 0.85, 0.05, 0.293019),
        (0.005, 0.95, 0.01, 0.323129),
        (0.08, 0.75, 0.04, 0.619835),
    ] {
        near(screen(p, s, f).yes("ill", "positive"), expected, 5e-7);
    }
    near(
        screen(0.0238, 0.85, 0.05).yes("ill", "positive"),
        0.29301854,
        5e-9,
    );
    near(
        1.0 - screen(0.08, 0.75, 0.04).yes("ill", "!positive"),
        0.977857,
        5e-7,
    );
}

#[test]
fn alarm_with_hard_and_virtual_evidence_as_in_pearl() {
    // Pearl 1988, section 2.1 (.00941); virtual evidence 4:1 (3.74e-4, recalled from Chan &
    // Darwiche 2005), long values by enumeration = an independent library.
    let mut net = Net::default();
    net.add("burglary", &[], &[1e-4])
        .add("alarm", &["burglary"], &[0.01, 0.95]);
    near(net.yes("burglary", "alarm"), 0.00941, 5e-6);
    near(net.yes("burglary", "alarm"), 0.009411531603, 5e-13);
    let soft = |no: f64, yes: f64, query: &str| {
        net.ask("", &[("alarm", [no, yes])], &[query])
            .unwrap()
            .chances[0][1]
    };
    near(soft(1.0, 4.0, "burglary"), 3.74e-4, 5e-7);
    near(soft(1.0, 4.0, "burglary"), 3.736840981e-4, 5e-14);
    near(soft(1.0, 4.0, "alarm"), 0.0391892705, 5e-11);
    // Only the ratio of likelihoods counts.
    for (no, yes) in [(0.2, 0.8), (0.1, 0.4)] {
        near(soft(no, yes, "burglary"), soft(1.0, 4.0, "burglary"), 1e-15);
        near(soft(no, yes, "alarm"), soft(1.0, 4.0, "alarm"), 1e-15);
    }
}
