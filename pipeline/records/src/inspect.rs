//! Looks into files that nobody has described yet, and proposes a parameter map with its reasons.
//!
//! A name alone is never enough for [`Confidence::High`]: the numbers must move with the other columns
//! as what the name says. Speeds, heights, shares and tolerances that part one unit or meaning from another are
//! judgement, wide enough for any transport aircraft, unless a source stands beside them. Memory is bounded: some files of each kind, some rows of each file.

mod beams;
mod clock;
mod grid;
mod judge;
mod look;
mod names;
mod settle;
mod write;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::error::RecordsError;
use crate::fleet::{AircraftType, by_name};
use crate::load::table_file::{self, ENDINGS, has_ending};
use grid::{Grid, median};
pub use look::Column;
pub use write::fleet_toml;

/// How sure a proposal is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Confidence {
    /// Worth a look; written as a comment.
    Guess,
    /// Name and range fit, nothing contradicts.
    Likely,
    /// Name, unit and sign fit what the other columns do.
    High,
}

impl Confidence {
    /// As it is printed.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Guess => "guess",
            Self::Likely => "likely",
            Self::High => "high",
        }
    }
}

/// One line of a proposed map.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Catalogue name, `time_s` or `flight_id`.
    pub parameter: String,
    /// Column of the file.
    pub column: String,
    /// Further keys of the entry, as written.
    pub keys: Vec<(&'static str, String)>,
    /// How sure it is.
    pub confidence: Confidence,
    /// Why, in words.
    pub reasons: Vec<String>,
}

/// Files with the same columns and types, and what is proposed for them.
#[derive(Debug, Default)]
pub struct Kind {
    /// All files.
    pub files: Vec<PathBuf>,
    /// Files that lack the flight id, which is then optional.
    pub without_id: usize,
    /// Rows of all files, where they tell.
    pub rows: Option<usize>,
    /// Files that were looked into.
    pub looked_files: usize,
    /// Rows that were looked at.
    pub looked_rows: usize,
    /// Every column.
    pub columns: Vec<Column>,
    /// The map, time and flight id first.
    pub proposals: Vec<Proposal>,
    /// Columns without a proposal, and why.
    pub unmapped: Vec<(String, String)>,
}

/// All kinds, those with most columns first, and the files that could not be read.
#[derive(Debug, Default)]
pub struct Inspection {
    /// By number of columns.
    pub kinds: Vec<Kind>,
    /// File and fault.
    pub refused: Vec<(PathBuf, String)>,
}

type Schema = Vec<(String, String)>;

/// Looks into files and folders.
///
/// # Errors
/// When a path does not exist, a folder cannot be read, or there is no Parquet or CSV file.
pub fn inspect(
    paths: &[PathBuf],
    aircraft: &BTreeMap<String, AircraftType>,
) -> Result<Inspection, RecordsError> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            // Of a fleet folder, its records.
            let records = path.join("records");
            walk(if records.is_dir() { &records } else { path }, &mut files)?;
        } else if path.exists() {
            files.push(path.clone());
        } else {
            return Err(RecordsError::file(path, "there is no such file or folder"));
        }
    }
    files.sort();
    files.dedup();
    if files.is_empty() {
        let path = paths.first().map_or(Path::new("."), PathBuf::as_path);
        return Err(RecordsError::file(
            path,
            "no .parquet or .csv file here; give files of flight records or their folder",
        ));
    }
    let mut inspection = Inspection::default();
    let mut groups: BTreeMap<Schema, (Vec<PathBuf>, Option<usize>)> = BTreeMap::new();
    for file in files {
        match table_file::open(&file) {
            Ok(opened) => {
                let fields = opened.schema().fields().iter();
                let schema = fields
                    .map(|f| (f.name().clone(), f.data_type().to_string()))
                    .collect();
                let rows = opened.known_rows();
                let group = groups.entry(schema).or_insert((Vec::new(), Some(0)));
                group.0.push(file);
                group.1 = group.1.zip(rows).map(|(a, b)| a + b);
            }
            Err(why) => inspection.refused.push((file, why)),
        }
    }
    let mut groups: Vec<_> = groups.into_iter().collect();
    groups.sort_by(|a, b| b.0.len().cmp(&a.0.len()).then_with(|| a.0.cmp(&b.0)));
    let mut merged: Vec<(Schema, Vec<PathBuf>, Option<usize>, usize)> = Vec::new();
    for (schema, (files, rows)) in groups {
        let home = merged
            .iter_mut()
            .find(|(wide, ..)| lacks_only_id(&schema, wide));
        match home {
            Some((_, known, all, without)) => {
                *without += files.len();
                *all = all.zip(rows).map(|(a, b)| a + b);
                known.extend(files);
            }
            None => merged.push((schema, files, rows, 0)),
        }
    }
    for (schema, files, rows, without_id) in merged {
        let mut kind = one_kind(
            &schema,
            &files,
            without_id > 0,
            aircraft,
            &mut inspection.refused,
        );
        kind.files = files;
        kind.rows = rows;
        kind.without_id = without_id;
        inspection.kinds.push(kind);
    }
    Ok(inspection)
}

