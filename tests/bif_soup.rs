//! Whatever bytes come, the reader of the interchange format answers with a network or with
//! problems that have a place; it never panics and never takes long.
//!
//! Three kinds of soup: any characters, the format's own words in any order, and a sound file with
//! a few bytes changed, cut out or doubled.

use hardstart::network::bif::{read, with_noisy_maxima, write};
use proptest::prelude::*;

const SOUND: [&str; 3] = [
    include_str!("../data/published/chest_clinic.bif"),
    include_str!("../data/published/burglary.bif"),
    include_str!("../data/published/umbrella.bif"),
];

/// Words and signs of the format.
const WORDS: [&str; 27] = [
    "network",
    "variable",
    "probability",
    "type",
    "discrete",
    "table",
    "default",
    "property",
    "{",
    "}",
    "(",
    ")",
    "[",
    "]",
    "|",
    ",",
    ";",
    "a",
    "b",
    "yes",
    "no",
    "2",
    "0.5",
    "1e-400",
    "-1",
    "\"x",
    "/*",
];

/// A network that can be used, or problems with places inside the text.
fn sane(text: &str) {
    match read(text) {
        Ok(bif) => {
            for variable in bif.network.variables() {
                let own = variable.states.len();
                for row in variable.local.init.chunks(own) {
                    let total: f64 = row.iter().sum();
                    assert!((total - 1.0).abs() < 1e-9, "{}: {total}", variable.name);
                }
            }
            let maxima = with_noisy_maxima(&bif.network);
            assert_eq!(maxima.variables().len(), bif.network.variables().len());
            // What was read can be written and read again.
            let again = read(&write(&bif.network, "again", &[]).0);
            assert!(again.is_ok(), "{again:?}");
        }
        Err(problems) => {
            assert!(!problems.is_empty());
            let lines = text.lines().count();
            for problem in problems {
                assert!(problem.line >= 1 && problem.line <= lines + 1, "{problem}");
                assert!(problem.column >= 1 && !problem.hint.is_empty(), "{problem}");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(
        std::env::var("PROPTEST_CASES").ok().and_then(|c| c.parse().ok()).unwrap_or(400)
    ))]

    #[test]
    fn any_characters(text in "(?s).{0,400}") {
        sane(&text);
    }

    #[test]
    fn any_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        sane(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn words_of_the_format_in_any_order(
        words in proptest::collection::vec(0..WORDS.len(), 0..120)
    ) {
        let words = words.into_iter().map(|w| WORDS[w]).collect::<Vec<_>>();
        sane(&words.join(" "));
    }

    #[test]
    fn a_sound_file_with_a_few_bytes_changed(
        which in 0..SOUND.len(),
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0..4_u8), 1..6)
    ) {
        let mut bytes = SOUND[which].as_bytes().to_vec();
        for (at, byte, kind) in changes {
            if bytes.is_empty() {
                break;
            }
            let at = at.index(bytes.len());
            match kind {
                0 => bytes[at] = byte,
                1 => { bytes.remove(at); }
                2 => bytes.insert(at, byte),
                _ => bytes.truncate(at),
            }
        }
        sane(&String::from_utf8_lossy(&bytes));
    }
}
