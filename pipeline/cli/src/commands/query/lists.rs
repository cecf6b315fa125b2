//! What can be asked: the queries with a name, and the tables.

use rules::query::{Origin, Session, TableCard, named_queries};

use super::super::Outcome;
use super::failure;
use crate::arguments::{Format, Global};
use crate::failure::Failure;
use crate::show::{Sheet, print};

pub(super) fn named(global: &Global) -> Result<Outcome, Failure> {
    let mut sheet = Sheet::new(&["name", "reads", "title"]);
    for query in named_queries() {
        let reads = if query.restricted {
            "restricted"
        } else {
            "share"
        };
        sheet.row([query.name, reads, query.title].map(str::to_owned));
    }
    sheet.print(global)?;
    Ok(Outcome::Clean)
}

pub(super) fn tables(global: &Global, session: &Session) -> Result<Outcome, Failure> {
    let cards = session.tables().map_err(failure)?;
    if global.format == Format::Table {
        let blocks: Vec<String> = cards.iter().map(block).collect();
        print(global, &blocks.join("\n"))?;
        return Ok(Outcome::Clean);
    }
    // One row a column: for programs.
    let mut sheet = Sheet::new(&["from", "table", "rows", "column", "type"]);
    for card in &cards {
        let rows = card.rows.to_string();
        let none = [(String::new(), String::new())];
        let columns = if card.columns.is_empty() {
            &none[..]
        } else {
            &card.columns[..]
        };
        for (column, kind) in columns {
            sheet.row([
                card.origin.prefix().to_owned(),
                name(card),
                rows.clone(),
                column.clone(),
                kind.clone(),
            ]);
        }
    }
    sheet.print(global)?;
    Ok(Outcome::Clean)
}

/// The shortest name that means it.
fn name(card: &TableCard) -> String {
    if card.plain {
        card.name.clone()
    } else {
        format!("{}.{}", card.origin.prefix(), card.name)
    }
}

/// A heading and the columns of one table, for people.
fn block(card: &TableCard) -> String {
    let from = match card.origin {
        Origin::Share => "share, may be passed round",
        Origin::Restricted => "restricted, owner only",
        Origin::Store => "store, owner only",
    };
    let mut text = format!("{}  ({from}; {} rows)\n", name(card), card.rows);
    let width = card.columns.iter().map(|(column, _)| column.len()).max();
    for (column, kind) in &card.columns {
        text.push_str(&format!(
            "  {column:width$}  {kind}\n",
            width = width.unwrap_or(0)
        ));
    }
    text
}
