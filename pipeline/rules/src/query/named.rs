//! The queries that come with the program: the one list of its files.

use datafusion::sql::parser::DFParser;
use datafusion::sql::resolve::resolve_table_references;

use super::QueryError;
use super::sources::{Origin, RESTRICTED_TABLES};
use crate::expression::nearest;

macro_rules! query_files {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../../../../queries/", $name, ".sql")))),*]
    };
}

/// Name and text of every query in `queries/`, sorted; a test compares it with the folder.
pub const BUILTIN_QUERIES: &[(&str, &str)] = query_files![
    "coverage_losses",
    "energy_classes_by_airport",
    "flap_margins_by_type",
    "gates_failed_by_criterion",
    "hot_spots",
    "monthly_rates",
    "not_judged_why",
    "second_look_by_rule",
    "signals_of_the_month",
    "training_topics",
];

/// A query with a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedQuery {
    /// Name of its file.
    pub name: &'static str,
    /// First comment line of its text.
    pub title: &'static str,
    /// Its text, comments included.
    pub text: &'static str,
    /// Whether it reads rows that are for the owner only.
    pub restricted: bool,
}

/// All of them, by name.
#[must_use]
pub fn named_queries() -> Vec<NamedQuery> {
    let all = BUILTIN_QUERIES.iter();
    all.map(|(name, text)| NamedQuery {
        name,
        title: title(text),
        text,
        restricted: is_restricted(text),
    })
    .collect()
}

/// The one of this name.
///
/// # Errors
/// There is none.
pub fn named_query(name: &str) -> Result<NamedQuery, QueryError> {
    let all = named_queries();
    let nearest = nearest(name, all.iter().map(|query| query.name)).map(str::to_owned);
    let own = all.into_iter().find(|query| query.name == name);
    own.ok_or_else(|| QueryError::NoSuchQuery {
        name: name.to_owned(),
        nearest,
    })
}

fn title(text: &str) -> &str {
    let line = text.lines().next().unwrap_or_default();
    line.trim_start_matches("--").trim()
}

/// By the names of its tables: nothing is opened for a list. A text that does not parse, which a test excludes,
/// counts as restricted.
fn is_restricted(text: &str) -> bool {
    let Ok(statements) = DFParser::parse_sql(text) else {
        return true;
    };
    statements.iter().any(|statement| {
        resolve_table_references(statement, true).map_or(true, |(tables, _)| {
            tables.iter().any(|table| match table.schema() {
                Some(schema) => schema != Origin::Share.prefix(),
                None => RESTRICTED_TABLES.contains(&table.table()),
            })
        })
    })
}
