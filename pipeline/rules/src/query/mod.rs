//! Query: read-only SQL over the tables of a review and over its store.
//!
//! A text goes through four steps: one statement that only reads ([`statement`]), the tables it names
//! ([`sources`]), the tables it really scans ([`reads`], for the access log), and rows in one order and one
//! number format ([`order`], [`cells`]). Nothing here writes a file, prints, or opens a file that the text
//! names: tables are known by name only.

mod cells;
mod error;
mod named;
mod order;
mod reads;
mod session;
mod sources;
mod statement;
mod table;
#[cfg(test)]
mod tests;
mod words;

pub use cells::{Cell, CellRow};
pub use error::{QueryError, QueryFault};
pub use named::{BUILTIN_QUERIES, NamedQuery, named_queries, named_query};
pub use reads::ReadTable;
pub use session::{Prepared, Session};
pub use sources::{Origin, RESTRICTED_TABLES, Sources};
pub use table::TableCard;
