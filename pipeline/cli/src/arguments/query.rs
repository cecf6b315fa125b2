//! What can be asked.

use std::path::PathBuf;

use clap::Args;

/// A query and where to ask it.
#[derive(Debug, Args)]
pub(crate) struct Query {
    /// Output folder of a review
    #[arg(value_name = "OUT", required_unless_present = "list")]
    pub(crate) out: Option<PathBuf>,
    /// One statement that only reads
    #[arg(value_name = "SQL", conflicts_with_all = ["file", "named", "list", "tables"])]
    pub(crate) sql: Option<String>,
    /// Read the statement from this file
    #[arg(long, value_name = "FILE.sql", conflicts_with_all = ["named", "list", "tables"])]
    pub(crate) file: Option<PathBuf>,
    /// Ask a query that comes with the program
    #[arg(long, value_name = "NAME", conflicts_with_all = ["list", "tables"])]
    pub(crate) named: Option<String>,
    /// List the queries that come with the program
    #[arg(long, conflicts_with = "tables")]
    pub(crate) list: bool,
    /// List the tables: where from, columns with types, rows
    #[arg(long)]
    pub(crate) tables: bool,
    /// Store folder [default: OUT/restricted/store]
    #[arg(long, value_name = "DIR")]
    pub(crate) store: Option<PathBuf>,
    /// Show at most so many rows; a note tells where there are more
    #[arg(long, value_name = "N")]
    pub(crate) limit: Option<usize>,
}
