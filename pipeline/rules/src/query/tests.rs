//! A small output folder with one table of each origin, and what may and may not be asked of it.

mod folder;
mod named;
mod reading;
mod refused;
mod results;

use super::{CellRow, QueryError, QueryFault, Session};

/// The fault of a text that must have one.
fn fault(session: &Session, text: &str) -> QueryFault {
    match session.prepare("query", text) {
        Ok(_) => panic!("no fault in {text}"),
        Err(QueryError::Fault(fault)) => *fault,
        Err(other) => panic!("{text}: {other}"),
    }
}

/// The rows of a query, and whether there were more than the limit.
fn asked(session: &Session, text: &str, limit: Option<usize>) -> (Vec<CellRow>, bool) {
    let query = session.prepare("query", text).unwrap();
    let mut all = Vec::new();
    let more = session.run(query, limit, &mut |rows| {
        all.extend(rows);
        Ok(())
    });
    (all, more.unwrap())
}

/// The same as lines of text, cells separated by `|`.
fn lines(session: &Session, text: &str) -> Vec<String> {
    let (rows, _) = asked(session, text, None);
    rows.iter()
        .map(|row| {
            let cells: Vec<String> = row.iter().map(super::Cell::text).collect();
            cells.join("|")
        })
        .collect()
}
