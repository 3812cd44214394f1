//! Where programs, and figures that were read, are kept between two commands, so that neither is made
//! ready again.
//!
//! They are in the person's cache directory, under the stamp of this very program file: another
//! version never sees them. They hold no job, only for what kind of engine and which kinds of
//! entries the work was laid out. Losing them costs time and nothing else, so nothing here fails
//! aloud. Must not reckon.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::UNIX_EPOCH;

use super::failure::Failure;
use crate::diagnosis;
use crate::evidence::Evidence;
use crate::job::Job;
use crate::knowledge::Knowledge;
use crate::network::{Shelf, Store};

/// Names the directory where it is not that of the person; [`OFF`] keeps nothing.
const VARIABLE: &str = "HARDSTART_CACHE";
/// Digits of a name.
const NAME: usize = 32;
/// Nothing is kept.
const OFF: &str = "off";
/// Bytes kept in memory and, of the files, on the disk; those written first make room. Own
/// judgement: some weeks of jobs.
const MOST_BYTES: usize = 64 << 20;

/// Everything a job says, with programs from the shelf.
///
/// # Errors
/// When a network cannot be built.
pub fn evidence(knowledge: &Knowledge, job: &Job) -> Result<Evidence, Failure> {
    static SHELF: OnceLock<Shelf> = OnceLock::new();
    let shelf = SHELF.get_or_init(|| Shelf::with(MOST_BYTES, store()));
    Ok(diagnosis::bearable(knowledge, job, shelf)?)
}

/// The name something goes by that is told apart by a hash.
pub fn name(sha256: &str) -> String {
    sha256.chars().take(NAME).collect()
}

/// Where things are kept, unless nothing is.
pub fn store() -> Option<Box<dyn Store>> {
    let set = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty());
    let own = match set(VARIABLE) {
        Some(off) if off == OFF => return None,
        Some(directory) => PathBuf::from(directory),
        None => {
            let cache = set("XDG_CACHE_HOME").map(PathBuf::from).or_else(|| {
                let home = set("HOME").or_else(|| set("USERPROFILE"))?;
                Some(PathBuf::from(home).join(".cache"))
            })?;
            cache.join("hardstart")
        }
    };
    let directory = own.join(stamp()?);
    Some(Box::new(Directory {
        own,
        directory,
        most_bytes: MOST_BYTES as u64,
    }))
}

/// What tells this program file from every other.
fn stamp() -> Option<String> {
    let file = fs::metadata(std::env::current_exe().ok()?).ok()?;
    let made = file.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
    let version = env!("CARGO_PKG_VERSION");
    Some(format!("{version}-{:x}-{:x}", file.len(), made.as_nanos()))
}

/// Programs as files of one directory.
#[derive(Debug)]
struct Directory {
    /// Of all versions.
    own: PathBuf,
    /// Of this one.
    directory: PathBuf,
    most_bytes: u64,
}

impl Store for Directory {
    fn take(&self, name: &str) -> Option<Vec<u8>> {
        fs::read(self.directory.join(name)).ok()
    }

    fn put(&self, name: &str, bytes: &[u8]) {
        // It can be made again.
        let _ = self.write(name, bytes);
    }
}

impl Directory {
    fn write(&self, name: &str, bytes: &[u8]) -> std::io::Result<()> {
        if !self.directory.is_dir() {
            self.clear_others();
            fs::create_dir_all(&self.directory)?;
        }
        self.make_room(bytes.len())?;
        // Whole or not at all, whoever else writes the same.
        let file = tempfile::NamedTempFile::new_in(&self.directory)?;
        fs::write(file.path(), bytes)?;
        file.persist(self.directory.join(name))?;
        Ok(())
    }

    /// Takes away what other versions kept, and nothing that is not of that kind.
    fn clear_others(&self) {
        let Ok(list) = fs::read_dir(&self.own) else {
            return;
        };
        for directory in list.flatten().map(|d| d.path()) {
            for file in files(&directory) {
                let _ = fs::remove_file(file);
            }
            // Only an empty one goes.
            let _ = fs::remove_dir(directory);
        }
    }

    fn make_room(&self, bytes: usize) -> std::io::Result<()> {
        let mut kept = Vec::new();
        for file in files(&self.directory) {
            let about = file.metadata()?;
            kept.push((about.modified()?, file, about.len()));
        }
        kept.sort();
        let mut all: u64 = kept.iter().map(|k| k.2).sum();
        for (_, file, len) in kept {
            if all + bytes as u64 <= self.most_bytes {
                break;
            }
            fs::remove_file(file)?;
            all -= len;
        }
        Ok(())
    }
}

/// Files of a directory that are named like programs.
fn files(directory: &Path) -> Vec<PathBuf> {
    let list = fs::read_dir(directory).into_iter().flatten().flatten();
    let named = list.map(|f| f.path()).filter(|path| {
        let name = path.file_name().and_then(|n| n.to_str());
        name.is_some_and(|n| n.len() == NAME && n.bytes().all(|b| b.is_ascii_hexdigit()))
    });
    named.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_written_make_room_and_what_is_not_ours_stays() {
        let place = tempfile::tempdir().unwrap();
        let own = place.path().to_path_buf();
        let strange = own.join("0.0.1-1-1").join("notes.txt");
        fs::create_dir_all(strange.parent().unwrap()).unwrap();
        fs::write(&strange, "mine").unwrap();
        fs::write(strange.with_file_name("0".repeat(32)), "old").unwrap();
        let store = Directory {
            directory: own.join("0.0.2-1-1"),
            own,
            most_bytes: 10,
        };
        let name = |n: usize| format!("{n:032x}");
        for n in 0..6 {
            store.put(&name(n), &[1, 2, 3]);
        }
        assert_eq!(files(&store.directory).len(), 3);
        assert_eq!(store.take(&name(5)), Some(vec![1, 2, 3]));
        assert_eq!(fs::read_to_string(&strange).unwrap(), "mine");
        assert_eq!(files(strange.parent().unwrap()).len(), 0);
        assert_eq!(store.take("never written"), None);
    }
}
