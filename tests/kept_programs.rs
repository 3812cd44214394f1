//! What is kept between commands changes no answer: not when it is there, damaged, or cannot be kept.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const PROGRAM: &str = env!("CARGO_BIN_EXE_hardstart");
const JOB: &str = "examples/jobs/tb-10-two-at-once.toml";

/// What the program says, keeping programs in `cache`.
fn says(command: &str, cache: impl AsRef<OsStr>) -> String {
    let output = Command::new(PROGRAM)
        .args([command, JOB, "--json"])
        .env("HARDSTART_CACHE", cache)
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && told.is_empty(), "{told}");
    String::from_utf8(output.stdout).unwrap()
}

/// Files kept, over all versions.
fn kept(cache: &Path) -> Vec<PathBuf> {
    let versions = fs::read_dir(cache).unwrap();
    let files = versions.flat_map(|v| fs::read_dir(v.unwrap().path()).unwrap());
    files.map(|f| f.unwrap().path()).collect()
}

#[test]
fn the_same_is_said_without_with_and_with_damaged_programs() {
    let place = tempfile::tempdir().unwrap();
    let cache = place.path().join("programs");
    for command in ["causes", "next"] {
        let plain = says(command, "off");
        assert!(!cache.exists() || command == "next", "off, and yet kept");
        assert_eq!(says(command, &cache), plain, "made and kept");
        let files = kept(&cache);
        assert!(!files.is_empty(), "nothing was kept");
        assert_eq!(says(command, &cache), plain, "taken from the shelf");
        for file in &files {
            let mut bytes = fs::read(file).unwrap();
            let middle = bytes.len() / 2;
            bytes[middle] ^= 0x55;
            fs::write(file, bytes).unwrap();
        }
        assert_eq!(says(command, &cache), plain, "damaged");
        for file in &files {
            fs::write(file, b"").unwrap();
        }
        assert_eq!(says(command, &cache), plain, "empty");
    }
}

#[test]
fn where_nothing_can_be_kept_the_same_is_said_in_silence() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("a file, no directory");
    fs::write(&file, "mine").unwrap();
    assert_eq!(says("causes", &file), says("causes", "off"));
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn a_kept_program_is_used_and_no_job_is_in_it() {
    let place = tempfile::tempdir().unwrap();
    let cache = place.path().join("programs");
    says("causes", &cache);
    let written = |path: &PathBuf| fs::metadata(path).unwrap().modified().unwrap();
    let before = kept(&cache).iter().map(written).collect::<Vec<_>>();
    says("causes", &cache);
    let after = kept(&cache).iter().map(written).collect::<Vec<_>>();
    assert_eq!(before, after, "made again although it was there");
    let job = fs::read_to_string(JOB).unwrap();
    let words = job.split(|c: char| !c.is_alphanumeric());
    // What the figures say of every engine is kept too.
    let figures = hardstart::knowledge::KnowledgeFiles::built_in().files;
    let own = |w: &&str| w.len() > 4 && !figures.iter().any(|f| f.text.contains(w));
    let words = words.filter(own).collect::<Vec<_>>();
    assert!(!words.is_empty());
    for file in kept(&cache) {
        let bytes = fs::read(file).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        assert!(words.iter().all(|w| !text.contains(w)), "a word of the job");
    }
}
