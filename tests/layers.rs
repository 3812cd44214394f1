//! The rooms of the library and their order, read from the source.
//!
//! A room uses only rooms to its left; files stay short, say what they are for, and are not
//! named after nothing.

use std::path::{Path, PathBuf};

/// Rooms in layer order; the last two stand beside each other.
const ROOMS: [&str; 14] = [
    "units",
    "knowledge",
    "network",
    "job",
    "evidence",
    "diagnosis",
    "planning",
    "exchange",
    "learning",
    "scoring",
    "selftest",
    "report",
    "cli",
    "web",
];

/// Longest a file may be, in lines.
const LONGEST: usize = 500;

/// Names that say nothing about what a file holds.
const NAMELESS: [&str; 10] = [
    "util", "utils", "helper", "helpers", "manager", "managers", "data", "common", "misc", "types",
];

fn files(directory: &Path, found: &mut Vec<PathBuf>) {
    let mut entries = std::fs::read_dir(directory)
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect::<Vec<_>>();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

fn sources(of: &[&str]) -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    of.iter().for_each(|d| files(&root.join(d), &mut found));
    let named = found.into_iter().map(|path| {
        let name = path
            .strip_prefix(root)
            .unwrap()
            .to_str()
            .unwrap()
            .to_owned();
        (name, std::fs::read_to_string(path).unwrap())
    });
    named.collect()
}

/// Names that follow `crate::` in code; comments may speak of any room.
fn used(text: &str) -> Vec<(usize, String)> {
    let mut used = Vec::new();
    for (at, line) in text.lines().enumerate() {
        if line.trim_start().starts_with("//") {
            continue;
        }
        for after in line.split("crate::").skip(1) {
            let name = after
                .chars()
                .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
                .collect::<String>();
            // `use crate::{a::X, b::Y};` on one line.
            if let Some(list) = after.strip_prefix('{') {
                let inner = list.split([',', '}']).map(|p| p.trim().split("::").next());
                used.extend(inner.flatten().map(|n| (at + 1, n.to_owned())));
            } else {
                used.push((at + 1, name));
            }
        }
    }
    used
}

#[test]
fn a_room_uses_only_rooms_to_its_left() {
    let place = |room: &str| ROOMS.iter().position(|r| *r == room);
    let mut wrong = Vec::new();
    let mut looked_at = 0;
    for (name, text) in sources(&["src"]) {
        let room = name
            .split('/')
            .nth(1)
            .unwrap()
            .trim_end_matches(".rs")
            .to_owned();
        if matches!(room.as_str(), "lib" | "main") {
            continue;
        }
        let Some(own) = place(&room) else {
            wrong.push(format!("{name}: no such room in the layer order"));
            continue;
        };
        for (line, other) in used(&text) {
            looked_at += 1;
            let beside = own >= place("cli").unwrap() && other != room;
            match place(&other) {
                Some(at) if at > own || (beside && at >= place("cli").unwrap()) => {
                    wrong.push(format!("{name}:{line}: {room} uses {other}"));
                }
                _ => {}
            }
        }
    }
    assert!(
        looked_at > 50,
        "the reading of `use` lines is broken: {looked_at}"
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn rooms_stand_in_layer_order_in_the_library() {
    let lib = sources(&["src"])
        .into_iter()
        .find(|(n, _)| n == "src/lib.rs")
        .unwrap()
        .1;
    let places = lib
        .lines()
        .filter_map(|l| l.strip_prefix("pub mod ")?.strip_suffix(';'))
        .map(|m| {
            ROOMS
                .iter()
                .position(|r| *r == m)
                .unwrap_or_else(|| panic!("no room {m}"))
        })
        .collect::<Vec<_>>();
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn no_file_is_long() {
    for (name, text) in sources(&["src", "tests", "examples"]) {
        let lines = text.lines().count();
        assert!(lines <= LONGEST, "{name} has {lines} lines");
    }
}

#[test]
fn every_file_opens_by_saying_what_it_is_for() {
    for (name, text) in sources(&["src", "tests", "examples"]) {
        assert!(text.starts_with("//!"), "{name} does not open with `//!`");
    }
}

#[test]
fn no_file_is_named_after_nothing() {
    for (name, _) in sources(&["src", "tests", "examples"]) {
        for part in name.trim_end_matches(".rs").split('/') {
            assert!(!NAMELESS.contains(&part), "{name}");
        }
    }
}

/// `scoring` had no row for a while.
#[test]
fn every_room_has_a_row_in_the_map_for_developers() {
    let map = std::fs::read_to_string("DEVELOPERS.md").expect("the map for developers");
    for room in ROOMS {
        assert!(
            map.contains(&format!("\n| `{room}` | ")),
            "no row for {room}"
        );
    }
}
