//! The README as a test: its commands run, and its job files are read.

use std::process::Command;

use hardstart::job::read_toml;
use hardstart::knowledge::{KnowledgeFiles, load};

const README: &str = include_str!("../README.md");

/// Bodies of fenced blocks in one of some languages.
fn blocks(languages: &[&str]) -> Vec<String> {
    let mut found = Vec::new();
    let mut open: Option<String> = None;
    for line in README.lines() {
        if let Some(language) = line.strip_prefix("```") {
            match open.take() {
                Some(body) => found.push(body),
                None if languages.contains(&language) => open = Some(String::new()),
                // A block in another language: taken and thrown away.
                None => open = Some("\u{0}".to_owned()),
            }
        } else if let Some(body) = &mut open {
            body.push_str(line);
            body.push('\n');
        }
    }
    found.retain(|b| !b.starts_with('\u{0}'));
    found
}

/// Arguments of every call of the program in the README.
fn calls() -> Vec<Vec<String>> {
    let mut calls = Vec::new();
    for block in blocks(&["sh", "console"]) {
        for line in block.lines() {
            let line = line
                .trim_start_matches("$ ")
                .split('#')
                .next()
                .unwrap_or("")
                .trim();
            let arguments = line
                .strip_prefix("hardstart ")
                .or_else(|| line.strip_prefix("cargo run --release -- "));
            if let Some(arguments) = arguments {
                calls.push(arguments.split_whitespace().map(str::to_owned).collect());
            }
        }
    }
    calls
}

#[test]
fn every_command_runs() {
    let calls = calls();
    assert!(calls.len() >= 3, "{calls:?}");
    // The job written by hand in the README stands where its commands look for it.
    let directory = tempfile::tempdir().unwrap();
    std::fs::write(directory.path().join("job.toml"), &blocks(&["toml"])[0]).unwrap();
    let root = env!("CARGO_MANIFEST_DIR");
    for call in calls {
        let arguments = call.iter().map(|a| {
            if a.starts_with("examples/") {
                format!("{root}/{a}")
            } else {
                a.clone()
            }
        });
        let out = Command::new(env!("CARGO_BIN_EXE_hardstart"))
            .args(arguments)
            .current_dir(directory.path())
            .output()
            .unwrap();
        assert!(
            out.status.success(),
            "{call:?}: {}",
            String::from_utf8_lossy(&out.stderr)
        );
        assert!(!out.stdout.is_empty(), "{call:?} says nothing");
    }
}

#[test]
fn every_job_file_is_read() {
    let knowledge = load(&KnowledgeFiles::built_in()).unwrap_or_else(|e| panic!("{e}"));
    let jobs = blocks(&["toml"]);
    assert!(!jobs.is_empty());
    for text in jobs {
        let parsed = read_toml(&text, "README.md", &knowledge).unwrap_or_else(|e| panic!("{e}"));
        assert!(parsed.notes.is_empty(), "{:?}", parsed.notes);
    }
}
