//! One picture for each habit of `docs/measurements.md`.

mod brake;
mod capture;
mod configuration;
mod drag;
mod go_around;
mod level;
mod over_plan;
mod parts;
mod speed;
mod steep;
mod threshold;
mod touchdown;

use crate::fault::Fault;
use crate::review::Review;

/// Draws one picture.
pub(crate) type Picture = fn(&Review) -> Result<String, Fault>;

/// Name of the file and what draws it.
pub(crate) const ALL: [(&str, Picture); 11] = [
    ("touchdown", touchdown::draw),
    ("threshold", threshold::draw),
    ("go-around", go_around::draw),
    ("flap-and-gear", configuration::draw),
    ("level-before-flap", level::draw),
    ("high-and-stowed", over_plan::draw),
    ("speed-for-drag", speed::draw),
    ("steep-while-decelerating", steep::draw),
    ("speedbrake-against-thrust", brake::draw),
    ("path-captured", capture::draw),
    ("drag-late", drag::draw),
];
