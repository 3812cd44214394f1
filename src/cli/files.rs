//! Files of a command as a whole: read, hashed, and written so that the old one stays until the
//! new one stands.
//!
//! Must not know what is in them.

use std::io::{Read, Write};
use std::path::Path;

use sha2::{Digest, Sha256};

use super::exit::Exit;
use super::failure::Failure;
use crate::report::trouble::Trouble;

/// Bytes hashed at a time.
const PIECE: usize = 1 << 16;

/// The text of a file.
///
/// # Errors
/// When it cannot be read.
pub fn read(path: &Path) -> Result<String, Failure> {
    std::fs::read_to_string(path).map_err(|error| unread(path, &error))
}

fn unread(path: &Path, error: &std::io::Error) -> Failure {
    let what = format!("cannot be read: {error}");
    let advice = "give a file that is there";
    let trouble = Trouble::in_file(path.display().to_string(), what, advice);
    Failure::new(Exit::NoUsableInput, trouble)
}

/// SHA-256 of a file, in hexadecimal.
///
/// # Errors
/// When it cannot be read.
pub fn sha256(path: &Path) -> Result<String, Failure> {
    let mut file = std::fs::File::open(path).map_err(|error| unread(path, &error))?;
    let mut hash = Sha256::new();
    let mut piece = vec![0; PIECE];
    loop {
        let n = file
            .read(&mut piece)
            .map_err(|error| unread(path, &error))?;
        if n == 0 {
            return Ok(hash.finalize().iter().map(|b| format!("{b:02x}")).collect());
        }
        hash.update(&piece[..n]);
    }
}

/// Writes a file in one go: a new one beside it, brought to the disk, then a change of names.
///
/// # Errors
/// When the place may not be written to.
pub fn write(path: &Path, text: &str) -> Result<(), Failure> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(".new");
    let written = std::fs::File::create(&beside).and_then(|mut file| {
        file.write_all(text.as_bytes())?;
        file.sync_all()
    });
    let done = written.and_then(|()| std::fs::rename(&beside, path));
    done.map_err(|error| {
        let what = format!("cannot be written: {error}");
        let advice = "see whether the place may be written to";
        let trouble = Trouble::in_file(path.display().to_string(), what, advice);
        Failure::new(Exit::Failed, trouble)
    })
}
