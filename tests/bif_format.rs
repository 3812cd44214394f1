//! Networks as text: what is read, what is told about broken files, and that writing and
//! reading change no answer. Constructed here; the oracle is `network::enumerate`.

mod random_networks;

use hardstart::network::bif::{Problem, Virtual, read, with_noisy_maxima, write};
use hardstart::network::enumerate::{Likelihood, enumerate};
use hardstart::network::{Fold, Lane, Network, Program, Request, Seen, Slot, Step, VarId};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Every way of writing rows that the format knows.
const GARDEN: &str = r#"// sprinkler, after Murphy 1998
network "garden" { property author nobody; property "any; thing"; }
variable wet { type discrete[2] { no, yes }; property position = (1, 2); }
variable rain { type discrete [ 2 ] { no yes }; }
/* clouds come
   first in time, not in the file */
variable cloudy { type discrete [2] { "clear sky", <10 }; }
variable sprinkler { type discrete [ 2 ] = { no, yes }; }
probability ( wet | sprinkler, rain ) {
  default 0.1, 0.9;
  (yes, yes) 0.01 0.99;
  (no, no) 1.0, 0.0;
}
probability ( sprinkler | cloudy ) { table 0.5, 0.9, 0.5, 0.1; }
probability ( rain | cloudy ) {
  property of = rows;
  (<10) 2e-1, 8.0E-1;
  ("clear sky") 0.8, 0.2;
}
probability ( cloudy ) { table 0.5, 0.5; }
"#;

fn problems(text: &str) -> Vec<Problem> {
    read(text).expect_err("a broken file")
}

#[test]
fn every_way_of_writing_rows_is_read() {
    let bif = read(GARDEN).expect("a sound file");
    assert_eq!(bif.name, "garden");
    let network = &bif.network;
    let table = |name: &str| {
        let id = network.find(name).expect("a known name");
        network.variable(id).local.init.clone()
    };
    assert_eq!(table("cloudy"), [0.5, 0.5]);
    assert_eq!(table("rain"), [0.8, 0.2, 0.2, 0.8]);
    // A whole table has the child slowest: both states of the parent for `no` come first.
    assert_eq!(table("sprinkler"), [0.5, 0.5, 0.9, 0.1]);
    assert_eq!(table("wet"), [1.0, 0.0, 0.1, 0.9, 0.1, 0.9, 0.01, 0.99]);
    let wet = network.find("wet").expect("a known name");
    // .6471: Murphy's tutorial.
    let (_, weights) = enumerate(network, &[], &[vec![wet]]);
    assert!((weights[0][1] - 0.6471).abs() < 1e-12);
}

#[test]
fn a_whole_table_with_the_child_fastest_is_told_by_its_sums() {
    let text = GARDEN.replace("table 0.5, 0.9, 0.5, 0.1", "table 0.7, 0.3, 0.9, 0.1");
    let bif = read(&text).expect("a sound file");
    let sprinkler = bif.network.find("sprinkler").expect("a known name");
    assert_eq!(
        bif.network.variable(sprinkler).local.init,
        [0.7, 0.3, 0.9, 0.1]
    );
}

#[test]
fn rows_that_were_rounded_are_brought_to_one() {
    let bif = read(
        "variable a { type discrete [3] { x, y, z }; } probability (a) { table .333 .333 .333; }",
    );
    let network = bif.expect("a sound file").network;
    let third = network.variables()[0].local.init[0];
    assert!((third - 1.0 / 3.0).abs() < 1e-15);
}

#[test]
fn all_problems_of_a_file_are_told_with_their_place() {
    let text = GARDEN
        .replace("(yes, yes) 0.01 0.99", "(yes, maybe) 0.01 0.99")
        .replace("2e-1, 8.0E-1", "2e-1, 9.0E-1")
        .replace("probability ( cloudy )", "probability ( clowdy )");
    let told = problems(&text);
    let lines = told.iter().map(|p| (p.line, p.column)).collect::<Vec<_>>();
    assert_eq!(lines, [(7, 10), (11, 9), (17, 3), (20, 15)], "{told:#?}");
    assert!(told[1].what.contains("`rain` has no state `maybe`"));
    assert!(told[1].hint.contains("no, yes"));
    assert!(told[2].what.contains("adds to 1.1"));
    assert!(told[3].what.contains("no variable is called `clowdy`"));
}

