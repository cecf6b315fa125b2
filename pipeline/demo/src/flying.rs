//! The flying: from a plan to the noise-free history of a flight.

pub(crate) mod crew;
pub(crate) mod disturbed;
pub(crate) mod fly;
pub(crate) mod guidance;
pub(crate) mod motion;
pub(crate) mod path;
pub(crate) mod state;
