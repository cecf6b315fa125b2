//! The input: every file of the records folder that may hold records, with the hash of its bytes; the files
//! of one recording together.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::groups::grouped;
use super::watch::{Stamp, content};
use crate::error::RecordsError;
use crate::fleet::Fleet;
use crate::load::table_file::{self, ENDINGS, has_ending};
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

/// One file of flight records, or the files that hold one recording in parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputFile {
    /// Where it lies, absolute; of the first part where there are several, which may be missing.
    pub path: PathBuf,
    /// Relative to the fleet folder, with forward slashes.
    pub relative: String,
    /// BLAKE3 of its bytes, hexadecimal; of its path and fault where it cannot be read.
    pub content_hash: String,
    /// Why it cannot be read.
    pub fault: Option<String>,
    /// The fault in a few words.
    pub(super) reason: &'static str,
    /// The name of the recording, where it lies in parts.
    pub(super) recording: Option<String>,
    /// The files that are there, in the order of `fleet.toml`; one where the recording is not in parts.
    pub(super) parts: Vec<PartFile>,
}

/// One file of an input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct PartFile {
    pub(super) path: PathBuf,
    pub(super) relative: String,
    pub(super) content_hash: String,
    /// Index of the part among those of `fleet.toml`.
    pub(super) part: usize,
    pub(super) fault: Option<String>,
    /// From before it was hashed; none where it cannot be read.
    pub(super) stamp: Option<Stamp>,
}

impl InputFile {
    /// The files that it consists of and that are there.
    pub fn files(&self) -> impl Iterator<Item = Source<'_>> {
        self.parts.iter().map(PartFile::source)
    }

    pub(super) fn source(&self) -> Source<'_> {
        Source {
            path: &self.path,
            relative: &self.relative,
        }
    }

    /// What is not in parts.
    pub(super) fn single(file: PartFile, reason: &'static str) -> Self {
        Self {
            path: file.path.clone(),
            relative: file.relative.clone(),
            content_hash: file.content_hash.clone(),
            fault: file.fault.clone(),
            reason,
            recording: None,
            parts: vec![file],
        }
    }

    /// The name of the file or of the recording, which is the flight id where nothing else tells it.
    pub(super) fn stem(&self) -> String {
        let name = self.recording.clone();
        name.unwrap_or_else(|| self.source().stem())
    }
}

impl PartFile {
    pub(super) fn source(&self) -> Source<'_> {
        Source {
            path: &self.path,
            relative: &self.relative,
        }
    }

    /// Something that cannot be read.
    fn faulty(path: PathBuf, relative: String, fault: String) -> Self {
        // Of its own, so that no two such files pass for copies.
        let hash = blake3::hash(format!("{relative}\0{fault}").as_bytes());
        Self {
            path,
            relative,
            content_hash: hash.to_hex().to_string(),
            part: 0,
            fault: Some(fault),
            stamp: None,
        }
    }
}

/// The parameter maps that the parts of each input get, by their place in `fleet.toml`; empty where there is
/// none, none fits one of them, or a file cannot be read.
#[must_use]
pub fn chosen_maps(fleet: &Fleet, files: &[InputFile]) -> Vec<Vec<usize>> {
    let chosen = |source: Source<'_>| {
        let opened = table_file::open(source.path).ok()?;
        map_of(opened.schema(), fleet)
    };
    files
        .par_iter()
        .map(|file| file.files().map(chosen).collect::<Option<Vec<usize>>>())
        .map(Option::unwrap_or_default)
        .collect()
}

