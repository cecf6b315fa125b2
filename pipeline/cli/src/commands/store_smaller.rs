//! `store compact|erase|collect`: what makes a store smaller.

use std::collections::BTreeSet;
use std::path::Path;
use std::time::Duration;

use rules::stages::{LOOKED_AFTER, compact as compact_store, erase as erase_flights};
use rules::store::{Run, Store, strays};

use super::Outcome;
use crate::arguments::Global;
use crate::context::note_to_stderr;
use crate::failure::Failure;
use crate::show::Sheet;

pub(super) fn compact(global: &Global, store: &mut Store) -> Result<Outcome, Failure> {
    let report = compact_store(store).map_err(Failure::plain)?;
    let text = if report.before == 0 {
        "nothing to put together".to_owned()
    } else {
        format!(
            "run {}: {} files put together into {}",
            store.number(),
            report.before,
            report.after
        )
    };
    note_to_stderr(global, &text)?;
    Ok(Outcome::Clean)
}

/// The ids as the store has them.
pub(super) fn flight_ids(
    given: &[String],
    fleet: Option<&Path>,
) -> Result<BTreeSet<String>, Failure> {
    let Some(fleet) = fleet else {
        return Ok(given.iter().cloned().collect());
    };
    let fleet = records::fleet::open(fleet).map_err(Failure::diagnostic)?;
    let ids = given.iter().map(|id| fleet.privacy.id(id));
    ids.collect::<Result<_, _>>().map_err(Failure::diagnostic)
}

pub(super) fn erase(
    global: &Global,
    store: &mut Store,
    flights: &BTreeSet<String>,
    dry_run: bool,
) -> Result<Outcome, Failure> {
    let report = erase_flights(store, flights, dry_run).map_err(Failure::plain)?;
    if !report.unknown.is_empty() {
        return Err(Failure::text(format!(
            "no state of the store has flight {}, so that nothing was erased: expected ids as in \
             restricted/tables/approaches.csv, or those of the records together with --fleet",
            report.unknown.join(", ")
        )));
    }
    let done = if dry_run { "would be erased" } else { "erased" };
    let text = format!(
        "{} flights {done}, {} files taken off the disk",
        report.flights, report.files
    );
    note_to_stderr(global, &text)?;
    if !report.reviews.is_empty() {
        let reviews: Vec<String> = report.reviews.iter().map(u64::to_string).collect();
        let text = format!(
            "reviews that counted them cannot be made again: {}",
            reviews.join(", ")
        );
        note_to_stderr(global, &text)?;
    }
    if report.half_written > 0 {
        let text = format!(
            "{} half-written files of other processes may hold them too: run `glidetally store collect \
             --older-than 0` when no load is at work",
            report.half_written
        );
        note_to_stderr(global, &text)?;
    }
    if !dry_run && report.flights > 0 {
        let text = "their records in the fleet folder, and tables and reports that were written, are not \
                    touched: remove the records, and review again";
        note_to_stderr(global, text)?;
    }
    Ok(Outcome::Clean)
}

/// Takes files off the disk that neither the present state nor a review since run `before` needs.
pub(super) fn cut_history(
    global: &Global,
    store: &mut Store,
    before: u64,
    dry_run: bool,
) -> Result<(), Failure> {
    let gone = store.history(before);
    let mut bytes = 0;
    for file in &gone {
        // One that is missing already is what is wanted.
        bytes += std::fs::metadata(store.root().join(file)).map_or(0, |about| about.len());
    }
    if !gone.is_empty() && !dry_run {
        let run = Run {
            kind: "collect".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            gone: gone.clone(),
            ..Run::default()
        };
        store.publish(run).map_err(Failure::plain)?;
        store.remove_gone().map_err(Failure::plain)?;
    }
    let done = if dry_run {
        "would be removed"
    } else {
        "removed"
    };
    let text = format!(
        "{} files of earlier states {done}, {bytes} bytes",
        gone.len()
    );
    note_to_stderr(global, &text)
}

pub(super) fn collect(
    global: &Global,
    store: &Store,
    older_than: u32,
    dry_run: bool,
) -> Result<Outcome, Failure> {
    let age = Duration::from_secs(3_600 * u64::from(older_than));
    let found = strays(store, &LOOKED_AFTER, age).map_err(Failure::plain)?;
    let mut sheet = Sheet::new(&["file"]);
    for path in &found.files {
        if !dry_run {
            match std::fs::remove_file(path) {
                // Gone already: another process collects too.
                Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                    return Err(Failure::text(format!(
                        "cannot remove {}: {error}",
                        path.display()
                    )));
                }
                _ => {}
            }
        }
        let relative = path.strip_prefix(store.root()).unwrap_or(path);
        sheet.row([relative.to_string_lossy().into_owned()]);
    }
    sheet.print(global)?;
    let done = if dry_run {
        "would be removed"
    } else {
        "removed"
    };
    note_to_stderr(
        global,
        &format!(
            "{} files that no run names {done}, {} bytes",
            found.files.len(),
            found.bytes
        ),
    )?;
    Ok(Outcome::Clean)
}
