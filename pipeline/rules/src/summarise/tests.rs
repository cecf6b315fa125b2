//! Small fleets made row by row, and what is said of them.

mod chance;
mod comparisons;
pub(super) mod made;
mod people;
mod shown;
