//! The store: immutable Parquet files and a log of runs.
//!
//! A run names the files it added and removed in all tables; it exists from the moment its
//! numbered JSON file does, which is created only if no such file is there. What a run did appears
//! whole or not at all: files that no run names are not part of the store. Readers fold the runs
//! up to a number, so that an earlier state can be read again. Nothing here knows what the tables
//! mean.

mod approach;
mod care;
mod digits;
mod exclusive;
mod files;
mod history;
mod log;
mod reading;
mod rows_writer;
mod run;
mod samples;

use std::path::{Path, PathBuf};

pub use approach::{
    FoundApproach, approaches_of_flight, find_approaches, read_approach, rows_of_approaches,
};
pub use care::{Problem, Strays, strays, verify};
pub(crate) use digits::seven_digits;
pub(crate) use files::{put_batch, put_file, read_batch, writer_properties};
pub use files::{read_rows, rows_to_batch, write_rows_file};
pub use log::Store;
pub(crate) use reading::{Texts, each_batch, flags, numbers, texts, whole_numbers};
pub(crate) use rows_writer::RowsWriter;
pub use run::{InputRecord, Review, Run};
pub(crate) use samples::{APPROACHES_PER_FILE, write_file as write_sample_file};
pub use samples::{ApproachBatches, SampleFile, SampleWriter};

/// Why the store could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// The file system said no.
    #[error("cannot {doing} {}: {source}", path.display())]
    Io {
        /// What was tried.
        doing: &'static str,
        /// On which path.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The object store said no.
    #[error("cannot {doing} in the store: {source}")]
    Object {
        /// What was tried.
        doing: &'static str,
        /// What the object store said.
        source: object_store::Error,
    },
    /// A run file does not read as one.
    #[error(
        "run file {name} of the store does not read: {source}; restore it from a copy, or start a new store"
    )]
    RunFile {
        /// File name.
        name: String,
        /// Where it fails.
        source: serde_json::Error,
    },
    /// Another process published the same run number first.
    #[error("another process has published run {number} meanwhile; start again, nothing was lost")]
    Raced {
        /// The number both wanted.
        number: u64,
    },
    /// A run was asked for that is not there.
    #[error(
        "there is no run {number} in the store, the newest is {newest}; `glidetally store log` lists them"
    )]
    NoRun {
        /// The run that was asked for.
        number: u64,
        /// The newest run.
        newest: u64,
    },
    /// A run was asked for whose files have been removed since.
    #[error(
        "run {number} of the store can no longer be read: {files} of its files were taken off the disk by run \
         {by}, kind `{kind}`; `glidetally store log` lists the runs"
    )]
    Gone {
        /// The run that was asked for.
        number: u64,
        /// How many files it lacks.
        files: usize,
        /// The first run that removed one.
        by: u64,
        /// Its kind.
        kind: String,
    },
    /// A run was asked for that is no review.
    #[error(
        "run {number} of the store is no review, so nothing says by which rules it would be; reviews are {}; \
         `glidetally store log` lists all runs",
        if reviews.is_empty() { "none".to_owned() } else { reviews.join(", ") }
    )]
    NoReview {
        /// The run that was asked for.
        number: u64,
        /// The runs that are.
        reviews: Vec<String>,
    },
    /// A run file is missing between others.
    #[error(
        "run file {missing} of the store is missing, the next is {found}: without it the runs after it mean \
         nothing; restore it from a copy, or start a new store"
    )]
    Hole {
        /// The file that should be there.
        missing: String,
        /// The file that is there in its place.
        found: String,
    },
    /// The file system lets a writer take the place of another's run.
    #[error(
        "the file system of {} cannot create a file only where none is ({why}), so that two runs at once could \
         overwrite each other; put the store elsewhere with --store: a local disk can, FAT and some network \
         shares cannot", path.display()
    )]
    NotExclusive {
        /// Folder of the store.
        path: PathBuf,
        /// What happened when it was tried.
        why: String,
    },
    /// Another process judges the same store by other rules.
    #[error(
        "another process has judged this store by another rule pack meanwhile; let one finish before the other \
         begins, or give each a store of its own with --store"
    )]
    OtherPack,
    /// A table file does not read.
    #[error("{}: {detail}; the store is damaged, restore the file from a copy", path.display())]
    Damaged {
        /// Which file.
        path: PathBuf,
        /// What is wrong.
        detail: String,
    },
    /// Rows could not be laid out as a table.
    #[error("cannot lay out the rows of {table}: {detail}")]
    Rows {
        /// Table or file.
        table: String,
        /// What is wrong.
        detail: String,
    },
}

pub(crate) fn io(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> StoreError {
    let path = path.to_owned();
    move |source| StoreError::Io {
        doing,
        path,
        source,
    }
}

/// Closes a folder of row-level data to everyone but its owner.
#[cfg(unix)]
pub(crate) fn owner_only(path: &Path) -> Result<(), StoreError> {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o700))
        .map_err(io("protect", path))
}

/// Closes a folder of row-level data to everyone but its owner, where the system can.
#[cfg(not(unix))]
pub(crate) fn owner_only(_path: &Path) -> Result<(), StoreError> {
    Ok(())
}

/// Opens a file that only its owner can read, where the system can do that, and empties it.
///
/// # Errors
/// The file cannot be made or opened.
pub fn own_file(path: &Path) -> std::io::Result<std::fs::File> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}
