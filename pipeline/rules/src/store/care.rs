//! Looking after a store: is everything there and as it was written, and what does nobody need.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::samples::pair_hash;
use super::{Store, StoreError, io};

/// Something in a store that is not as it should be.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// File, relative to the store.
    pub file: String,
    /// What is wrong with it.
    pub what: String,
}

/// Files that no run names, left by a writer that was interrupted, or that a run has taken away.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Strays {
    /// Paths, in order.
    pub files: Vec<PathBuf>,
    /// Their size together.
    pub bytes: u64,
}

/// Reads every file that belongs to the store and holds it against its name, which is made of its
/// content; and its rows against those of its partner.
///
/// # Errors
/// The store cannot be read at all; what is wrong with single files is returned.
pub fn verify(
    store: &Store,
    tables: &[&str],
    progress: &dyn Fn(usize, usize),
) -> Result<Vec<Problem>, StoreError> {
    let mut problems = BTreeSet::new();
    let live: Vec<(&str, Vec<String>)> = tables
        .iter()
        .map(|table| (*table, store.files(table)))
        .collect();
    let all = live.iter().map(|(_, files)| files.len()).sum();
    let mut seen: BTreeMap<&String, &str> = BTreeMap::new();
    let mut done = 0;
    for (table, files) in &live {
        for file in files {
            done += 1;
            progress(done, all);
            let mut problem = |what: String| {
                problems.insert(Problem {
                    file: file.clone(),
                    what,
                });
            };
            if seen.insert(file, table).is_some() {
                problem("is named twice by the log: its rows count double".to_owned());
            }
            match check(store.root(), table, file) {
                Ok(None) => {}
                Ok(Some(what)) => problem(what),
                Err(StoreError::Io { source, .. })
                    if source.kind() == std::io::ErrorKind::NotFound =>
                {
                    problem("is missing".to_owned());
                }
                Err(error) => problem(error.to_string()),
            }
        }
    }
    for (file, run) in store.gone() {
        if store.root().join(&file).exists() {
            problems.insert(Problem {
                file,
                what: format!(
                    "run {run} took it off the disk and it is still there: `glidetally store collect` \
                     finishes that"
                ),
            });
        }
    }
    Ok(problems.into_iter().collect())
}

/// What is wrong with one file, if anything.
fn check(root: &Path, table: &str, file: &str) -> Result<Option<String>, StoreError> {
    let read = |name: &str| {
        let path = root.join(name);
        std::fs::read(&path).map_err(io("read", &path))
    };
    let bytes = read(file)?;
    let hash = match table {
        // Named after both files of the pair.
        "samples" => pair_hash(&bytes, &read(&file.replacen("samples/", "approaches/", 1))?),
        "approaches" => pair_hash(&read(&file.replacen("approaches/", "samples/", 1))?, &bytes),
        _ => blake3::hash(&bytes),
    };
    let stem = Path::new(file).file_stem().unwrap_or_default();
    if stem.to_string_lossy() != hash.to_hex()[..24] {
        return Ok(Some(
            "its content is not what was written: restore it from a copy".to_owned(),
        ));
    }
    if file.ends_with(".json") {
        return Ok(None);
    }
    // The bytes are those that were written; that they are rows is the last thing to know.
    let path = root.join(file);
    let open = File::open(&path).map_err(io("open", &path))?;
    let rows = ParquetRecordBatchReaderBuilder::try_new(open)
        .map(|builder| builder.metadata().file_metadata().num_rows());
    Ok(match rows {
        Ok(0) => Some("has no row".to_owned()),
        Ok(_) => None,
        Err(error) => Some(error.to_string()),
    })
}

