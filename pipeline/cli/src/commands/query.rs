//! `query`: SQL over the tables of a review and over its store, read-only.

mod lists;
mod output;

use std::path::Path;

use rules::query::{Prepared, QueryError, Session, Sources, named_query};
use rules::stages::restricted_folder;
use rules::store::Store;

use super::{Outcome, access};
use crate::arguments::{Global, Query};
use crate::context::{engine_options, note_to_stderr};
use crate::failure::Failure;
use output::Output;

pub(crate) fn run(global: &Global, command: &Query) -> Result<Outcome, Failure> {
    let Some(out) = command.out.as_deref().filter(|_| !command.list) else {
        return lists::named(global);
    };
    let store = store(command, out)?;
    let sources = Sources::find(out, store.as_ref()).map_err(failure)?;
    let session = Session::open(sources, engine_options(global)).map_err(failure)?;
    if command.tables {
        return lists::tables(global, &session);
    }
    let (name, text) = text(command)?;
    let query = session.prepare(&name, &text).map_err(failure)?;
    let is_restricted = note(global, out, &query)?;
    let mut output = Output::new(global, is_restricted, query.columns.clone())?;
    let more = session
        .run(query, command.limit, &mut |rows| output.rows(rows))
        .map_err(failure)?;
    output.finish()?;
    if let (true, Some(limit)) = (more, command.limit) {
        note_to_stderr(global, &format!("there are more rows than --limit {limit}"))?;
    }
    Ok(Outcome::Clean)
}

/// The store, where there is one: whoever has `share/` alone has none.
fn store(command: &Query, out: &Path) -> Result<Option<Store>, Failure> {
    let inside = out.join("restricted").join("store");
    let folder = command.store.as_ref().unwrap_or(&inside);
    if folder.join("runs").is_dir() {
        let store = Store::open_existing(folder).map_err(Failure::plain)?;
        return Ok(Some(store));
    }
    match &command.store {
        None => Ok(None),
        Some(folder) => Err(Failure::text(format!(
            "{} is no store: expected the folder that `glidetally review` was given as --store",
            folder.display()
        ))),
    }
}

/// The statement, and what it is called in messages.
fn text(command: &Query) -> Result<(String, String), Failure> {
    if let Some(sql) = &command.sql {
        return Ok(("query".to_owned(), sql.clone()));
    }
    if let Some(path) = &command.file {
        let text = std::fs::read_to_string(path).map_err(|error| {
            let path = path.display();
            Failure::text(format!(
                "cannot read {path}: {error}; --file takes a file with one SQL statement"
            ))
        })?;
        return Ok((path.display().to_string(), text));
    }
    if let Some(name) = &command.named {
        let query = named_query(name).map_err(failure)?;
        return Ok((format!("{name}.sql"), query.text.to_owned()));
    }
    Err(Failure::text(
        "nothing is asked: give a statement such as \"select * from rates limit 5\", or --file FILE.sql, or \
         --named NAME; --list shows the names, --tables what can be asked",
    ))
}

/// Notes a look at single approaches, before anything is shown: what cannot be noted is not shown. Says whether
/// it is one.
fn note(global: &Global, out: &Path, query: &Prepared) -> Result<bool, Failure> {
    let tables: Vec<String> = query.restricted().map(ToString::to_string).collect();
    if tables.is_empty() {
        return Ok(false);
    }
    if let Some(file) = &global.output {
        access::outside_share(out, "--output", file, "rows from restricted tables")?;
    }
    let restricted = restricted_folder(out).map_err(Failure::plain)?;
    access::note(&restricted, "query", "-", &tables.join(","))?;
    let few = min_flights(out).map_or_else(
        || "few flights".to_owned(),
        |least| format!("fewer than {least} flights"),
    );
    let text = format!(
        "this reads {}: rows of single approaches are restricted, and counts of {few} may identify flights; \
         the result is for the owner of {} \
         only (docs/privacy.md)",
        tables.join(", "),
        restricted.display()
    );
    note_to_stderr(global, &text)?;
    Ok(true)
}

/// The smallest number of flights of which the review shows a cell.
fn min_flights(out: &Path) -> Option<u64> {
    let text = std::fs::read_to_string(out.join("share").join("run.json")).ok()?;
    let run: serde_json::Value = serde_json::from_str(&text).ok()?;
    run.pointer("/thresholds/min_flights")?.as_u64()
}

fn failure(error: QueryError) -> Failure {
    match error {
        QueryError::Fault(fault) => Failure::diagnostic(*fault),
        QueryError::Sink(error) => Failure::Write(error),
        other => Failure::plain(other),
    }
}
