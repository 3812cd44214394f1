//! The program is killed (signal 9) at a hundred random moments while it writes: what it had
//! acknowledged is there, and nothing is there by halves.

use std::io::{BufRead, BufReader, Write as _};
use std::process::Stdio;
use std::time::Duration;

use hardstart::job::book::{Access, Book};
use rand::{RngExt, SeedableRng};

use crate::{book_with_a_job, knowledge, program};

const MOMENTS: u32 = 100;
const SEED: u64 = 20_250_114;

/// Runs in a process of its own, started by the test below: writes until it is killed, and says
/// after each entry that it is written.
#[test]
fn write_until_killed() {
    let Some(file) = std::env::var_os("HARDSTART_TEST_WRITES_IN") else {
        return;
    };
    let mut book = Book::open(std::path::Path::new(&file), Access::Write).unwrap();
    loop {
        // Two entries that belong together: both or neither.
        let pair = [
            serde_json::json!({ "note": "first of two" }),
            serde_json::json!({ "note": "second of two" }),
        ];
        let added = book.add("1", &pair, knowledge()).unwrap();
        let mut out = std::io::stdout().lock();
        writeln!(out, "written {}", added.first + 1).unwrap();
        out.flush().unwrap();
    }
}

#[test]
fn a_hundred_kills_lose_nothing() {
    let place = tempfile::tempdir().unwrap();
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(SEED);
    let mut least = 0;
    for moment in 0..MOMENTS {
        // A new book now and then, so that the job stays short.
        let file = place.path().join(format!("book {}", moment / 20));
        if moment % 20 == 0 {
            drop(book_with_a_job(&file));
            least = 0;
        }
        let mut child = std::process::Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "killed::write_until_killed", "--nocapture"])
            .env("HARDSTART_TEST_WRITES_IN", &file)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut acknowledged = |line: std::io::Result<String>| {
            if let Some((_, n)) = line.unwrap_or_default().split_once("written ") {
                least = n.trim().parse().unwrap_or(least);
            }
        };
        // Half of them while the first entries are written, the others later.
        if moment % 2 == 0 {
            for line in lines.by_ref() {
                let begun = line.as_ref().is_ok_and(|l| l.contains("written "));
                acknowledged(line);
                if begun {
                    break;
                }
            }
        }
        std::thread::sleep(Duration::from_micros(random.random_range(0..40_000)));
        child.kill().unwrap();
        lines.for_each(&mut acknowledged);
        child.wait().unwrap();
        let book = Book::open(&file, Access::Write).unwrap();
        let there = book.entries("1").unwrap();
        assert!(there >= least, "{there} of {least} at moment {moment}");
        assert_eq!(there % 2, 0, "half of a pair at moment {moment}");
        // Every entry is whole: the reader understands all of them.
        let job = book.job("1", knowledge()).unwrap().job;
        assert_eq!(job.entries.len(), there);
    }
    assert!(least > 0, "nothing was written before any kill");
}

/// The program itself, killed between start and end.
#[test]
fn a_killed_command_leaves_a_whole_book() {
    let place = tempfile::tempdir().unwrap();
    let file = place.path().join("book");
    drop(book_with_a_job(&file));
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(SEED);
    let mut done = 0;
    for _ in 0..20 {
        let args = ["note", "1", "--kind", "text", "rang"];
        let mut child = program(&file, &args).stdout(Stdio::null()).spawn().unwrap();
        std::thread::sleep(Duration::from_micros(random.random_range(0..60_000)));
        let _ = child.kill();
        done += usize::from(child.wait().unwrap().success());
    }
    let book = Book::open(&file, Access::Read).unwrap();
    assert!(book.entries("1").unwrap() >= done);
    book.job("1", knowledge()).unwrap();
}
