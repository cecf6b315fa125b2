//! One statement, and one that only reads.
//!
//! An allow-list over the syntax tree, not a list of what is forbidden: what a later version of the parser
//! learns stays refused. The plan is checked once more ([`only_reads`]), for what hides inside a query.

use datafusion::execution::context::SQLOptions;
use datafusion::logical_expr::LogicalPlan;
use datafusion::sql::parser::{DFParserBuilder, Statement};
use datafusion::sql::sqlparser::ast::{Query, SetExpr, Statement as Sql};
use datafusion::sql::sqlparser::dialect::GenericDialect;

use super::words::fault_of;
use super::{QueryError, QueryFault};

const WHAT_WORKS: &str = "a query starts with SELECT, WITH, EXPLAIN, DESCRIBE or SHOW; nothing else is run, so \
                          that tables and store stay as the review made them";

/// Reads the one statement of a text.
///
/// # Errors
/// The text does not parse, is empty, holds several statements, or one that does not only read.
pub(super) fn read(name: &str, text: &str) -> Result<Statement, QueryError> {
    let dialect = GenericDialect {};
    let mut statements = DFParserBuilder::new(text)
        .with_dialect(&dialect)
        .build()
        .and_then(|mut parser| parser.parse_statements())
        .map_err(|error| fault_of(name, text, &error))?;
    let Some(statement) = statements.pop_front() else {
        let fault = QueryFault::new(name, text, "the query is empty");
        return Err(fault.help(Some(WHAT_WORKS.to_owned())).into());
    };
    if !statements.is_empty() {
        let message = format!("{} statements, expected one", statements.len() + 1);
        let help = "give them one after the other";
        let fault = QueryFault::new(name, text, message);
        return Err(fault.help(Some(help.to_owned())).into());
    }
    if reads(&statement) {
        Ok(statement)
    } else {
        Err(refused(name, text))
    }
}

fn reads(statement: &Statement) -> bool {
    match statement {
        Statement::Statement(sql) => sql_reads(sql),
        Statement::Explain(explain) => reads(&explain.statement),
        Statement::CreateExternalTable(_) | Statement::CopyTo(_) | Statement::Reset(_) => false,
    }
}

fn sql_reads(sql: &Sql) -> bool {
    match sql {
        Sql::Explain { statement, .. } => sql_reads(statement),
        Sql::Query(query) => query_reads(query),
        other => matches!(
            other,
            Sql::ExplainTable { .. }
                | Sql::ShowTables { .. }
                | Sql::ShowColumns { .. }
                | Sql::ShowFunctions { .. }
        ),
    }
}

/// A query may hold a statement that writes as its last part, or name a table to write to.
fn query_reads(query: &Query) -> bool {
    let parts = query.with.iter().flat_map(|with| &with.cte_tables);
    parts.map(|part| &part.query).all(|part| query_reads(part)) && body_reads(&query.body)
}

fn body_reads(body: &SetExpr) -> bool {
    match body {
        SetExpr::Select(select) => select.into.is_none(),
        SetExpr::Query(query) => query_reads(query),
        SetExpr::SetOperation { left, right, .. } => body_reads(left) && body_reads(right),
        SetExpr::Values(_) | SetExpr::Table(_) => true,
        _ => false,
    }
}

/// Whether a statement is answered from the list of all tables.
pub(super) fn lists_tables(statement: &Statement) -> bool {
    matches!(statement, Statement::Statement(sql) if matches!(**sql, Sql::ShowTables { .. }))
}

/// Whether a statement names a table in a way that is not seen as one.
pub(super) fn lists_columns(statement: &Statement) -> bool {
    matches!(statement, Statement::Statement(sql) if matches!(**sql, Sql::ShowColumns { .. }))
}

/// Refuses a plan with anything in it that writes or sets, such as `WITH … INSERT` and `SELECT … INTO`.
pub(super) fn only_reads(name: &str, text: &str, plan: &LogicalPlan) -> Result<(), QueryError> {
    let options = SQLOptions::new()
        .with_allow_ddl(false)
        .with_allow_dml(false)
        .with_allow_statements(false);
    let checked = options.verify_plan(plan);
    checked.map_err(|_| refused(name, text))
}

fn refused(name: &str, text: &str) -> QueryError {
    // Comments may come first: the place is that of the first word.
    let start = first_word(text);
    let word = text[start..].split(|c: char| !c.is_alphanumeric()).next();
    let word = word.unwrap_or_default();
    let message = format!("`{}` is refused: queries only read", word.to_uppercase());
    let span = Some(start..start + word.len());
    let fault = QueryFault::new(name, text, message).at(span, "does more than read");
    fault.help(Some(WHAT_WORKS.to_owned())).into()
}

/// Byte at which the first word after blanks and line comments starts.
fn first_word(text: &str) -> usize {
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let words = line.trim_start();
        if !words.is_empty() && !words.starts_with("--") {
            return start + line.len() - words.len();
        }
        start += line.len();
    }
    0
}
