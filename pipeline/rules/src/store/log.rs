//! The run log: what belongs to the store, and since when.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::files::sync;
use super::run::Run;
use super::{StoreError, exclusive, io};
use futures::TryStreamExt;
use object_store::local::LocalFileSystem;
use object_store::{ObjectStore, ObjectStoreExt, PutMode, PutPayload};

/// A store folder opened for reading and, by one process at a time, for writing.
pub struct Store {
    root: PathBuf,
    objects: Arc<dyn ObjectStore>,
    runtime: tokio::runtime::Runtime,
    runs: Vec<Run>,
}

const RUNS: &str = "runs";

fn run_file(number: u64) -> String {
    format!("{number:08}.json")
}

impl Store {
    /// Opens the store for writing, making the folder if there is none.
    ///
    /// # Errors
    /// The folder cannot be made or read, a run file does not read, or the file system cannot keep
    /// two writers apart.
    pub fn open(root: &Path) -> Result<Self, StoreError> {
        if !root.exists() {
            std::fs::create_dir_all(root).map_err(io("create the store folder", root))?;
            super::owner_only(root)?;
        }
        let store = Self::open_existing(root)?;
        store
            .runtime
            .block_on(exclusive::check(store.objects.as_ref(), &store.root, RUNS))?;
        Ok(store)
    }

    /// Opens a store that is there, for reading; nothing in it is touched.
    ///
    /// # Errors
    /// There is no such folder, or a run file does not read or is missing.
    pub fn open_existing(root: &Path) -> Result<Self, StoreError> {
        let root = root
            .canonicalize()
            .map_err(io("open the store folder", root))?;
        let objects: Arc<dyn ObjectStore> =
            Arc::new(LocalFileSystem::new_with_prefix(&root).map_err(|source| {
                StoreError::Object {
                    doing: "open the folder",
                    source,
                }
            })?);
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(io("start a runtime for", &root))?;
        let mut store = Self {
            root,
            objects,
            runtime,
            runs: Vec::new(),
        };
        store.refresh()?;
        Ok(store)
    }

    /// Reads the log again: what other processes have published is seen from here on.
    ///
    /// # Errors
    /// A run file does not read or is missing.
    pub fn refresh(&mut self) -> Result<(), StoreError> {
        self.runs = self.read_log()?;
        Ok(())
    }

    fn read_log(&self) -> Result<Vec<Run>, StoreError> {
        let object = |doing| move |source| StoreError::Object { doing, source };
        self.runtime.block_on(async {
            let prefix = object_store::path::Path::from(RUNS);
            let mut names: Vec<_> = self
                .objects
                .list(Some(&prefix))
                .map_ok(|meta| meta.location)
                .try_collect()
                .await
                .map_err(object("list the runs"))?;
            names.retain(|name| name.as_ref().ends_with(".json"));
            names.sort();
            let mut runs = Vec::with_capacity(names.len());
            for (number, name) in (1_u64..).zip(names) {
                // A run is what it is on top of all before it: without one, nothing after it holds.
                if name.filename() != Some(&run_file(number)) {
                    return Err(StoreError::Hole {
                        missing: run_file(number),
                        found: name.to_string(),
                    });
                }
                let bytes = self
                    .objects
                    .get(&name)
                    .await
                    .map_err(object("read a run"))?
                    .bytes()
                    .await
                    .map_err(object("read a run"))?;
                runs.push(serde_json::from_slice(&bytes).map_err(|source| {
                    StoreError::RunFile {
                        name: name.to_string(),
                        source,
                    }
                })?);
            }
            Ok(runs)
        })
    }

    /// Folder of the store.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Number of the newest run; 0 for an empty store.
    #[must_use]
    pub fn number(&self) -> u64 {
        self.runs.len() as u64
    }

    /// The runs, oldest first; run N is at N − 1.
    #[must_use]
    pub fn runs(&self) -> &[Run] {
        &self.runs
    }

    /// Files of `table` after run `number`, relative to the store, in the order of publishing.
    #[must_use]
    pub fn files_at(&self, table: &str, number: u64) -> Vec<String> {
        let mut files: Vec<String> = Vec::new();
        for run in self
            .runs
            .iter()
            .take(usize::try_from(number).unwrap_or(usize::MAX))
        {
            if let Some(removed) = run.removed.get(table) {
                let removed: BTreeSet<&String> = removed.iter().collect();
                files.retain(|file| !removed.contains(file));
            }
            files.extend(run.added.get(table).into_iter().flatten().cloned());
        }
        files
    }

    /// Files of `table` now.
    #[must_use]
    pub fn files(&self, table: &str) -> Vec<String> {
        self.files_at(table, self.number())
    }

    /// Forgets, in memory, every run after `number`.
    pub(super) fn truncate(&mut self, number: u64) {
        self.runs
            .truncate(usize::try_from(number).unwrap_or(usize::MAX));
    }

