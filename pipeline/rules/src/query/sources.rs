//! Which tables there are to ask: those of `share/`, those of `restricted/`, and those of the store.

use std::path::{Path, PathBuf};

use datafusion::common::TableReference;

use super::QueryError;
use crate::expression::nearest;
use crate::stages::STORED;
use crate::store::Store;

/// The tables that a review writes below `restricted/`. Known by name so that one who has `share/` alone is
/// told why a table is not there.
pub const RESTRICTED_TABLES: [&str; 15] = [
    "approaches",
    "arrivals",
    "checkpoints",
    "events",
    "examples",
    "gates",
    "headers",
    "lever_moves",
    "losses",
    "measurements",
    "quality",
    "quarantine",
    "robustness",
    "second_look",
    "suspect",
];

/// The catalogue that all tables are in.
pub(super) const CATALOGUE: &str = "glidetally";
/// Where names without a prefix are looked up.
pub(super) const PLAIN: &str = "tables";
const INFORMATION: &str = "information_schema";

/// Where a table is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// `OUT/share/tables`: groups, small cells withheld; may be passed round.
    Share,
    /// `OUT/restricted/tables`: single approaches, for the owner only.
    Restricted,
    /// The store: single approaches and their samples, for the owner only.
    Store,
}

impl Origin {
    /// All of them, in the order in which names without a prefix are looked up.
    pub const ALL: [Self; 3] = [Self::Share, Self::Restricted, Self::Store];

    /// The prefix of its tables: `share`, `restricted`, `store`.
    #[must_use]
    pub fn prefix(self) -> &'static str {
        match self {
            Self::Share => "share",
            Self::Restricted => "restricted",
            Self::Store => "store",
        }
    }

    /// Whether its rows are for the owner only.
    #[must_use]
    pub fn is_restricted(self) -> bool {
        self != Self::Share
    }
}

/// One table: where it is from and which files hold it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Source {
    pub(super) origin: Origin,
    pub(super) name: String,
    /// In the order of their names; none for a table of the store without rows.
    pub(super) files: Vec<PathBuf>,
}

/// Every table of an output folder and of its store.
#[derive(Debug, Clone)]
pub struct Sources {
    out: PathBuf,
    has_store: bool,
    list: Vec<Source>,
}

impl Sources {
    /// Lists the tables of the output folder `out` and of `store` as it is now.
    ///
    /// A folder that is not there is no error: `share/` alone may have been passed on.
    ///
    /// # Errors
    /// There is no table at all, or a folder cannot be read.
    pub fn find(out: &Path, store: Option<&Store>) -> Result<Self, QueryError> {
        let mut list = Vec::new();
        for origin in [Origin::Share, Origin::Restricted] {
            let folder = out.join(origin.prefix()).join("tables");
            for file in parquet_files(&folder)? {
                let name = file.file_stem().unwrap_or_default().to_string_lossy();
                list.push(Source {
                    origin,
                    name: name.into_owned(),
                    files: vec![file],
                });
            }
        }
        if let Some(store) = store {
            let mut names = STORED.to_vec();
            names.sort_unstable();
            list.extend(names.into_iter().map(|name| {
                // The files that the runs name, never what lies in the folder.
                let files = store.files(name).into_iter();
                let mut files: Vec<PathBuf> = files.map(|file| store.root().join(file)).collect();
                files.sort();
                Source {
                    origin: Origin::Store,
                    name: name.to_owned(),
                    files,
                }
            }));
        }
        if list.is_empty() {
            return Err(QueryError::NoTables {
                path: out.to_owned(),
            });
        }
        Ok(Self {
            out: out.to_owned(),
            has_store: store.is_some(),
            list,
        })
    }

    /// Share first, then restricted, then the store; each by name.
    pub(super) fn iter(&self) -> impl Iterator<Item = &Source> {
        self.list.iter()
    }

    /// The table that a name means. Without a prefix that is the one of `share/`, else of `restricted/`; tables
    /// of the store always need theirs, as many are called the same.
    pub(super) fn named(&self, reference: &TableReference) -> Option<&Source> {
        let schema = reference.schema();
        let foreign = |catalogue: &str| catalogue != CATALOGUE;
        if reference.catalog().is_some_and(foreign) {
            return None;
        }
        self.list.iter().find(|source| {
            source.name == reference.table()
                && match schema {
                    Some(schema) => source.origin.prefix() == schema,
                    None => source.origin != Origin::Store,
                }
        })
    }

    /// What is wrong with a name that means no table, and what to do.
    pub(super) fn complaint(&self, reference: &TableReference) -> (String, Option<String>) {
        let written = written(reference);
        let missing = |what: &str, do_this: &str| {
            let message = format!(
                "table `{written}` is {what}, which {} lacks",
                self.out.display()
            );
            (message, Some(do_this.to_owned()))
        };
        let table = reference.table();
        let has = |origin| self.list.iter().any(|source| source.origin == origin);
        let is_restricted = RESTRICTED_TABLES.contains(&table)
            && matches!(reference.schema(), None | Some("restricted"));
        if is_restricted && !has(Origin::Restricted) {
            let what = "restricted: it lies in restricted/tables";
            return missing(
                what,
                "ask whoever holds the restricted folder; the tables of share/ can be asked without it",
            );
        }
        if reference.schema() == Some("store") && !self.has_store {
            let what = "one of the store";
            return missing(what, "give the store with --store");
        }
        let help = match self.nearest(reference) {
            Some(near) => format!("did you mean `{near}`?"),
            None if looks_like_file(table) => {
                "files cannot be asked, only the tables of a review; --tables lists them".to_owned()
            }
            None => "--tables lists the tables that there are".to_owned(),
        };
        (format!("unknown table `{written}`"), Some(help))
    }

    fn nearest(&self, reference: &TableReference) -> Option<String> {
        let full = |source: &Source| match (reference.schema(), source.origin) {
            (None, origin) if origin != Origin::Store => source.name.clone(),
            _ => format!("{}.{}", source.origin.prefix(), source.name),
        };
        let names: Vec<String> = self.list.iter().map(full).collect();
        let known = || names.iter().map(String::as_str);
        let near = nearest(&written(reference), known());
        // The right name with a prefix missing or wrong.
        let same = || {
            let own = self.list.iter().position(|s| s.name == reference.table());
            own.map(|place| names[place].as_str())
        };
        near.or_else(same).map(str::to_owned)
    }
}

/// Whether a name is one of the tables about tables.
pub(super) fn is_information(reference: &TableReference) -> bool {
    reference.schema() == Some(INFORMATION)
}

/// A name as it was written.
pub(super) fn written(reference: &TableReference) -> String {
    match reference {
        TableReference::Bare { table } => table.to_string(),
        TableReference::Partial { schema, table } => format!("{schema}.{table}"),
        TableReference::Full {
            catalog,
            schema,
            table,
        } => format!("{catalog}.{schema}.{table}"),
    }
}

fn looks_like_file(name: &str) -> bool {
    let path = Path::new(name);
    name.contains(['/', '\\']) || path.extension().is_some()
}

/// The Parquet files directly in a folder, by name; none where there is no such folder.
fn parquet_files(folder: &Path) -> Result<Vec<PathBuf>, QueryError> {
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let refuse = |error: std::io::Error| QueryError::File {
        path: folder.to_owned(),
        detail: error.to_string(),
    };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(refuse)? {
        let path = entry.map_err(refuse)?.path();
        if path.extension().is_some_and(|ending| ending == "parquet") && path.is_file() {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}
