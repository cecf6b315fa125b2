//! Where the aircraft was in relation to a runway.
//!
//! Heights do not belong here: they follow from the runway that was matched.
//!
//! Numbers here that name no source are judgement, no source: each says what it allows for;
//! together they were tried on the real flights in `tests/data/real/`.

mod beam;
mod distance;
mod frame;
mod matching;
mod track;

pub(crate) use beam::{glide_path_dots, localizer_dots, path_height_ft};
pub(crate) use distance::{Anchor, track_distance_nm};
pub(crate) use matching::{Landed, match_runway};
pub(crate) use track::Track;

use geographiclib_rs::{Geodesic, InverseGeodesic};

use crate::atmosphere::M_PER_NM;
use crate::series::turn_deg;

/// Geodesic distance and initial bearing on WGS 84 between two points of latitude and longitude.
pub fn distance_and_bearing(from: (f64, f64), to: (f64, f64)) -> (f64, f64) {
    let (distance_m, bearing, _, _): (f64, f64, f64, f64) =
        Geodesic::wgs84().inverse(from.0, from.1, to.0, to.1);
    (distance_m / M_PER_NM, bearing.rem_euclid(360.0))
}

/// Distance on a sphere of 60 NM to the degree, good to half a percent: for checks of plausibility.
pub(crate) fn rough_distance_nm(from: (f64, f64), to: (f64, f64)) -> f64 {
    let north = to.0 - from.0;
    let east = turn_deg(from.1, to.1) * ((from.0 + to.0) / 2.0).to_radians().cos();
    60.0 * north.hypot(east)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may fail where it stands")]
mod tests;
