//! An import killed at any moment: the old files are whole, and a rerun gives the same bytes.
//!
//! Fifteen moments; a hundred with `HARDSTART_LONG=1`. The expected bytes are those of an
//! import nobody disturbed.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Records of the table that is imported over and over.
const RECORDS: usize = 4000;

fn table(from: usize, many: usize) -> String {
    let mut text = String::from("Job No,Date,Plug s 1,Plug s 2,Comp 1,Found,Done\n");
    for n in from..from + many {
        // Every ninetieth record has a cell too many.
        let odd = if n % 90 == 0 { ",x" } else { "" };
        text.push_str(&format!(
            "K-{n},2024-01-{:02},8.{},8.2,{} bar,plug 1 dead,renewed plug 1{odd}\n",
            n % 28 + 1,
            n % 10,
            20 + n % 9
        ));
    }
    text
}

fn import(source: &Path, out: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hardstart"));
    command
        .args(["import", "--reproducible", "--out"])
        .arg(out)
        .arg(source)
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command
}

fn files(directory: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found: Vec<(String, Vec<u8>)> = std::fs::read_dir(directory)
        .unwrap()
        .map(|e| e.unwrap())
        .map(|e| {
            (
                e.file_name().to_string_lossy().into_owned(),
                std::fs::read(e.path()).unwrap(),
            )
        })
        .filter(|(name, _)| name != ".lock")
        .collect();
    found.sort();
    found
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir(to).unwrap();
    for (name, bytes) in files(from) {
        std::fs::write(to.join(name), bytes).unwrap();
    }
}

#[test]
fn an_import_killed_at_any_moment_leaves_old_files_whole_and_can_be_run_again() {
    let place = tempfile::tempdir().unwrap();
    let (first, second) = (
        place.path().join("first.csv"),
        place.path().join("second.csv"),
    );
    std::fs::write(&first, table(0, 500)).unwrap();
    std::fs::write(&second, table(500, RECORDS)).unwrap();
    let old = place.path().join("old");
    assert_eq!(import(&first, &old).status().unwrap().code(), Some(3));
    let wanted = place.path().join("wanted");
    copy(&old, &wanted);
    let begun = Instant::now();
    assert_eq!(import(&second, &wanted).status().unwrap().code(), Some(3));
    let whole = begun.elapsed();
    let wanted = files(&wanted);
    assert!(wanted.len() > files(&old).len());

    let moments = if std::env::var_os("HARDSTART_LONG").is_some() {
        100
    } else {
        15
    };
    let mut state = 12345_u64;
    for moment in 0..moments {
        let out = place.path().join(format!("out{moment}"));
        copy(&old, &out);
        // A plain linear congruence (Knuth's constants) is random enough for moments.
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let share = (state >> 33) as f64 / (1_u64 << 31) as f64;
        let mut child = import(&second, &out).spawn().unwrap();
        std::thread::sleep(Duration::from_secs_f64(whole.as_secs_f64() * share * 1.1));
        child.kill().unwrap();
        child.wait().unwrap();
        // Each file is the old one, or the new one, and never a part of one.
        let after = files(&out);
        for (name, bytes) in files(&old) {
            let now = after.iter().find(|(n, _)| *n == name).map(|(_, b)| b);
            let new = wanted.iter().find(|(n, _)| *n == name).map(|(_, b)| b);
            assert!(
                now == Some(&bytes) || now == new,
                "{name} at moment {moment}"
            );
        }
        import(&second, &out).status().unwrap();
        let names: Vec<String> = files(&out).into_iter().map(|(n, _)| n).collect();
        let expected: Vec<&String> = wanted.iter().map(|(n, _)| n).collect();
        assert_eq!(
            names.iter().collect::<Vec<_>>(),
            expected,
            "moment {moment}"
        );
        assert!(
            files(&out) == wanted,
            "a rerun gives the same bytes at moment {moment}"
        );
        std::fs::remove_dir_all(&out).unwrap();
    }
}