#[test]
fn broken_files_are_told_about() {
    let cases = [
        ("", "no network"),
        ("network a {", "the file ends"),
        ("variable a { type continuous; }", "`discrete` is wanted"),
        (
            "variable a { type discrete [3] { x, y }; }",
            "2 states are listed, not 3",
        ),
        ("variable a { type discrete [2] { x, x }; }", "twice"),
        (
            "variable a { type discrete [1] { x }; }",
            "`a` has no chances",
        ),
        (
            "variable a { type discrete [1] { x }; } probability (a) { table 2; }",
            "adds to 2",
        ),
        (
            "variable a { type discrete [1] { x }; } probability (a) { table NaN; }",
            "a chance",
        ),
        (
            "variable a { type discrete [1] { x }; } probability (a) { }",
            "1 of 1 rows",
        ),
        (
            "variable a { type discrete [1] { x }; } probability (a | a) { default 1; }",
            "circle",
        ),
        ("/* variable", "does not end"),
        ("edge a -> b", "starts no block"),
    ];
    for (text, what) in cases {
        let told = problems(text);
        assert!(
            told.iter().any(|p| p.what.contains(what)),
            "{text}: {told:#?}"
        );
        assert!(
            told.iter()
                .all(|p| p.line >= 1 && p.column >= 1 && !p.hint.is_empty())
        );
    }
}

/// A chance row of random positive figures.
fn positive(random: &mut ChaCha8Rng, width: usize) -> Vec<f64> {
    let row = (0..width).map(|_| 0.05 + random.random::<f64>());
    let row = row.collect::<Vec<_>>();
    let total: f64 = row.iter().sum();
    row.into_iter().map(|c| c / total).collect()
}

#[test]
fn a_noisy_maximum_is_found_in_its_table_and_a_near_miss_is_not() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    for _ in 0..100 {
        let mut network = Network::new();
        let own = random.random_range(2..=4);
        let add = |network: &mut Network, name: String, size: usize, local: Fold| {
            let states = (0..size).map(|s| format!("s{s}")).collect();
            let role = hardstart::network::Role::Part;
            let variable = hardstart::network::Variable {
                name,
                states,
                role,
                local,
            };
            network.add(variable).expect("made to fit")
        };
        let from = (0..random.random_range(2..=4))
            .map(|n| {
                let size = random.random_range(2..=3);
                let local = Fold::table(vec![], positive(&mut random, size));
                let parent = add(&mut network, format!("cause{n}"), size, local);
                // A maximum is noisy when each parent has a state that adds nothing.
                let silent = (0..own).map(|s| f64::from(u8::from(s == 0)));
                let rows = silent.chain((1..size).flat_map(|_| positive(&mut random, own)));
                let rows = rows.collect();
                hardstart::network::Contribution { parent, rows }
            })
            .collect();
        let local = Fold {
            drivers: vec![],
            init: positive(&mut random, own),
            step: Step::Worst,
            from,
        };
        let sign = add(&mut network, "sign".into(), own, local);
        let (text, _) = write(&network, "net", &[]);
        let plain = read(&text).expect("what was written").network;
        let folded = with_noisy_maxima(&plain);
        assert!(!folded.variable(sign).local.from.is_empty(), "found");
        let all = (0..=sign.0).map(|v| vec![VarId(v)]).collect::<Vec<_>>();
        let before = enumerate(&plain, &[], &all).1;
        let after = enumerate(&folded, &[], &all).1;
        for (b, a) in before.iter().flatten().zip(after.iter().flatten()) {
            assert!((a - b).abs() < 1e-12, "{a} {b}");
        }
        // The last row is never a base, so a table bent there is no maximum any more.
        let mut bent = plain.variable(sign).local.init.clone();
        let last = bent.len() - 1;
        let moved = bent[last] * 1e-6;
        bent[last] -= moved;
        bent[last - 1] += moved;
        let mut near = plain.clone();
        near.set_init(sign, bent).expect("still adds to one");
        let folded = with_noisy_maxima(&near);
        assert_eq!(folded.variable(sign).local, near.variable(sign).local);
    }
}

/// P(evidence) and the chances of the original variables of a network read back.
fn kernel(network: &Network, slots: Vec<Slot>, queries: usize) -> Option<(f64, Vec<Vec<f64>>)> {
    let request = Request {
        slots,
        queries: (0..queries as u32).map(|v| vec![VarId(v)]).collect(),
        restarts: 0,
    };
    let program = Program::compile(network, &request).expect("small");
    let bound = program.bind(&network.figures()).expect("same figures");
    let answer = program.run(&bound, &[Lane::default()])[0].clone();
    answer.ok().map(|a| (a.log_evidence.exp(), a.chances))
}

