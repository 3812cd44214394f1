//! What was imported before: sixteen bytes a job, and eight for its line in its source.
//!
//! Must not read files.

use super::repeats::{key_hash, line_hash};

/// What was imported before.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// Hashes of source and line of jobs that stand already, in rising order.
    lines: Vec<u64>,
    /// Hash of the key, with the hash of the contents it had; in the order of the keys.
    keys: Vec<(u64, u64)>,
}

impl Known {
    /// Adds a job: its key, the hash of its contents, and the source and line it came from.
    /// [`Known::order`] has to follow before anything is asked.
    pub fn add(&mut self, key: &str, content: u64, from: Option<(&str, u64)>) {
        self.keys.push((key_hash(key), content));
        self.lines
            .extend(from.map(|(sha256, line)| line_hash(sha256, line)));
    }

    /// Puts in order what was added. Of several jobs of one key the last one counts.
    pub fn order(&mut self) {
        self.lines.sort_unstable();
        self.lines.dedup();
        self.keys.sort_by_key(|(key, _)| *key);
    }

    /// Whether nothing is known.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.keys.is_empty() && self.lines.is_empty()
    }

    /// Hash of the contents the job of a key had.
    #[must_use]
    pub fn content(&self, key: u64) -> Option<u64> {
        let behind = self.keys.partition_point(|(k, _)| *k <= key);
        let (found, content) = self.keys.get(behind.checked_sub(1)?)?;
        (*found == key).then_some(*content)
    }

    /// Whether a job came from this line of this source.
    #[must_use]
    pub fn has_line(&self, sha256: &str, line: u64) -> bool {
        !self.lines.is_empty() && self.lines.binary_search(&line_hash(sha256, line)).is_ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_job_of_a_key_counts_and_strangers_are_not_known() {
        let mut known = Known::default();
        assert!(known.is_empty());
        for (n, key) in ["a", "b", "a", "c"].iter().enumerate() {
            known.add(key, n as u64, Some(("sha", n as u64)));
        }
        known.order();
        assert_eq!(known.content(key_hash("a")), Some(2));
        assert_eq!(known.content(key_hash("b")), Some(1));
        assert_eq!(known.content(key_hash("d")), None);
        assert!(known.has_line("sha", 3) && !known.has_line("sha", 4));
        assert!(!known.has_line("other", 3));
    }
}
