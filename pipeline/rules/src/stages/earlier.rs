//! How the store differs from what the review of an earlier month was made from.

use std::collections::{BTreeMap, BTreeSet};

use serde::de::DeserializeOwned;

use crate::store::{Store, StoreError, each_batch, read_rows, texts, whole_numbers};
use crate::summarise::{Earlier, Part};

/// The review of an earlier month.
#[derive(Debug, Clone, PartialEq)]
pub enum Before {
    /// There is none.
    None,
    /// It can no longer be read: files of it were taken off the disk.
    Unreadable {
        /// Its run.
        number: u64,
    },
    /// How it differs.
    Review {
        /// Its run.
        number: u64,
        /// Rows of one state that are not in the other.
        earlier: Earlier,
    },
}

/// Finds the newest review before run `number` whose month is earlier than `month`, and reads what has
/// changed since. Files that both states have are not read.
///
/// # Errors
/// A file of the store is missing or damaged.
pub fn before(store: &Store, number: u64, month: Option<&str>) -> Result<Before, StoreError> {
    let Some(month) = month else {
        return Ok(Before::None);
    };
    let numbered = (1..number).zip(store.runs());
    let reviews = numbered.filter_map(|(run, noted)| {
        let last = noted.review.as_ref()?.latest_month.clone()?;
        (last.as_str() < month).then_some((run, last))
    });
    let found = reviews.last();
    let Some((run, last_month)) = found else {
        return Ok(Before::None);
    };
    let gone = store.gone();
    if store
        .live_at(run)
        .iter()
        .any(|file| gone.contains_key(file))
    {
        return Ok(Before::Unreadable { number: run });
    }
    let since = usize::try_from(run).unwrap_or(usize::MAX);
    let until = usize::try_from(number).unwrap_or(usize::MAX);
    let between = store.runs().iter().take(until).skip(since);
    Ok(Before::Review {
        number: run,
        earlier: Earlier {
            last_month,
            gone: only(store, run, number)?,
            come: only(store, number, run)?,
            rules_changed: between.flat_map(|run| run.dropped.clone()).collect(),
        },
    })
}

/// Rows of the files that the state after run `here` has and that after run `there` has not.
fn only(store: &Store, here: u64, there: u64) -> Result<Part, StoreError> {
    fn rows<T: DeserializeOwned>(store: &Store, files: &[String]) -> Result<Vec<T>, StoreError> {
        read_rows(store.root(), files)
    }
    let files = |table: &str| {
        let other: BTreeSet<String> = store.files_at(table, there).into_iter().collect();
        let mut files = store.files_at(table, here);
        files.retain(|file| !other.contains(file));
        files
    };
    Ok(Part {
        approaches: rows(store, &files("approaches"))?,
        judged: judged(store, &files("measurements"))?,
        events: rows(store, &files("events"))?,
    })
}

/// Of the verdicts in these files, what restating needs: by rule, the approaches, and whether it could have fired.
fn judged(
    store: &Store,
    files: &[String],
) -> Result<BTreeMap<String, Vec<(i64, bool)>>, StoreError> {
    let mut judged: BTreeMap<String, Vec<(i64, bool)>> = BTreeMap::new();
    for file in files {
        let columns = ["approach_key", "rule", "status"];
        each_batch(&store.root().join(file), &columns, &mut |batch| {
            let keys = whole_numbers(batch, "approach_key")?;
            let (rules, statuses) = (texts(batch, "rule")?, texts(batch, "status")?);
            let (Some(keys), Some(rules), Some(statuses)) = (keys, rules, statuses) else {
                return Err(format!("expected the columns {}", columns.join(", ")));
            };
            for row in 0..batch.num_rows() {
                let evaluable = matches!(statuses.text(row), Some("event" | "clear"));
                let rule = rules.text(row).unwrap_or_default();
                if !judged.contains_key(rule) {
                    judged.insert(rule.to_owned(), Vec::new());
                }
                if let Some(of_rule) = judged.get_mut(rule) {
                    of_rule.push((keys.value(row), evaluable));
                }
            }
            Ok(())
        })?;
    }
    Ok(judged)
}
