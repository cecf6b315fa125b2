//! Where in the beams of a runway a place is, in dots.

use crate::atmosphere::FT_PER_NM;
use crate::fleet::RunwayEnd;

/// 75 µA are this share of the glide-path angle: nominal, ICAO Annex 10, from memory. Other readings of
/// it have 0.14; what is compared here is how far a needle moves, in halves of a dot.
const DOT_SHARE: f64 = 0.12;
/// Half a localizer's course, two dots, is about this wide at the threshold: 105 m, ICAO Annex 10,
/// quoted.
const HALF_COURSE_FT: f64 = 350.0;
/// Localizer antennas stand this far beyond the end of the runway.
const BEYOND_FT: f64 = 1_000.0;
/// Closer in, antennas and steps of the position count for more than the aircraft's way.
const NEAREST_NM: f64 = 1.0;
/// Beams are received out to here …
const FARTHEST_NM: f64 = 18.0;
/// … and no farther aside than this share of the distance.
const ASIDE: f64 = 0.2;

fn inside(along_nm: f64, offset_nm: f64) -> bool {
    (NEAREST_NM..=FARTHEST_NM).contains(&along_nm) && offset_nm.abs() <= ASIDE * along_nm
}

/// Above (+) or below the glide path, for a height above the threshold.
pub(crate) fn glide_path_dots(
    end: &RunwayEnd,
    (along_nm, offset_nm): (f64, f64),
    height_ft: f64,
) -> Option<f64> {
    let path = end.glide_path_deg.to_radians();
    let to_antenna_ft = along_nm * FT_PER_NM + end.crossing_height_ft / path.tan();
    let angle = (height_ft / to_antenna_ft).atan();
    inside(along_nm, offset_nm).then_some((angle / path - 1.0) / DOT_SHARE)
}

/// Height above the threshold of an aircraft that reads so many dots.
pub(crate) fn path_height_ft(end: &RunwayEnd, along_nm: f64, dots: f64) -> f64 {
    let path = end.glide_path_deg.to_radians();
    let to_antenna_ft = along_nm * FT_PER_NM + end.crossing_height_ft / path.tan();
    to_antenna_ft * (path * (1.0 + DOT_SHARE * dots)).tan()
}

/// Right (+) or left of the centreline.
pub(crate) fn localizer_dots(end: &RunwayEnd, (along_nm, offset_nm): (f64, f64)) -> Option<f64> {
    let from_antenna_ft = along_nm * FT_PER_NM + end.length_ft + BEYOND_FT;
    let half_course = (HALF_COURSE_FT / (end.length_ft + BEYOND_FT)).atan();
    let angle = (offset_nm * FT_PER_NM / from_antenna_ft).atan();
    inside(along_nm, offset_nm).then_some(2.0 * angle / half_course)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn end() -> RunwayEnd {
        RunwayEnd {
            airport: "ZALB".to_owned(),
            ident: "09L".to_owned(),
            latitude_deg: 46.4,
            longitude_deg: -28.2,
            elevation_ft: 212.0,
            bearing_deg: 91.0,
            length_ft: 10_000.0,
            far_elevation_ft: 230.0,
            glide_path_deg: 3.0,
            crossing_height_ft: 50.0,
        }
    }

    #[test]
    fn on_the_path_and_the_centreline_there_are_no_dots() {
        let end = end();
        let height_ft = end.crossing_height_ft + 4.0 * FT_PER_NM * 3f64.to_radians().tan();
        let dots = glide_path_dots(&end, (4.0, 0.0), height_ft).expect("inside");
        assert!(dots.abs() < 1e-9, "{dots}");
        // 0.36 degrees seen from where the path meets the ground, 25,258 ft away: 159 ft.
        let above = glide_path_dots(&end, (4.0, 0.0), height_ft + 159.0).expect("inside");
        assert!((above - 1.0).abs() < 0.005, "{above}");
        assert!((path_height_ft(&end, 4.0, above) - height_ft - 159.0).abs() < 1e-6);
        let right = localizer_dots(&end, (1.0, 350.0 / FT_PER_NM)).expect("inside");
        assert!((1.0..2.0).contains(&right), "{right}");
        assert_eq!(localizer_dots(&end, (0.5, 0.0)), None);
    }
}
