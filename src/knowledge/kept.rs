//! Files that were read and found sound, as bytes: reading those again takes a tenth of the time.
//!
//! The bytes are this program's own, for the version that wrote them, under the hash of the files and
//! a checksum. Must not know where they are kept.

use sha2::{Digest, Sha256};

use super::parsed::Parsed;

/// Bytes of the checksum in front.
const SUM: usize = 32;

/// Over the hash of the files and what was parsed.
fn checksum(sha256: &str, body: &[u8]) -> [u8; SUM] {
    let mut hash = Sha256::new();
    hash.update(sha256.as_bytes());
    hash.update(body);
    hash.finalize().into()
}

/// Files with this hash as bytes.
pub(super) fn write(parsed: &Parsed, sha256: &str) -> Vec<u8> {
    // Texts and numbers: there is nothing here that could fail to be written.
    let body = postcard::to_allocvec(parsed).expect("texts and numbers");
    [&checksum(sha256, &body)[..], &body].concat()
}

/// What `write` made of files with this hash; nothing where it is of others, or damaged.
pub(super) fn read(bytes: &[u8], sha256: &str) -> Option<Parsed> {
    let (sum, body) = bytes.split_at_checked(SUM)?;
    if checksum(sha256, body) != sum {
        return None;
    }
    postcard::from_bytes(body).ok()
}

#[cfg(test)]
mod tests {
    use crate::knowledge::{KnowledgeFiles, load, load_kept};

    /// Expected: what the files themselves say, places included.
    #[test]
    fn what_is_kept_says_what_the_files_say_and_of_no_others() {
        let files = KnowledgeFiles::built_in();
        let (first, bytes) = load_kept(&files, None).unwrap();
        let mut bytes = bytes.expect("something to keep");
        let (again, more) = load_kept(&files, Some(&bytes)).unwrap();
        assert!(more.is_none(), "read from the files again");
        assert_eq!(format!("{first:?}"), format!("{again:?}"));
        assert_eq!(format!("{again:?}"), format!("{:?}", load(&files).unwrap()));
        let mut others = files.clone();
        others.files[0].text.push_str("\n# a remark\n");
        assert!(load_kept(&others, Some(&bytes)).unwrap().1.is_some());
        let middle = bytes.len() / 2;
        bytes[middle] ^= 1;
        let (read, kept) = load_kept(&files, Some(&bytes)).unwrap();
        assert!(kept.is_some() && read.sha256 == first.sha256);
    }
}