/// Adds parents until the table of the last variable is too large to be written whole.
fn with_a_long_fold(random: &mut ChaCha8Rng) -> Network {
    let mut network = Network::new();
    for n in 0..9 {
        network
            .add(hardstart::network::Variable {
                name: format!("cause:{n}"),
                states: vec!["0".into(), "1".into(), "1 ".into()],
                role: hardstart::network::Role::Part,
                local: Fold::table(vec![], vec![0.5, 0.25, 0.25]),
            })
            .expect("made to fit");
    }
    let from = (0..9)
        .map(|n| hardstart::network::Contribution {
            parent: VarId(n),
            rows: (0..3)
                .flat_map(|_| {
                    let p = random.random::<f64>();
                    [1.0 - p, p]
                })
                .collect(),
        })
        .collect();
    network
        .add(hardstart::network::Variable {
            name: "sign@1".into(),
            states: vec!["no".into(), "yes".into()],
            role: hardstart::network::Role::Sign,
            local: Fold {
                drivers: vec![],
                init: vec![0.9, 0.1],
                step: Step::Worst,
                from,
            },
        })
        .expect("made to fit");
    network
}

#[test]
fn a_fold_too_large_for_one_table_is_written_as_a_chain() {
    let network = with_a_long_fold(&mut ChaCha8Rng::seed_from_u64(3));
    let (text, names) = write(&network, "9 causes", &[]);
    assert_eq!(names[9], "sign_1");
    let again = read(&text).expect("what was written");
    assert_eq!(again.name, "x9_causes");
    assert_eq!(again.network.variables().len(), 10 + 9);
    let sign = again.network.find("sign_1").expect("a known name");
    let seen = |v: VarId| Slot {
        scope: vec![v],
        seen: Seen::Hard(1),
    };
    let before = kernel(&network, vec![seen(VarId(9))], 9).expect("possible");
    let after = kernel(&again.network, vec![seen(sign)], 9).expect("possible");
    assert!((before.0 - after.0).abs() < 1e-14);
    for (b, a) in before.1.iter().flatten().zip(after.1.iter().flatten()) {
        assert!((a - b).abs() < 1e-12);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn plain_tables_come_back_bit_by_bit(seed in any::<u64>()) {
        let network = random_networks::network(&mut ChaCha8Rng::seed_from_u64(seed));
        let (text, _) = write(&network, "net", &[]);
        let once = read(&text).expect("what was written").network;
        let (text, _) = write(&once, "net", &[]);
        let twice = read(&text).expect("what was written").network;
        prop_assert_eq!(once.variables(), twice.variables());
    }

    #[test]
    fn written_networks_with_readings_give_the_same_answers(seed in any::<u64>()) {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let network = random_networks::network(&mut random);
        let count = network.variables().len();
        let queries = (0..count as u32).map(|v| vec![VarId(v)]).collect::<Vec<_>>();
        let scope = vec![VarId(1), VarId(0)];
        let cells = network.size(VarId(0)) * network.size(VarId(1));
        let values = (0..cells).map(|_| 40.0 * random.random::<f64>()).collect::<Vec<_>>();
        let likelihood = Likelihood { scope: scope.clone(), values: values.clone() };
        let (total, weights) = enumerate(&network, &[likelihood], &queries);
        let reading = Virtual { name: "gauge".into(), scope, values };
        let (text, names) = write(&network, "net", &[reading]);
        let again = read(&text).expect("what was written").network;
        let seen = again.find(names.last().expect("the reading")).expect("a known name");
        let slots = vec![Slot { scope: vec![seen], seen: Seen::Hard(0) }];
        let (_, chances) = kernel(&again, slots, again.variables().len()).expect("possible");
        for (at, weights) in weights.iter().enumerate() {
            let id = again.find(&names[at]).expect("a known name");
            for (state, weight) in weights.iter().enumerate() {
                prop_assert!((chances[id.at()][state] - weight / total).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn byte_soup_never_panics(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn soup_of_the_formats_own_words_never_panics(
        words in proptest::collection::vec(proptest::sample::select(vec![
            "network", "variable", "probability", "type", "discrete", "table", "default",
            "property", "{", "}", "(", ")", "[", "]", ",", ";", "|", "a", "b", "2", "0.5", "\"", "/*", "*/",
        ]), 0..80)
    ) {
        let _ = read(&words.join(" "));
    }

    #[test]
    fn a_sound_file_cut_or_changed_anywhere_never_panics(at in 0..GARDEN.len(), byte in 32_u8..127) {
        let _ = read(&GARDEN[..at]);
        let mut bytes = GARDEN.as_bytes().to_vec();
        bytes[at] = byte;
        let _ = read(&String::from_utf8_lossy(&bytes));
    }
}
