//! A file that goes to the disk and is hashed while more of it is still being written, so that at
//! the end there is little left to wait for, and nothing to read again.
//!
//! Must not know what is written.

use std::io::{BufWriter, Error, Result, Write};
use std::thread::JoinHandle;

use sha2::{Digest, Sha256};
use tempfile::NamedTempFile;

use super::encoding::hex;
use super::package::Sum;

/// Bytes after which what was written is sent to the disk.
const EACH: usize = 1 << 25;
/// Bytes gathered before they are written; more at once pass by.
const GATHERED: usize = 1 << 15;

/// A file being written.
#[derive(Debug)]
pub(super) struct Steady {
    file: BufWriter<NamedTempFile>,
    hash: Sha256,
    bytes: u64,
    since: usize,
    sending: Option<JoinHandle<Result<()>>>,
}

impl Steady {
    /// Begins at the start of an empty file.
    pub fn new(file: NamedTempFile) -> Self {
        Self {
            file: BufWriter::with_capacity(GATHERED, file),
            hash: Sha256::new(),
            bytes: 0,
            since: 0,
            sending: None,
        }
    }

    /// The file with everything in it, and what it sums to.
    ///
    /// # Errors
    /// When something could not be written or sent.
    pub fn finish(mut self) -> Result<(NamedTempFile, Sum)> {
        self.sent()?;
        let sum = Sum {
            bytes: self.bytes,
            sha256: hex(&self.hash.finalize()),
        };
        let file = self.file.into_inner();
        Ok((file.map_err(|error| error.into_error())?, sum))
    }

    /// Waits for what is on its way to the disk.
    fn sent(&mut self) -> Result<()> {
        match self.sending.take().map(JoinHandle::join) {
            None => Ok(()),
            Some(Ok(sent)) => sent,
            Some(Err(_)) => Err(Error::other("the disk could not be written to")),
        }
    }

    fn send(&mut self) -> Result<()> {
        // One after the other; what has come meanwhile goes with the next.
        if self.sending.as_ref().is_some_and(|s| !s.is_finished()) {
            return Ok(());
        }
        self.sent()?;
        self.file.flush()?;
        let file = self.file.get_ref().as_file().try_clone()?;
        self.sending = Some(std::thread::spawn(move || file.sync_data()));
        self.since = 0;
        Ok(())
    }
}

impl Write for Steady {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        let written = self.file.write(bytes)?;
        self.hash.update(&bytes[..written]);
        self.bytes += written as u64;
        self.since += written;
        if self.since >= EACH {
            self.send()?;
        }
        Ok(written)
    }

    fn flush(&mut self) -> Result<()> {
        self.file.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_lost_on_the_way() {
        let mut steady = Steady::new(NamedTempFile::new().unwrap());
        let mut wanted = Vec::new();
        for n in 0..40_u8 {
            let piece = vec![n; 4_000_000 + usize::from(n)];
            steady.write_all(&piece).unwrap();
            steady.write_all(b"\n").unwrap();
            wanted.extend_from_slice(&piece);
            wanted.push(b'\n');
        }
        let (file, sum) = steady.finish().unwrap();
        let read = std::fs::read(file.path()).unwrap();
        assert!(read == wanted);
        assert_eq!(sum.bytes, wanted.len() as u64);
        assert_eq!(sum.sha256, hex(&Sha256::digest(&read)));
    }
}