fn lacks_only_id(schema: &Schema, wide: &Schema) -> bool {
    let lacking: Vec<_> = wide
        .iter()
        .filter(|field| !schema.contains(field))
        .collect();
    let id = |name: &str| names::read(name).has("flight");
    schema.len() + 1 == wide.len() && lacking.len() == 1 && id(&lacking[0].0)
}

fn walk(folder: &Path, into: &mut Vec<PathBuf>) -> Result<(), RecordsError> {
    let fault = |e| RecordsError::io("read", folder, e);
    for entry in std::fs::read_dir(folder).map_err(fault)? {
        let entry = entry.map_err(fault)?;
        let path = entry.path();
        if entry.file_type().map_err(fault)?.is_dir() {
            walk(&path, into)?;
        } else if ENDINGS.iter().any(|ending| has_ending(&path, ending)) {
            into.push(path);
        }
    }
    Ok(())
}

fn one_kind(
    schema: &Schema,
    files: &[PathBuf],
    id_optional: bool,
    aircraft: &BTreeMap<String, AircraftType>,
    refused: &mut Vec<(PathBuf, String)>,
) -> Kind {
    let mut look = look::look(files, schema, refused);
    let names: Vec<names::Name> = look.columns.iter().map(|c| names::read(&c.name)).collect();
    let mut kind = Kind {
        looked_files: look.files,
        looked_rows: look.rows,
        ..Kind::default()
    };
    if let Some((at, seconds, time)) = clock::time(&look, &names) {
        let id = clock::flight_id(&look, &names, id_optional);
        for column in &mut look.columns {
            column.interval_s = interval(&column.values, &seconds);
        }
        let grid = Grid::new(seconds, &look.starts);
        let mut taken = vec![look.columns[at].name.clone()];
        taken.extend(id.iter().map(|id| id.column.clone()));
        let identifying: Vec<String> = look
            .columns
            .iter()
            .map(|c| c.name.clone())
            .filter(|c| !taken.contains(c) && by_name(c).is_some())
            .collect();
        taken.extend(identifying.iter().cloned());
        kind.proposals.push(time);
        kind.proposals.extend(id);
        let (proposals, beside) = settle::all(&look.columns, &names, &grid, &taken, aircraft);
        kind.proposals.extend(proposals);
        kind.unmapped.extend(identifying.into_iter().map(|c| {
            (
                c,
                "its name identifies a person, aircraft, flight or day: left out".to_owned(),
            )
        }));
        kind.unmapped.extend(beside);
    } else {
        kind.unmapped.push((
            "(all)".into(),
            "no column rises as a time does: no map can be proposed".into(),
        ));
    }
    for column in &mut look.columns {
        column.values = Vec::new();
    }
    kind.columns = look.columns;
    kind
}

/// Median time between filled cells.
fn interval(values: &[f64], seconds: &[f64]) -> Option<f64> {
    let mut before = None;
    let mut steps = Vec::new();
    for (value, time) in values.iter().zip(seconds) {
        if value.is_finite() && time.is_finite() {
            steps.extend(
                before
                    .map(|before: f64| time - before)
                    .filter(|step| *step > 0.0),
            );
            before = Some(*time);
        }
    }
    median(steps)
}

#[cfg(test)]
mod tests;
