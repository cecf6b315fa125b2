//! Rule files to checked rules to one aggregate scan to verdicts; the store and its summaries.
//!
//! The only crate that knows the query engine, its threads and the store. See `docs/architecture.md`.

pub mod against;
mod compile;
mod conditions;
pub mod detect;
pub mod expression;
pub mod headline;
mod judge;
pub mod query;
pub mod register;
mod robust;
pub mod rows;
pub mod rule_file;
pub mod rule_test;
pub mod runs;
pub mod stages;
pub mod store;
pub mod summarise;
pub mod what_if;

pub use judge::is_out_of_scope;
