//! `store`: what a store holds, how it came about, whether it is whole, and what nobody needs in it.

use std::path::{Path, PathBuf};

use rules::stages::{LOOKED_AFTER, loaded_inputs};
use rules::store::{Run, Store, verify};

use super::Outcome;
use super::store_smaller::{collect, compact, cut_history, erase, flight_ids};
use crate::arguments::{Global, StoreCommand, StoreFolder};
use crate::context::note_to_stderr;
use crate::failure::Failure;
use crate::progress::bar;
use crate::show::Sheet;

pub(crate) fn run(global: &Global, command: &StoreCommand) -> Result<Outcome, Failure> {
    match command {
        StoreCommand::Status(folder) => status(global, &open(folder)?),
        StoreCommand::Log(folder) => log(global, &open(folder)?),
        StoreCommand::Verify(folder) => whole(global, &open(folder)?),
        StoreCommand::Compact(folder) => compact(global, &mut open_to_write(folder)?),
        StoreCommand::Erase {
            folder,
            flights,
            fleet,
            dry_run,
        } => {
            let flights = flight_ids(flights, fleet.as_deref())?;
            erase(global, &mut open_to_write(folder)?, &flights, *dry_run)
        }
        StoreCommand::Collect {
            folder,
            history,
            before,
            older_than,
            dry_run,
        } => {
            let mut store = open(folder)?;
            if *history {
                store = open_to_write(folder)?;
                cut_history(global, &mut store, before.unwrap_or(1), *dry_run)?;
            }
            collect(global, &store, *older_than, *dry_run)
        }
    }
}

/// The store of an output folder, or the folder itself; one that is not there is not made.
fn open(folder: &StoreFolder) -> Result<Store, Failure> {
    Store::open_existing(&root(folder)?).map_err(Failure::plain)
}

/// The same, where runs are to be published.
fn open_to_write(folder: &StoreFolder) -> Result<Store, Failure> {
    Store::open(&root(folder)?).map_err(Failure::plain)
}

fn root(folder: &StoreFolder) -> Result<PathBuf, Failure> {
    let inside = folder.path.join("restricted").join("store");
    let is_store = |path: &Path| path.join("runs").is_dir();
    [inside, folder.path.clone()]
        .into_iter()
        .find(|path| is_store(path))
        .ok_or_else(|| {
            Failure::text(format!(
                "{} is no store and holds none: expected the output folder of a review, with \
                 restricted/store in it, or the folder that was given as --store",
                folder.path.display()
            ))
        })
}

fn status(global: &Global, store: &Store) -> Result<Outcome, Failure> {
    let mut sheet = Sheet::new(&["what", "files", "bytes"]);
    for table in LOOKED_AFTER {
        let files = store.files(table);
        let mut bytes = 0;
        for file in &files {
            let path = store.root().join(file);
            let about = std::fs::metadata(&path).map_err(|error| {
                Failure::text(format!(
                    "{}: {error}; `glidetally store verify` tells what else is missing",
                    path.display()
                ))
            })?;
            bytes += about.len();
        }
        sheet.row([table.to_owned(), files.len().to_string(), bytes.to_string()]);
    }
    let inputs = loaded_inputs(store).len();
    let named = |run: &Run| format!("{} by version {}", run.kind, run.version);
    let last = store.runs().last().map(named);
    sheet.print(global)?;
    note_to_stderr(
        global,
        &format!(
            "run {}{}; {inputs} inputs loaded",
            store.number(),
            last.map(|last| format!(", {last}")).unwrap_or_default()
        ),
    )?;
    Ok(Outcome::Clean)
}

fn log(global: &Global, store: &Store) -> Result<Outcome, Failure> {
    let mut sheet = Sheet::new(&[
        "run",
        "kind",
        "version",
        "configuration",
        "rules",
        "inputs",
        "judged",
        "added",
        "removed",
    ]);
    for (number, run) in (1_u64..).zip(store.runs()) {
        let short = |hash: &str| hash.get(..8).unwrap_or(hash).to_owned();
        let count = |files: &std::collections::BTreeMap<String, Vec<String>>| {
            files.values().map(Vec::len).sum::<usize>().to_string()
        };
        sheet.row([
            number.to_string(),
            run.kind.clone(),
            run.version.clone(),
            short(&run.config_hash),
            short(&run.rules_hash),
            run.inputs.len().to_string(),
            run.judged.len().to_string(),
            count(&run.added),
            count(&run.removed),
        ]);
    }
    sheet.print(global)?;
    Ok(Outcome::Clean)
}

fn whole(global: &Global, store: &Store) -> Result<Outcome, Failure> {
    let progress = bar(global, "reading", "files");
    let problems = verify(store, &LOOKED_AFTER, &|done, all| {
        progress.set_length(all as u64);
        progress.set_position(done as u64);
    })
    .map_err(Failure::plain)?;
    progress.finish_and_clear();
    let mut sheet = Sheet::new(&["file", "problem"]);
    for problem in &problems {
        sheet.row([problem.file.clone(), problem.what.clone()]);
    }
    sheet.print(global)?;
    let files: usize = LOOKED_AFTER
        .iter()
        .map(|table| store.files(table).len())
        .sum();
    note_to_stderr(
        global,
        &format!(
            "run {}: {files} files read, {} with a problem",
            store.number(),
            problems.len()
        ),
    )?;
    Ok(if problems.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Findings
    })
}
