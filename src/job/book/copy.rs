//! A copy of the whole book, taken while others go on writing.
//!
//! Must not overwrite anything.

use std::path::{Path, PathBuf};

use super::error::BookError;
use super::file::Book;

impl Book {
    /// Writes a copy as it is at this moment. The file appears only once it is whole.
    ///
    /// # Errors
    /// When there is a file of that name, or it cannot be written.
    pub fn copy_to(&self, to: &Path) -> Result<(), BookError> {
        let refused = |why: String| BookError::NotOpened {
            file: to.to_owned(),
            why,
        };
        if to.exists() {
            return Err(refused("there is such a file already".to_owned()));
        }
        let part = PathBuf::from(format!("{}.part", to.display()));
        let made = self
            .write_part(&part)
            .and_then(|()| std::fs::rename(&part, to).map_err(|e| refused(e.to_string())));
        if made.is_err() {
            // What is left of it is of no use; if it cannot be removed, nothing depends on it.
            let _ = std::fs::remove_file(&part);
        }
        made
    }

    fn write_part(&self, part: &Path) -> Result<(), BookError> {
        let name = part.display().to_string();
        let copied = self.connection.execute("VACUUM INTO ?1", [name]);
        copied.map_err(|e| BookError::of(part, &e))?;
        let synced = std::fs::File::open(part).and_then(|f| f.sync_all());
        synced.map_err(|e| BookError::NotOpened {
            file: part.to_owned(),
            why: e.to_string(),
        })
    }
}
