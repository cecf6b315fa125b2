//! Notes what a review was made with, and finds it again: the March review can be made in December.

use std::collections::BTreeMap;

use records::fleet::{InterventionRow, VerdictRow};

use super::erase::{erased, mark};
use super::load::NOTED;
use crate::rule_file::RuleText;
use crate::store::{Review, Run, Store, StoreError, io, put_file, write_rows_file};
use crate::summarise::FlownCounts;

/// Folder of the stored rule texts.
const PACKS: &str = "packs";

/// What the fleet folder says besides records and flight list, as a review keeps it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Noted {
    /// Flights flown, received and used, by type and month.
    pub flown: Vec<FlownCounts>,
    /// What the operator changed.
    pub interventions: Vec<InterventionRow>,
    /// What people who looked at events say of them.
    pub verdicts: Vec<VerdictRow>,
}

impl Noted {
    /// Writes one file a table and returns their names, in the order of [`NOTED`]. Verdicts on flights that
    /// were erased are left out.
    fn write(&self, store: &Store) -> Result<[Option<String>; 3], StoreError> {
        let [flown, interventions, verdicts] = NOTED;
        let gone = erased(store);
        let kept: Vec<VerdictRow> = self
            .verdicts
            .iter()
            .filter(|row| !gone.contains(&mark(&row.flight_id)))
            .cloned()
            .collect();
        Ok([
            write_rows_file(store.root(), flown, &self.flown)?,
            write_rows_file(store.root(), interventions, &self.interventions)?,
            write_rows_file(store.root(), verdicts, &kept)?,
        ])
    }
}

/// Publishes what a review is made with and returns its run; where the newest runs say so already, that
/// run. `review.pack` is filled in here.
///
/// # Errors
/// The store cannot be written, or another process published first.
pub fn note_review(
    store: &mut Store,
    mut review: Review,
    rules: &[RuleText],
    noted: &Noted,
) -> Result<u64, StoreError> {
    let noted = noted.write(store)?;
    let holds = |store: &Store, number: u64| {
        let mut tables = NOTED.iter().zip(&noted);
        tables.all(|(table, file)| store.files_at(table, number).iter().eq(file))
    };
    let texts: BTreeMap<&str, &str> = rules
        .iter()
        .map(|rule| (rule.stem.as_str(), rule.text.as_str()))
        .collect();
    let bytes = serde_json::to_vec_pretty(&texts).map_err(|error| StoreError::Rows {
        table: PACKS.to_owned(),
        detail: error.to_string(),
    })?;
    review.pack = format!("{PACKS}/{}.json", &blake3::hash(&bytes).to_hex()[..24]);
    // Back to the last change of the rows: a review of the same rows may have been made before.
    let newest_first = (1..=store.number()).rev().zip(store.runs().iter().rev());
    let same = newest_first
        .take_while(|(_, run)| run.review.is_some())
        .find(|(number, run)| run.review.as_ref() == Some(&review) && holds(store, *number));
    if let Some((number, _)) = same {
        return Ok(number);
    }
    let mut run = Run {
        kind: "review".to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        ..Run::default()
    };
    if !store.files(PACKS).contains(&review.pack) {
        put_file(store.root(), &review.pack, &bytes)?;
        run.add(PACKS, Some(review.pack.clone()));
    }
    for (table, file) in NOTED.iter().zip(noted.clone()) {
        let now = store.files(table);
        if !now.iter().eq(&file) {
            for old in now {
                run.remove(table, old);
            }
            run.add(table, file);
        }
    }
    run.review = Some(review);
    store.publish(run)
}

/// The store as it was after review `number`, what that review was made with, and its rules.
///
/// # Errors
/// There is no such run, it is no review, or the rules cannot be read.
pub fn noted_review(
    store: Store,
    number: u64,
) -> Result<(Store, Review, Vec<RuleText>), StoreError> {
    let numbered = (1_u64..).zip(store.runs());
    let reviews: Vec<String> = numbered
        .filter(|(_, run)| run.review.is_some())
        .map(|(number, _)| number.to_string())
        .collect();
    let store = store.as_of(number)?;
    let Some(review) = store.runs().last().and_then(|run| run.review.clone()) else {
        return Err(StoreError::NoReview { number, reviews });
    };
    let path = store.root().join(&review.pack);
    let bytes = std::fs::read(&path).map_err(io("read", &path))?;
    let texts: BTreeMap<String, String> =
        serde_json::from_slice(&bytes).map_err(|error| StoreError::Damaged {
            path,
            detail: error.to_string(),
        })?;
    let rules = texts.into_iter().map(|(stem, text)| RuleText {
        path: format!("{stem}.toml, as it was in run {number}"),
        stem,
        text,
    });
    let rules = rules.collect();
    Ok((store, review, rules))
}
