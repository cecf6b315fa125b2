//! Earlier states of the store: which can still be read, and what is not needed for any.

use std::collections::{BTreeMap, BTreeSet};

use super::{Store, StoreError, io};

impl Store {
    /// The store as it was after run `number`, for reading.
    ///
    /// # Errors
    /// There is no such run, or a later run took files of it off the disk.
    pub fn as_of(mut self, number: u64) -> Result<Self, StoreError> {
        if number == 0 || number > self.number() {
            return Err(StoreError::NoRun {
                number,
                newest: self.number(),
            });
        }
        let gone = self.gone();
        let lacking: Vec<u64> = self
            .live_at(number)
            .iter()
            .filter_map(|file| gone.get(file).copied())
            .collect();
        if let Some(by) = lacking.iter().min().copied() {
            let kind = usize::try_from(by - 1)
                .ok()
                .and_then(|at| self.runs().get(at));
            return Err(StoreError::Gone {
                number,
                files: lacking.len(),
                by,
                kind: kind.map(|run| run.kind.clone()).unwrap_or_default(),
            });
        }
        self.truncate(number);
        Ok(self)
    }

    /// Files of all tables after run `number`.
    #[must_use]
    pub fn live_at(&self, number: u64) -> BTreeSet<String> {
        let runs = self.runs().iter();
        let tables: BTreeSet<&String> = runs.flat_map(|run| run.added.keys()).collect();
        tables
            .into_iter()
            .flat_map(|table| self.files_at(table, number))
            .collect()
    }

    /// Files that a run took off the disk and none has written again, with the number of that run.
    #[must_use]
    pub fn gone(&self) -> BTreeMap<String, u64> {
        let mut gone = BTreeMap::new();
        for (number, run) in (1_u64..).zip(self.runs()) {
            for file in run.added.values().flatten() {
                gone.remove(file);
            }
            gone.extend(run.gone.iter().map(|file| (file.clone(), number)));
        }
        gone
    }

    /// Files of earlier states that neither the present one nor any review since run `before` needs.
    #[must_use]
    pub fn history(&self, before: u64) -> BTreeSet<String> {
        let runs = || (1_u64..).zip(self.runs());
        let reviews = runs().filter(|(number, run)| run.review.is_some() && *number >= before);
        let mut needed = self.live_at(self.number());
        for (number, _) in reviews {
            needed.extend(self.live_at(number));
        }
        let gone = self.gone();
        let named = self.runs().iter().flat_map(|run| run.added.values());
        named
            .flatten()
            .filter(|file| !needed.contains(*file) && !gone.contains_key(*file))
            .cloned()
            .collect()
    }

    /// Takes the files that runs say are gone off the disk; returns how many were still there, and their
    /// bytes.
    ///
    /// # Errors
    /// A file cannot be removed, or the log cannot be read.
    pub fn remove_gone(&mut self) -> Result<(usize, u64), StoreError> {
        // Another process may have written one of them again meanwhile.
        self.refresh()?;
        let mut removed = (0, 0);
        for file in self.gone().keys() {
            let path = self.root().join(file);
            let Ok(about) = path.metadata() else {
                continue;
            };
            match std::fs::remove_file(&path) {
                Ok(()) => removed = (removed.0 + 1, removed.1 + about.len()),
                Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
                Err(error) => return Err(io("remove", &path)(error)),
            }
        }
        Ok(removed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::{Review, Run};

    fn run(kind: &str, added: &[&str], removed: &[&str]) -> Run {
        let own = |files: &[&str]| files.iter().map(|file| (*file).to_owned()).collect();
        Run {
            kind: kind.to_owned(),
            added: BTreeMap::from([("events".to_owned(), own(added))]),
            removed: BTreeMap::from([("events".to_owned(), own(removed))]),
            review: (kind == "review").then(Review::default),
            ..Run::default()
        }
    }

    fn store_of(runs: Vec<Run>) -> (tempfile::TempDir, Store) {
        let folder = tempfile::TempDir::new().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        std::fs::create_dir(folder.path().join("events")).unwrap();
        for run in runs {
            for file in run.added.values().flatten() {
                std::fs::write(folder.path().join(file), b"rows").unwrap();
            }
            store.publish(run).unwrap();
        }
        (folder, store)
    }

    #[test]
    fn history_keeps_what_reviews_need_and_no_more() {
        let (folder, mut store) = store_of(vec![
            run("load", &["events/a"], &[]),
            run("load", &["events/b"], &["events/a"]),
            run("review", &[], &[]),
            run("load", &["events/c"], &["events/b"]),
        ]);
        let own = |files: &[&str]| -> BTreeSet<String> {
            files.iter().map(|file| (*file).to_owned()).collect()
        };
        assert_eq!(store.history(1), own(&["events/a"]));
        assert_eq!(store.history(4), own(&["events/a", "events/b"]));
        let mut cut = run("collect", &[], &[]);
        cut.gone = store.history(1);
        store.publish(cut).unwrap();
        assert_eq!(store.remove_gone().unwrap(), (1, 4));
        assert_eq!(store.remove_gone().unwrap(), (0, 0));
        assert!(!folder.path().join("events/a").exists());
        assert_eq!(store.history(1), own(&[]));
        let again = || Store::open_existing(folder.path()).unwrap();
        assert_eq!(again().as_of(3).unwrap().files("events"), ["events/b"]);
        let error = again().as_of(1).err().expect("refused").to_string();
        assert!(error.contains("by run 5, kind `collect`"), "{error}");
        // Whoever writes the file again brings the state back.
        std::fs::write(folder.path().join("events/a"), b"rows").unwrap();
        store.publish(run("load", &["events/a"], &[])).unwrap();
        assert_eq!(again().as_of(1).unwrap().files("events"), ["events/a"]);
        assert_eq!(store.remove_gone().unwrap(), (0, 0));
    }
}