/// Files of the store folder that no run names and that are older than `age`: younger ones may belong
/// to a writer that is at work.
///
/// # Errors
/// A folder cannot be read.
pub fn strays(store: &Store, tables: &[&str], age: Duration) -> Result<Strays, StoreError> {
    let gone = store.gone();
    let named: BTreeSet<&String> = store
        .runs()
        .iter()
        .flat_map(|run| run.added.values().flatten())
        .filter(|file| !gone.contains_key(*file))
        .collect();
    let mut strays = Strays::default();
    for folder in tables.iter().copied().chain(["runs"]) {
        let mut left = vec![store.root().join(folder)];
        while let Some(path) = left.pop() {
            if !path.exists() {
                continue;
            }
            for entry in std::fs::read_dir(&path).map_err(io("read", &path))? {
                let entry = entry.map_err(io("read", &path))?;
                let at = entry.path();
                // Another process may have moved it into place meanwhile.
                let Ok(about) = entry.metadata() else {
                    continue;
                };
                if about.is_dir() {
                    left.push(at);
                    continue;
                }
                let relative = at.strip_prefix(store.root()).unwrap_or(&at);
                let relative = relative.to_string_lossy().replace('\\', "/");
                let run = folder == "runs" && relative.ends_with(".json");
                let old = about.modified().is_ok_and(|time| {
                    SystemTime::now()
                        .duration_since(time)
                        .is_ok_and(|passed| passed >= age)
                });
                if !run && old && !named.contains(&relative) {
                    strays.bytes += about.len();
                    strays.files.push(at);
                }
            }
        }
    }
    strays.files.sort();
    Ok(strays)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::{Run, write_rows_file};
    use serde::{Deserialize, Serialize};

    const TABLES: [&str; 1] = ["events"];

    #[derive(Serialize, Deserialize)]
    struct Row {
        value: f64,
    }

    fn store_of_two() -> (tempfile::TempDir, Store, Vec<String>) {
        let folder = tempfile::TempDir::new().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        let files: Vec<String> = [1.0, 2.0]
            .map(|value| {
                let name = write_rows_file(folder.path(), "events", &[Row { value }]);
                name.unwrap().unwrap()
            })
            .to_vec();
        let added = BTreeMap::from([("events".to_owned(), files.clone())]);
        store
            .publish(Run {
                added,
                ..Run::default()
            })
            .unwrap();
        (folder, store, files)
    }

    fn problems(store: &Store) -> Vec<Problem> {
        verify(store, &TABLES, &|_, _| {}).unwrap()
    }

    #[test]
    fn a_missing_a_changed_and_a_double_file_are_told_apart() {
        let (folder, mut store, files) = store_of_two();
        assert_eq!(problems(&store), []);
        let added = BTreeMap::from([("events".to_owned(), vec![files[1].clone()])]);
        store
            .publish(Run {
                added,
                ..Run::default()
            })
            .unwrap();
        let path = folder.path().join(&files[0]);
        let mut bytes = std::fs::read(&path).unwrap();
        bytes[40] ^= 1;
        std::fs::write(&path, bytes).unwrap();
        let found = problems(&store);
        let of = |file: &String| {
            let one = found.iter().find(|problem| problem.file == *file);
            one.map(|problem| problem.what.as_str()).unwrap_or_default()
        };
        assert!(of(&files[0]).contains("not what was written"), "{found:?}");
        assert!(of(&files[1]).contains("twice"), "{found:?}");
        std::fs::remove_file(&path).unwrap();
        assert!(
            problems(&store)
                .iter()
                .any(|problem| problem.what == "is missing")
        );
    }

    #[test]
    fn only_what_no_run_names_and_is_old_enough_is_stray() {
        let (folder, store, _) = store_of_two();
        let half = folder.path().join("events/x.77.part");
        std::fs::write(&half, b"half").unwrap();
        std::fs::write(folder.path().join("runs/probe-1"), b"probe").unwrap();
        let found = strays(&store, &TABLES, Duration::ZERO).unwrap();
        assert_eq!((found.files.len(), found.bytes), (2, 9), "{found:?}");
        assert_eq!(found.files[0], store.root().join("events/x.77.part"));
        let young = strays(&store, &TABLES, Duration::from_secs(3_600)).unwrap();
        assert_eq!(young, Strays::default());
    }
}