    /// Makes `run` part of the store and returns its number: from here on it is seen, whole.
    ///
    /// # Errors
    /// [`StoreError::Raced`] when another process took the number; nothing of `run` is seen then.
    pub fn publish(&mut self, run: Run) -> Result<u64, StoreError> {
        let number = self.number() + 1;
        let name = object_store::path::Path::from(format!("{RUNS}/{}", run_file(number)));
        let json = serde_json::to_vec_pretty(&run).map_err(|source| StoreError::RunFile {
            name: name.to_string(),
            source,
        })?;
        let put = self.runtime.block_on(self.objects.put_opts(
            &name,
            PutPayload::from(json),
            PutMode::Create.into(),
        ));
        match put {
            Ok(_) => {
                // Published is what outlasts a power cut.
                let path = self.root.join(name.as_ref());
                sync(&path)?;
                if let Some(folder) = path.parent() {
                    sync(folder)?;
                }
                self.runs.push(run);
                Ok(number)
            }
            Err(object_store::Error::AlreadyExists { .. }) => Err(StoreError::Raced { number }),
            Err(source) => Err(StoreError::Object {
                doing: "publish a run",
                source,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    fn adding(table: &str, files: &[&str]) -> Run {
        let files = files.iter().map(|file| (*file).to_owned()).collect();
        Run {
            kind: "load".to_owned(),
            added: BTreeMap::from([(table.to_owned(), files)]),
            ..Run::default()
        }
    }

    #[test]
    fn a_run_is_seen_from_the_moment_it_is_published_and_by_whoever_opens_later() {
        let folder = tempfile::TempDir::new().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        // A file that no run names is not part of the store.
        std::fs::create_dir(folder.path().join("events")).unwrap();
        std::fs::write(folder.path().join("events/stray.parquet"), b"").unwrap();
        assert!(store.files("events").is_empty());
        assert_eq!(
            store
                .publish(adding("events", &["events/a.parquet"]))
                .unwrap(),
            1
        );
        let later = Store::open(folder.path()).unwrap();
        assert_eq!(later.files("events"), ["events/a.parquet"]);
        assert_eq!(later.number(), 1);
    }

    #[test]
    fn earlier_states_can_be_read_again() {
        let folder = tempfile::TempDir::new().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        store.publish(adding("events", &["a", "b"])).unwrap();
        let mut second = adding("events", &["c"]);
        second
            .removed
            .insert("events".to_owned(), vec!["a".to_owned()]);
        store.publish(second).unwrap();
        assert_eq!(store.files_at("events", 1), ["a", "b"]);
        assert_eq!(store.files("events"), ["b", "c"]);
    }

    #[test]
    fn of_two_writers_one_loses_and_nothing_of_it_is_seen() {
        let folder = tempfile::TempDir::new().unwrap();
        let mut one = Store::open(folder.path()).unwrap();
        let mut other = Store::open(folder.path()).unwrap();
        one.publish(adding("events", &["mine"])).unwrap();
        let error = other.publish(adding("events", &["theirs"])).unwrap_err();
        assert!(matches!(error, StoreError::Raced { number: 1 }), "{error}");
        assert_eq!(
            Store::open(folder.path()).unwrap().files("events"),
            ["mine"]
        );
    }

    #[test]
    fn the_loser_reads_again_and_takes_the_next_number() {
        let folder = tempfile::TempDir::new().unwrap();
        let mut one = Store::open(folder.path()).unwrap();
        let mut other = Store::open(folder.path()).unwrap();
        one.publish(adding("events", &["mine"])).unwrap();
        other.publish(adding("events", &["theirs"])).unwrap_err();
        other.refresh().unwrap();
        assert_eq!(other.files("events"), ["mine"]);
        assert_eq!(other.publish(adding("events", &["theirs"])).unwrap(), 2);
    }

    #[test]
    fn a_missing_run_is_told_and_not_skipped() {
        let folder = tempfile::TempDir::new().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        for name in ["a", "b", "c"] {
            store.publish(adding("events", &[name])).unwrap();
        }
        std::fs::remove_file(folder.path().join("runs/00000002.json")).unwrap();
        let error = Store::open(folder.path()).err().expect("a fault");
        assert!(error.to_string().contains("00000002.json"), "{error}");
    }

    #[test]
    fn a_store_that_is_only_read_is_not_made_and_not_touched() {
        let folder = tempfile::TempDir::new().unwrap();
        let nowhere = folder.path().join("nowhere");
        assert!(Store::open_existing(&nowhere).is_err());
        assert!(!nowhere.exists());
        Store::open_existing(folder.path()).unwrap();
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_run_file_that_does_not_read_is_named() {
        let folder = tempfile::TempDir::new().unwrap();
        std::fs::create_dir(folder.path().join("runs")).unwrap();
        std::fs::write(folder.path().join("runs/00000001.json"), b"{ half").unwrap();
        let error = Store::open(folder.path())
            .err()
            .expect("a fault")
            .to_string();
        assert!(error.contains("00000001.json"), "{error}");
    }
}
