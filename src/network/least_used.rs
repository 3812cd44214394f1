//! Things kept within a bound on their bytes, the longest unused dropped first.
//!
//! Must not know what is kept, and must not say how many bytes it has.

use std::collections::BTreeMap;

/// Things by key.
#[derive(Debug)]
pub(super) struct LeastUsed<K, T> {
    most_bytes: usize,
    bytes: usize,
    clock: u64,
    kept: BTreeMap<K, Kept<T>>,
}

#[derive(Debug)]
struct Kept<T> {
    thing: T,
    bytes: usize,
    used: u64,
}

impl<K: Ord + Clone, T> LeastUsed<K, T> {
    pub fn new(most_bytes: usize) -> Self {
        Self {
            most_bytes,
            bytes: 0,
            clock: 0,
            kept: BTreeMap::new(),
        }
    }

    /// The thing of a key, which counts as used now.
    pub fn get(&mut self, key: &K) -> Option<&T> {
        self.clock += 1;
        let kept = self.kept.get_mut(key)?;
        kept.used = self.clock;
        Some(&kept.thing)
    }

    /// Whether there is one; does not count as use.
    pub fn has(&self, key: &K) -> bool {
        self.kept.contains_key(key)
    }

    /// Keeps a thing in place of any of its key. What has to make room is given back, the thing
    /// itself if it has more bytes than may be kept.
    pub fn keep(&mut self, key: K, thing: T, bytes: usize) -> Vec<(K, T)> {
        if let Some(before) = self.kept.remove(&key) {
            self.bytes -= before.bytes;
        }
        if bytes > self.most_bytes {
            return vec![(key, thing)];
        }
        let mut dropped = Vec::new();
        while self.bytes > self.most_bytes - bytes {
            let oldest = self.kept.iter().min_by_key(|(_, k)| k.used);
            let Some((oldest, kept)) = oldest
                .map(|(k, _)| k.clone())
                .and_then(|k| self.kept.remove_entry(&k))
            else {
                break;
            };
            self.bytes -= kept.bytes;
            dropped.push((oldest, kept.thing));
        }
        self.bytes += bytes;
        let used = self.clock;
        self.kept.insert(key, Kept { thing, bytes, used });
        dropped
    }

    /// Bytes that may be kept.
    pub fn most_bytes(&self) -> usize {
        self.most_bytes
    }

    /// Bytes kept now.
    pub fn bytes(&self) -> usize {
        self.bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_unused_makes_room_and_what_is_too_large_does_not_stay() {
        let mut kept = LeastUsed::new(10);
        assert!(kept.keep("a", 1, 4).is_empty());
        assert!(kept.keep("b", 2, 4).is_empty());
        assert_eq!(kept.get(&"a"), Some(&1));
        assert_eq!(kept.keep("c", 3, 5), [("b", 2)]);
        assert!(kept.has(&"a") && !kept.has(&"b"));
        assert_eq!(kept.keep("d", 4, 11), [("d", 4)]);
        assert_eq!(kept.get(&"c"), Some(&3));
        assert_eq!(kept.bytes(), 9);
        // One of its own key makes no other one leave.
        assert!(kept.keep("c", 5, 6).is_empty());
        assert_eq!(kept.get(&"c"), Some(&5));
        assert_eq!(kept.bytes(), 10);
        assert_eq!(kept.keep("e", 6, 10).len(), 2);
    }
}
