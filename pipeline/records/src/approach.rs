//! Finds the approaches of one flight at the recorder's own rate, before anything is resampled.
//!
//! Numbers here that name no source are judgement, no source: each says what it allows for;
//! together they were tried on the real flights in `tests/data/real/`.

mod contact;
mod heights;
mod initiation;
mod kind;
mod low_points;
mod outcome;
mod setting;
mod signals;
mod start;
mod touchdown;
mod turns;

pub(crate) use contact::{Evidence, ROLL_END_KT, touchdown_g, uncertainty_ft};
pub(crate) use heights::{Level, levels};
pub(crate) use initiation::{Initiation, initiation};
pub(crate) use kind::approach_kind;
pub(crate) use low_points::low_points;
pub(crate) use outcome::{Arrival, Outcome, arrivals};
pub(crate) use setting::contradiction;
pub(crate) use signals::Signals;
pub(crate) use start::{level_s, start_s};
pub(crate) use touchdown::{bounces, touchdown_sink_fpm};
