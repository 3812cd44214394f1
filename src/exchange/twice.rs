//! Which hashes come more than once, found in memory that does not grow with their number.
//!
//! Few are kept as they are; many go to unnamed files on the disk, parted by their first bits,
//! and are looked through one part at a time. Must not know what is hashed.

use std::fs::File;
use std::io::{BufReader, BufWriter, ErrorKind, Read, Seek, Write};

/// Hashes kept in memory before the disk is used: one megabyte.
const MOST: usize = 1 << 17;
/// Parts on the disk, a power of two.
const PARTS: usize = 64;
/// Bits above those that name a part.
const SHIFT: u32 = 64 - PARTS.trailing_zeros();

/// Collects hashes.
#[derive(Debug, Default)]
pub(super) struct Twice {
    few: Vec<u64>,
    parts: Vec<BufWriter<File>>,
}

impl Twice {
    /// Takes one hash.
    ///
    /// # Errors
    /// When the disk has no room.
    pub fn push(&mut self, hash: u64) -> std::io::Result<()> {
        if self.parts.is_empty() {
            self.few.push(hash);
            return if self.few.len() < MOST {
                Ok(())
            } else {
                self.spill()
            };
        }
        self.parts[part(hash)].write_all(&hash.to_le_bytes())
    }

    fn spill(&mut self) -> std::io::Result<()> {
        for _ in 0..PARTS {
            self.parts.push(BufWriter::new(tempfile::tempfile()?));
        }
        let few = std::mem::take(&mut self.few);
        few.into_iter().try_for_each(|hash| self.push(hash))
    }

    /// The hashes that came more than once, each once, in rising order.
    ///
    /// # Errors
    /// When the disk has no room or gives nothing back.
    pub fn finish(mut self) -> std::io::Result<Vec<u64>> {
        let mut found = Vec::new();
        repeated(&mut self.few, &mut found);
        let mut part = Vec::new();
        for writer in self.parts {
            let mut file = writer.into_inner().map_err(|e| e.into_error())?;
            file.rewind()?;
            let mut reader = BufReader::new(file);
            part.clear();
            loop {
                let mut bytes = [0; 8];
                match reader.read_exact(&mut bytes) {
                    Ok(()) => part.push(u64::from_le_bytes(bytes)),
                    Err(error) if error.kind() == ErrorKind::UnexpectedEof => break,
                    Err(error) => return Err(error),
                }
            }
            repeated(&mut part, &mut found);
        }
        Ok(found)
    }
}

/// The part a hash goes to. Parts stand in rising order.
fn part(hash: u64) -> usize {
    // Less than the number of parts.
    (hash >> SHIFT) as usize
}

fn repeated(hashes: &mut [u64], found: &mut Vec<u64>) {
    hashes.sort_unstable();
    let twins = hashes.windows(2).filter(|w| w[0] == w[1]).map(|w| w[0]);
    let from = found.len();
    for hash in twins {
        if found[from..].last() != Some(&hash) {
            found.push(hash);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    /// Expected: by counting every one of them, below and above what is kept in memory.
    #[test]
    fn what_came_twice_is_found_in_memory_and_on_the_disk() {
        for many in [0, 1, 1000, 3 * MOST as u64 + 7] {
            let mut twice = Twice::default();
            let mut counts: BTreeMap<u64, u32> = BTreeMap::new();
            for n in 0..many {
                // Every hundredth comes again, the first one five times.
                let n = if n % 100 == 3 { n / 2 } else { n };
                let n = if n % (many / 5 + 1) == 0 { 0 } else { n };
                let hash = n.wrapping_mul(0x9e37_79b9_7f4a_7c15);
                twice.push(hash).unwrap();
                *counts.entry(hash).or_insert(0) += 1;
            }
            let wanted: Vec<u64> = counts
                .iter()
                .filter(|(_, n)| **n > 1)
                .map(|(h, _)| *h)
                .collect();
            assert_eq!(twice.finish().unwrap(), wanted, "{many}");
        }
    }
}
