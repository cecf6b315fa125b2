//! Loads and prepares flight records, one flight at a time.
//!
//! The way of the data: [`fleet::open`] reads a fleet folder, [`load`] turns its files of records
//! into [`flight::RawFlight`]s in catalogue names and units, [`prepare`] cleans one flight, finds
//! its approaches and derives their columns, [`samples`] lays them out as Arrow batches.
//! Rules, statistics and the store never appear here, and no query engine either.

pub mod airfield;
mod approach;
pub mod atmosphere;
pub mod catalogue;
pub mod derive;
pub mod energy;
pub mod error;
pub mod fleet;
pub mod flight;
mod habits;
pub mod inspect;
pub mod knowable;
pub mod load;
pub mod pipeline;
pub mod prepare;
mod quality;
pub mod rows;
pub mod samples;
mod series;
#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may fail where it stands")]
mod testing;
pub mod timebase;

pub use error::RecordsError;
