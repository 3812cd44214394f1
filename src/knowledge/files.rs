//! The knowledge files as a set: names and texts, built in or read from a directory.
//!
//! Must not parse them.

use std::path::Path;

/// One knowledge file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnowledgeFile {
    /// Name within `priors/`.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// All knowledge files, in the order they are read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnowledgeFiles {
    /// The files.
    pub files: Vec<KnowledgeFile>,
}

impl KnowledgeFiles {
    /// The files compiled into the program.
    #[must_use]
    pub fn built_in() -> Self {
        let files = super::built_in::FILES
            .iter()
            .map(|(name, text)| KnowledgeFile {
                name: (*name).to_owned(),
                text: (*text).to_owned(),
            })
            .collect();
        Self { files }
    }

    /// The files of a directory that replaces `priors/`.
    ///
    /// # Errors
    /// The first file of the set that cannot be read, with its path.
    pub fn from_directory(directory: &Path) -> Result<Self, std::io::Error> {
        let mut files = Vec::new();
        for (name, _) in super::built_in::FILES {
            let path = directory.join(name);
            let text = std::fs::read_to_string(&path).map_err(|e| {
                std::io::Error::new(e.kind(), format!("cannot read {}: {e}", path.display()))
            })?;
            files.push(KnowledgeFile {
                name: (*name).to_owned(),
                text,
            });
        }
        Ok(Self { files })
    }

    /// SHA-256 over names and texts, in hexadecimal: the hash of the figures in every answer.
    #[must_use]
    pub fn sha256(&self) -> String {
        use sha2::{Digest, Sha256};
        let mut hash = Sha256::new();
        for file in &self.files {
            hash.update(file.name.as_bytes());
            hash.update([0]);
            hash.update(file.text.as_bytes());
            hash.update([0]);
        }
        hash.finalize().iter().map(|b| format!("{b:02x}")).collect()
    }

    /// Text of the file of that name.
    #[must_use]
    pub fn text(&self, name: &str) -> Option<&str> {
        self.files
            .iter()
            .find(|f| f.name == name)
            .map(|f| f.text.as_str())
    }
}
