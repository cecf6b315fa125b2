//! The flip test: verdicts are reached again on samples that are a little late, early, high or low.
//!
//! A verdict that does not survive what a recorder may do to a channel says little about the flight. What
//! is perturbed is one recorded channel at a time, as it lies in the store: everything derived is derived
//! again and judged by the same engine. `docs/robustness.md` is the user's side of it.

mod again;
mod channels;
mod select;
mod survive;
#[cfg(test)]
mod tests;
mod vary;

pub(crate) use again::{Again, Approach, flip};
pub(crate) use select::{Subject, What, subjects};
