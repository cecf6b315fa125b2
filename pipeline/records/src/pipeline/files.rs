//! The input: every Parquet file of the records folder, with the hash of its bytes.

use std::fs::File;
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use crate::error::RecordsError;
use crate::fleet::Fleet;

/// One file of flight records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputFile {
    /// Where it lies, absolute.
    pub path: PathBuf,
    /// Relative to the fleet folder, with forward slashes.
    pub relative: String,
    /// BLAKE3 of its bytes, hexadecimal.
    pub content_hash: String,
}

/// The Parquet files of the records folder, sorted by relative path.
///
/// # Errors
/// When a folder or file cannot be read, or there is no Parquet file at all.
pub fn input_files(fleet: &Fleet) -> Result<Vec<InputFile>, RecordsError> {
    let root = absolute(&fleet.root)?;
    let mut paths = Vec::new();
    walk(&absolute(&fleet.records)?, &mut paths)?;
    // The flight list may lie in the same folder as the records where there is no fleet.toml.
    paths.retain(|path| *path != root.join("flights.parquet"));
    if paths.is_empty() {
        let message = "no Parquet file in this folder; put flight records there, or set \
                       [records] path in fleet.toml";
        return Err(RecordsError::file(&fleet.records, message));
    }
    let mut files = paths
        .into_par_iter()
        .map(|path| hashed(path, &root))
        .collect::<Result<Vec<_>, _>>()?;
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
        } else if path.extension().is_some_and(|e| e == "parquet") && path.is_file() {
            into.push(path);
        }
    }
    Ok(())
}

fn hashed(path: PathBuf, root: &Path) -> Result<InputFile, RecordsError> {
    let mut hasher = blake3::Hasher::new();
    File::open(&path)
        .and_then(|file| hasher.update_reader(file).map(|_| ()))
        .map_err(|e| RecordsError::io("read", &path, e))?;
    let parts = path.strip_prefix(root).unwrap_or(&path).components();
    let relative = parts
        .map(|part| part.as_os_str().to_string_lossy())
        .collect::<Vec<_>>()
        .join("/");
    Ok(InputFile {
        relative,
        content_hash: hasher.finalize().to_hex().to_string(),
        path,
    })
}
