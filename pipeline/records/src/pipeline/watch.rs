//! Notices when a file changes between the moment it was hashed and the moment it was read.

use std::fs::{File, Metadata};
use std::path::Path;
use std::time::SystemTime;

use super::files::{InputFile, PartFile};
use crate::load::Fault;
use crate::rows::QuarantineRow;

/// What tells cheaply that a file is still the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stamp {
    bytes: u64,
    /// None where the file system keeps no such time.
    modified: Option<SystemTime>,
}

impl Stamp {
    fn of(metadata: &Metadata) -> Self {
        Self {
            bytes: metadata.len(),
            modified: metadata.modified().ok(),
        }
    }
}

/// BLAKE3 of a file's bytes, hexadecimal, and its stamp from before they were read.
pub(super) fn content(path: &Path) -> std::io::Result<(String, Stamp)> {
    let file = File::open(path)?;
    let stamp = Stamp::of(&file.metadata()?);
    let mut hasher = blake3::Hasher::new();
    hasher.update_reader(file)?;
    Ok((hasher.finalize().to_hex().to_string(), stamp))
}

/// Watches the files of an input while they are read.
pub(super) struct Watch<'a> {
    file: &'a InputFile,
    /// Of each file, from the last time that its content was known to be the one that was hashed.
    stamps: Vec<Option<Stamp>>,
}

impl<'a> Watch<'a> {
    pub(super) fn new(file: &'a InputFile) -> Self {
        let stamps = file.parts.iter().map(|part| part.stamp).collect();
        Self { file, stamps }
    }

    /// Whether a file holds other bytes than those that were hashed.
    ///
    /// Another size or time of change alone is no fault: a copying program may set the time last.
    /// It makes the file be hashed again.
    pub(super) fn changed(&mut self) -> bool {
        let mut parts = self.file.parts.iter().zip(&mut self.stamps);
        parts.any(|(part, stamp)| has_changed(part, stamp))
    }

    /// What was read, or refused, where the files stayed the same all the while.
    pub(super) fn steady<T>(&mut self, read: Result<T, QuarantineRow>) -> Result<T, QuarantineRow> {
        if !self.changed() {
            return read;
        }
        let detail = "its bytes are no longer those that the reading began with; run again when \
                      nothing writes to it";
        let fault = Fault::new("file changed while it was read", detail);
        Err(self.file.source().refuse("read", fault))
    }
}

fn has_changed(part: &PartFile, stamp: &mut Option<Stamp>) -> bool {
    let found = std::fs::metadata(&part.path);
    let found = found.ok().map(|metadata| Stamp::of(&metadata));
    if found.is_some() && found == *stamp {
        return false;
    }
    match content(&part.path) {
        Ok((hash, now)) if hash == part.content_hash => {
            *stamp = Some(now);
            false
        }
        _ => true,
    }
}
