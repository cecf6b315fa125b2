//! Which rule has judged which sample file: what detect has left to do.

use std::collections::{BTreeMap, BTreeSet};

use super::load::RESULTS;
use super::rows_out::without;
use crate::rule_file::CheckedRule;
use crate::store::{Run, Store, StoreError};

/// By rule, the hash of all that decides its results.
pub(super) type Hashes = BTreeMap<String, String>;

/// By sample file, the rules that have judged it.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Judged(BTreeMap<String, Hashes>);

impl Judged {
    /// Folds the runs of the store.
    pub(super) fn of(store: &Store) -> Self {
        let mut state: BTreeMap<String, Hashes> = BTreeMap::new();
        for run in store.runs() {
            // Before the files that were merged leave.
            for (new, old) in &run.merged {
                let as_before = old.first().and_then(|old| state.get(old)).cloned();
                state.insert(new.clone(), as_before.unwrap_or_default());
            }
            for file in run.removed.get("samples").into_iter().flatten() {
                // A file that goes takes its results along; one of the same name is judged again.
                state.remove(file);
            }
            for hashes in state.values_mut() {
                hashes.retain(|rule, _| !run.dropped.contains(rule));
            }
            for file in &run.judged {
                let hashes = state.entry(file.clone()).or_default();
                hashes.extend(run.rules.clone());
            }
        }
        Self(state)
    }

    /// Rules whose results are in the store and are not those of this pack.
    pub(super) fn stale(&self, pack: &Hashes) -> BTreeSet<String> {
        let judged = self.0.values().flatten();
        judged
            .filter(|(rule, hash)| pack.get(*rule) != Some(hash))
            .map(|(rule, _)| rule.clone())
            .collect()
    }

    /// Forgets these rules.
    pub(super) fn drop_rules(&mut self, rules: &BTreeSet<String>) {
        for hashes in self.0.values_mut() {
            hashes.retain(|rule, _| !rules.contains(rule));
        }
    }

    /// The rules of the pack that have not judged this file.
    pub(super) fn missing(&self, file: &str, pack: &Hashes) -> BTreeSet<String> {
        let known = self.0.get(file);
        pack.keys()
            .filter(|rule| known.is_none_or(|known| !known.contains_key(*rule)))
            .cloned()
            .collect()
    }

    /// What has judged this file.
    pub(super) fn rules(&self, file: &str) -> Hashes {
        self.0.get(file).cloned().unwrap_or_default()
    }
}

/// The hash of every rule: its own meaning, that of the rules it reads, and the program.
pub(super) fn hashes(pack: &[CheckedRule]) -> Hashes {
    pack.iter()
        .map(|rule| {
            let mut hasher = blake3::Hasher::new();
            hasher.update(env!("CARGO_PKG_VERSION").as_bytes());
            for read in with_read(pack, &BTreeSet::from([rule.id.clone()])) {
                hasher.update(read.text_hash.as_bytes());
            }
            (rule.id.clone(), hasher.finalize().to_hex()[..16].to_owned())
        })
        .collect()
}

/// These rules and those they read, directly or not, in the order of the pack.
pub(crate) fn with_read<'p>(
    pack: &'p [CheckedRule],
    rules: &BTreeSet<String>,
) -> Vec<&'p CheckedRule> {
    let mut wanted = rules.clone();
    loop {
        let read: BTreeSet<String> = pack
            .iter()
            .filter(|rule| wanted.contains(&rule.id))
            .flat_map(CheckedRule::may_read)
            .filter(|input| pack.iter().any(|rule| rule.id == *input))
            .collect();
        let before = wanted.len();
        wanted.extend(read);
        if wanted.len() == before {
            break;
        }
    }
    let rules = pack.iter();
    rules.filter(|rule| wanted.contains(&rule.id)).collect()
}

/// Notes in `run` what takes the results of these rules out of the store.
///
/// # Errors
/// A file of the store is missing or damaged, or a new one cannot be written.
pub(super) fn drop_results(
    store: &Store,
    rules: &BTreeSet<String>,
    run: &mut Run,
) -> Result<(), StoreError> {
    if rules.is_empty() {
        return Ok(());
    }
    for table in RESULTS {
        without(
            store,
            table,
            &|row| row.rule.is_some_and(|rule| rules.contains(rule)),
            run,
        )?;
    }
    run.dropped = rules.iter().cloned().collect();
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hashes_of(pairs: &[(&str, &str)]) -> Hashes {
        let own = |(rule, hash): &(&str, &str)| ((*rule).to_owned(), (*hash).to_owned());
        pairs.iter().map(own).collect()
    }

    fn detect(files: &[&str], rules: &[(&str, &str)], dropped: &[&str]) -> Run {
        let own = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
        Run {
            kind: "detect".to_owned(),
            judged: own(files),
            rules: hashes_of(rules),
            dropped: own(dropped),
            ..Run::default()
        }
    }

    #[test]
    fn what_is_left_to_judge_follows_rules_and_files() {
        let folder = tempfile::TempDir::new().unwrap();
        let mut store = Store::open(folder.path()).unwrap();
        let pack = hashes_of(&[("a", "1"), ("b", "1")]);
        store
            .publish(detect(&["x", "y"], &[("a", "1"), ("b", "0")], &[]))
            .unwrap();
        let mut state = Judged::of(&store);
        assert_eq!(state.stale(&pack), BTreeSet::from(["b".to_owned()]));
        state.drop_rules(&state.stale(&pack));
        assert_eq!(state.missing("x", &pack), BTreeSet::from(["b".to_owned()]));
        assert_eq!(state.missing("new", &pack).len(), 2);

        // The new version of b judges x; then x and y become one file.
        store
            .publish(detect(&["x"], &[("b", "1")], &["b"]))
            .unwrap();
        let state = Judged::of(&store);
        assert!(state.stale(&pack).is_empty());
        assert!(state.missing("x", &pack).is_empty());
        assert_eq!(state.missing("y", &pack), BTreeSet::from(["b".to_owned()]));
        store.publish(detect(&["y"], &[("b", "1")], &[])).unwrap();
        let mut merge = Run::default();
        merge
            .merged
            .insert("xy".to_owned(), vec!["x".to_owned(), "y".to_owned()]);
        merge.remove("samples", "x".to_owned());
        merge.remove("samples", "y".to_owned());
        store.publish(merge).unwrap();
        let state = Judged::of(&store);
        assert!(state.missing("xy", &pack).is_empty());
        assert_eq!(state.missing("x", &pack).len(), 2);
    }
}