/// The recordings of the records folder, as Parquet and CSV files, sorted by relative path.
///
/// # Errors
/// When the records folder itself cannot be read, holds no such file, or none that bears the mark of a part
/// where `fleet.toml` names parts. A file, or a folder below, that cannot be read is no error: it is listed
/// with its fault.
pub fn input_files(fleet: &Fleet) -> Result<Vec<InputFile>, RecordsError> {
    let root = absolute(&fleet.root)?;
    let records = absolute(&fleet.records)?;
    let mut found = Found::default();
    walk(&records, &entries, &mut found).map_err(|e| RecordsError::io("read", &records, e))?;
    // The tables of the fleet may lie in the same folder as the records.
    let usual = TABLES.iter().map(|name| root.join(name));
    let named = fleet.tables.iter().filter_map(|path| absolute(path).ok());
    let tables: BTreeSet<PathBuf> = usual.chain(named).collect();
    found.files.retain(|path| !tables.contains(path));
    if found.files.is_empty() && found.closed.is_empty() {
        let message = "no record (.parquet or .csv) in this folder; put flight records there, or \
                       set [records] path in fleet.toml";
        return Err(RecordsError::file(&fleet.records, message));
    }
    let hashed: Vec<PartFile> = found
        .files
        .into_par_iter()
        .map(|path| hashed(path, &root))
        .collect();
    let mut files = grouped(hashed, fleet, &root)?;
    for (path, error) in found.closed {
        let fault = format!("{error}; no record below it was read; check that it may be read");
        let folder = PartFile::faulty(path.clone(), relative(&path, &root), fault);
        files.push(InputFile::single(folder, "unreadable folder"));
    }
    files.sort_by(|a, b| a.relative.cmp(&b.relative));
    Ok(files)
}

fn absolute(path: &Path) -> Result<PathBuf, RecordsError> {
    path.canonicalize()
        .map_err(|e| RecordsError::io("read", path, e))
}

/// What lies below the records folder.
#[derive(Debug, Default)]
struct Found {
    files: Vec<PathBuf>,
    /// Folders that cannot be read, with the reason.
    closed: Vec<(PathBuf, std::io::Error)>,
}

/// Lists a folder as [`entries`] does.
type Listing = dyn Fn(&Path) -> std::io::Result<Vec<(PathBuf, bool)>>;

/// Paths in a folder, and whether each is a folder itself. Links to folders are none: they may lead round in a
/// circle.
fn entries(folder: &Path) -> std::io::Result<Vec<(PathBuf, bool)>> {
    let entry = |entry: std::io::Result<std::fs::DirEntry>| {
        let entry = entry?;
        Ok((entry.path(), entry.file_type()?.is_dir()))
    };
    std::fs::read_dir(folder)?.map(entry).collect()
}

/// Collects the files of a folder and of all below it; only this folder itself being closed is an error.
fn walk(folder: &Path, entries: &Listing, found: &mut Found) -> std::io::Result<()> {
    for (path, is_folder) in entries(folder)? {
        if is_folder {
            if let Err(error) = walk(&path, entries, found) {
                found.closed.push((path, error));
            }
        } else if ENDINGS.iter().any(|ending| has_ending(&path, ending)) && is_input(&path) {
            found.files.push(path);
        }
    }
    Ok(())
}

/// Whether there is something to read. A name that leads nowhere is kept, to be told; a pipe or a
/// device is not opened, for it may never end.
fn is_input(path: &Path) -> bool {
    path.metadata().map_or(true, |found| found.is_file())
}

fn relative(path: &Path, root: &Path) -> String {
    let parts = path.strip_prefix(root).unwrap_or(path).components();
    let parts = parts.map(|part| part.as_os_str().to_string_lossy());
    parts.collect::<Vec<_>>().join("/")
}

fn hashed(path: PathBuf, root: &Path) -> PartFile {
    let relative = relative(&path, root);
    match content(&path) {
        Ok((content_hash, stamp)) => PartFile {
            path,
            relative,
            content_hash,
            part: 0,
            fault: None,
            stamp: Some(stamp),
        },
        Err(error) => {
            let fault = format!("{error}; check that the file is there and may be read");
            PartFile::faulty(path, relative, fault)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_cannot_be_read_hides_only_what_is_below_it() {
        let listed = |folder: &Path| match folder.to_str() {
            Some("r") => Ok([("r/a", true), ("r/x.csv", false), ("r/z", true)]
                .map(|(path, is_folder)| (PathBuf::from(path), is_folder))
                .to_vec()),
            Some("r/z") => Ok(vec![(PathBuf::from("r/z/y.parquet"), false)]),
            _ => Err(std::io::Error::from(std::io::ErrorKind::PermissionDenied)),
        };
        let mut found = Found::default();
        walk(Path::new("r"), &listed, &mut found).unwrap();
        assert_eq!(found.files, ["r/x.csv", "r/z/y.parquet"].map(PathBuf::from));
        assert_eq!(found.closed.len(), 1);
        assert_eq!(found.closed[0].0, Path::new("r/a"));
        assert!(walk(Path::new("r/a"), &listed, &mut found).is_err());
    }
}
