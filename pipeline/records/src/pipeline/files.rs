//! The input: every file of the records folder that may hold records, with the hash of its bytes.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::watch::{Stamp, content};
use crate::error::RecordsError;
use crate::fleet::Fleet;
use crate::load::table_file::{ENDINGS, has_ending};
use crate::load::{Source, map_of};

/// Tables at the root of a fleet folder, which are no records where the records lie there too.
const TABLES: [&str; 6] = [
    "flights.parquet",
    "flights.csv",
    "runways.csv",
    "flown.csv",
    "interventions.csv",
    "verdicts.csv",
];

/// One file of flight records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputFile {
    /// Where it lies, absolute.
    pub path: PathBuf,
    /// Relative to the fleet folder, with forward slashes.
    pub relative: String,
    /// BLAKE3 of its bytes, hexadecimal; of its path and fault where it cannot be read.
    pub content_hash: String,
    /// Why it cannot be read.
    pub fault: Option<String>,
    /// From before it was hashed; none where it cannot be read.
    pub(super) stamp: Option<Stamp>,
}

impl InputFile {
    pub(super) fn source(&self) -> Source<'_> {
        Source {
            path: &self.path,
            relative: &self.relative,
        }
    }
}

/// The parameter maps that each file gets, by their place in `fleet.toml`; empty where none fits, there is none,
/// or the file cannot be read.
#[must_use]
pub fn chosen_maps(fleet: &Fleet, files: &[InputFile]) -> Vec<Vec<usize>> {
    files
        .par_iter()
        .map(|file| {
            let opened = file.source().open();
            let map = opened.map(|opened| map_of(opened.schema(), fleet));
            map.ok().flatten().into_iter().collect()
        })
        .collect()
}

/// The Parquet and CSV files of the records folder, sorted by relative path.
///
/// # Errors
/// When a folder cannot be read, or holds no such file. A file that cannot be read is no error: it
/// is listed with its fault.
pub fn input_files(fleet: &Fleet) -> Result<Vec<InputFile>, RecordsError> {
    let root = absolute(&fleet.root)?;
    let mut paths = Vec::new();
    walk(&absolute(&fleet.records)?, &mut paths)?;
    // The tables of the fleet may lie in the same folder as the records.
    let usual = TABLES.iter().map(|name| root.join(name));
    let named = fleet.tables.iter().filter_map(|path| absolute(path).ok());
    let tables: BTreeSet<PathBuf> = usual.chain(named).collect();
    paths.retain(|path| !tables.contains(path));
    if paths.is_empty() {
        let message = "no record (.parquet or .csv) in this folder; put flight records there, or \
                       set [records] path in fleet.toml";
        return Err(RecordsError::file(&fleet.records, message));
    }
    let mut files: Vec<InputFile> = paths
        .into_par_iter()
        .map(|path| hashed(path, &root))
        .collect();
    files.sort_by(|a, b| a.relative.cmp(&b.relative));
    Ok(files)
}

fn absolute(path: &Path) -> Result<PathBuf, RecordsError> {
    path.canonicalize()
        .map_err(|e| RecordsError::io("read", path, e))
}

fn walk(folder: &Path, into: &mut Vec<PathBuf>) -> Result<(), RecordsError> {
    let fault = |e| RecordsError::io("read", folder, e);
    for entry in std::fs::read_dir(folder).map_err(fault)? {
        let entry = entry.map_err(fault)?;
        let path = entry.path();
        // Links to folders are not followed: they may lead round in a circle.
        if entry.file_type().map_err(fault)?.is_dir() {
            walk(&path, into)?;
        } else if ENDINGS.iter().any(|ending| has_ending(&path, ending)) && is_input(&path) {
            into.push(path);
        }
    }
    Ok(())
}

/// Whether there is something to read. A name that leads nowhere is kept, to be told; a pipe or a
/// device is not opened, for it may never end.
fn is_input(path: &Path) -> bool {
    path.metadata().map_or(true, |found| found.is_file())
}

fn hashed(path: PathBuf, root: &Path) -> InputFile {
    let parts = path.strip_prefix(root).unwrap_or(&path).components();
    let relative = parts
        .map(|part| part.as_os_str().to_string_lossy())
        .collect::<Vec<_>>()
        .join("/");
    let (content_hash, stamp, fault) = match content(&path) {
        Ok((hash, stamp)) => (hash, Some(stamp), None),
        Err(error) => {
            let fault = format!("{error}; check that the file is there and may be read");
            // Of its own, so that no two such files pass for copies.
            let hash = blake3::hash(format!("{relative}\0{fault}").as_bytes());
            (hash.to_hex().to_string(), None, Some(fault))
        }
    };
    InputFile {
        path,
        relative,
        content_hash,
        fault,
        stamp,
    }
}
