//! `inspect`: what is in files that no map describes yet, and a map to begin with.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Write;

use records::fleet::type_files;
use records::inspect::{Inspection, Kind, fleet_toml, inspect};

use super::Outcome;
use crate::arguments::{Global, Inspect};
use crate::context::note_to_stderr;
use crate::failure::Failure;
use crate::show::{Sections, Sheet};

pub(crate) fn run(global: &Global, command: &Inspect) -> Result<Outcome, Failure> {
    let aircraft = match &command.aircraft {
        Some(folder) => type_files(folder).map_err(Failure::diagnostic)?,
        None => BTreeMap::new(),
    };
    let found = inspect(&command.paths, &aircraft).map_err(Failure::diagnostic)?;
    if let Some(path) = &command.map {
        let fault = |error| {
            Failure::text(format!(
                "cannot write {}: {error}; give a file that does not exist yet",
                path.display()
            ))
        };
        let mut file = File::create_new(path).map_err(fault)?;
        file.write_all(fleet_toml(&found).as_bytes())
            .map_err(fault)?;
    }
    show(global, &found)?;
    for (number, kind) in (1..).zip(&found.kinds) {
        note_to_stderr(global, &looked(number, kind))?;
    }
    for (file, why) in &found.refused {
        note_to_stderr(global, &format!("{}: {why}", file.display()))?;
    }
    if let Some(path) = &command.map {
        note_to_stderr(
            global,
            &format!(
                "{} written: read every line before it is used",
                path.display()
            ),
        )?;
    }
    Ok(if found.refused.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Findings
    })
}

fn looked(number: usize, kind: &Kind) -> String {
    let rows = kind
        .rows
        .map_or("an unknown number of".to_owned(), |rows| rows.to_string());
    let without = match kind.without_id {
        0 => String::new(),
        n => format!(", {n} of them without the flight id"),
    };
    format!(
        "kind {number}: {} files{without}, {rows} rows; looked at {} rows of {} files",
        kind.files.len(),
        kind.looked_rows,
        kind.looked_files
    )
}

fn show(global: &Global, found: &Inspection) -> Result<(), Failure> {
    let mut columns = Sheet::new(&[
        "kind", "column", "type", "every s", "empty %", "lowest", "highest", "values",
    ]);
    let mut proposals = Sheet::new(&["kind", "parameter", "column", "keys", "confidence", "why"]);
    let mut unmapped = Sheet::new(&["kind", "column", "why"]);
    for (number, kind) in (1..).zip(&found.kinds) {
        let number: usize = number;
        for column in &kind.columns {
            let text = |value: Option<f64>| value.map_or_else(String::new, short);
            let empty = 100.0 - 100.0 * column.filled as f64 / kind.looked_rows.max(1) as f64;
            let constant = if column.distinct.len() == 1 {
                "always "
            } else {
                ""
            };
            columns.row([
                number.to_string(),
                column.name.clone(),
                column.data_type.clone(),
                text(column.interval_s),
                format!("{empty:.1}"),
                text(column.low),
                text(column.high),
                format!("{constant}{}", column.distinct.join(" ")),
            ]);
        }
        for proposal in &kind.proposals {
            let keys = proposal
                .keys
                .iter()
                .map(|(key, value)| format!("{key} = {value}"));
            proposals.row([
                number.to_string(),
                proposal.parameter.clone(),
                proposal.column.clone(),
                keys.collect::<Vec<_>>().join(", "),
                proposal.confidence.as_str().to_owned(),
                proposal.reasons.join("; "),
            ]);
        }
        for (column, why) in &kind.unmapped {
            unmapped.row([number.to_string(), column.clone(), why.clone()]);
        }
    }
    let mut sections = Sections::default();
    sections.add("Columns", columns);
    sections.add("Proposed map", proposals);
    sections.add("Columns without a place in the map", unmapped);
    sections.print(global)
}

fn short(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
