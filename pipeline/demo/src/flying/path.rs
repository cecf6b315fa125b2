//! The ground track of an arrival: straights and arcs, laid out from the threshold outwards.

use crate::steady::Steady as _;
use crate::world::atmosphere::FT_PER_NM;

/// A piece of the track, seen from the threshold outwards.
#[derive(Clone, Copy, Debug)]
struct Piece {
    length_nm: f64,
    /// Signed turn in degrees over the piece, going outwards; 0 = straight.
    turn_deg: f64,
    // Where the piece begins: track distance, position (x out from the threshold along the extended
    // centreline, y to the right as seen by a landing pilot), outward direction.
    start_nm: f64,
    x_nm: f64,
    y_nm: f64,
    outward_deg: f64,
}

/// A ground track by its distance to go.
#[derive(Clone, Debug)]
pub(crate) struct Track {
    pieces: Vec<Piece>,
}

/// A point of the track in the runway frame.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Point {
    /// Out from the threshold along the extended centreline, NM.
    pub(crate) out_nm: f64,
    /// To the right of the centreline as the landing pilot sees it, NM.
    pub(crate) right_nm: f64,
    /// Track minus runway bearing, degrees, −180…180.
    pub(crate) track_deg: f64,
    /// Curvature, radians per NM, positive = turning right.
    pub(crate) curvature: f64,
}

impl Track {
    /// A straight final of `final_nm`, then legs outwards: (turn in degrees, radius, straight after).
    pub(crate) fn new(final_nm: f64, legs: &[(f64, f64, f64)]) -> Self {
        let mut track = Self { pieces: Vec::new() };
        track.push(final_nm, 0.0);
        for (turn_deg, radius_nm, straight_nm) in legs {
            track.push(radius_nm * turn_deg.abs().to_radians(), *turn_deg);
            track.push(*straight_nm, 0.0);
        }
        track
    }

    /// A left or right circuit from overhead the threshold back to it, with its whole length.
    pub(crate) fn circuit(
        upwind_nm: f64,
        final_nm: f64,
        radius_nm: f64,
        right: bool,
    ) -> (Self, f64) {
        let turn = if right { 180.0 } else { -180.0 };
        let half = std::f64::consts::PI * radius_nm;
        let legs = [
            (turn, radius_nm, final_nm + upwind_nm),
            (turn, radius_nm, upwind_nm),
        ];
        (
            Self::new(final_nm, &legs),
            2.0 * (final_nm + upwind_nm + half),
        )
    }

    fn push(&mut self, length_nm: f64, turn_deg: f64) {
        let piece = match self.pieces.last() {
            None => Piece {
                length_nm,
                turn_deg,
                start_nm: 0.0,
                x_nm: 0.0,
                y_nm: 0.0,
                outward_deg: 0.0,
            },
            Some(last) => {
                let (x_nm, y_nm, outward_deg) = last.at(last.length_nm);
                Piece {
                    length_nm,
                    turn_deg,
                    start_nm: last.start_nm + last.length_nm,
                    x_nm,
                    y_nm,
                    outward_deg,
                }
            }
        };
        self.pieces.push(piece);
    }

    /// The point with `to_go_nm` of track left to the threshold (negative = beyond it).
    pub(crate) fn at(&self, to_go_nm: f64) -> Point {
        let index = self
            .pieces
            .partition_point(|piece| piece.start_nm <= to_go_nm)
            .max(1)
            - 1;
        let piece = &self.pieces[index];
        let is_last = index + 1 == self.pieces.len();
        let (x, y, outward) = piece.at(to_go_nm - piece.start_nm);
        let curvature =
            if piece.turn_deg == 0.0 || (is_last && to_go_nm > piece.start_nm + piece.length_nm) {
                0.0
            } else {
                // Flown inwards, a turn keeps its curvature with the sign reversed, and `outward_deg`
                // is measured against the landing pilot's right.
                piece.turn_deg.to_radians() / piece.length_nm
            };
        Point {
            out_nm: x,
            right_nm: y,
            track_deg: (-outward + 540.0).rem_euclid(360.0) - 180.0,
            curvature,
        }
    }
}

impl Piece {
    /// Position and outward direction after `along_nm` of this piece.
    fn at(&self, along_nm: f64) -> (f64, f64, f64) {
        let (sin, cos) = self.outward_deg.to_radians().sine_cosine();
        if self.turn_deg == 0.0 {
            return (
                self.x_nm + along_nm * cos,
                self.y_nm + along_nm * sin,
                self.outward_deg,
            );
        }
        let rate = self.turn_deg.to_radians() / self.length_nm;
        let end = self.outward_deg.to_radians() + rate * along_nm;
        let x_nm = self.x_nm + (end.sine() - sin) / rate;
        let y_nm = self.y_nm + (cos - end.cosine()) / rate;
        (x_nm, y_nm, end.to_degrees())
    }
}

/// Angle of one localizer dot: 105 m either side of the centreline at the threshold is 2 dots, seen
/// from an antenna 300 m beyond the far end.
pub(crate) fn localizer_dot_rad(available_ft: f64) -> f64 {
    ((105.0 / 0.3048) / (available_ft + 300.0 / 0.3048)).arc_tangent() / 2.0
}

/// Distance from the localizer antenna, ft, of a point `out_nm` before the threshold.
pub(crate) fn localizer_range_ft(out_nm: f64, available_ft: f64) -> f64 {
    out_nm * FT_PER_NM + available_ft + 300.0 / 0.3048
}

/// Glide-path deviation in dots (positive = above) of an antenna at `height_ft` above the
/// threshold. One dot is 75 µA, 0.12 of the path angle; the beam starts where the path meets the
/// ground, `crossing_height / tan(path)` beyond the threshold.
pub(crate) fn glide_dots(
    height_ft: f64,
    out_nm: f64,
    glide_path_deg: f64,
    crossing_height_ft: f64,
) -> f64 {
    let range_ft = out_nm * FT_PER_NM + crossing_height_ft / glide_path_deg.to_radians().tangent();
    (height_ft.arc_tangent_of(range_ft).to_degrees() - glide_path_deg) / (0.12 * glide_path_deg)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circuit_comes_back_to_the_threshold() {
        let (track, length_nm) = Track::circuit(4.5, 9.0, 1.6, true);
        let point = track.at(length_nm);
        assert!(point.out_nm.abs() < 1e-9 && point.right_nm.abs() < 1e-9);
        assert!(point.track_deg.abs() < 1e-9);
        // Right circuit: the downwind leg lies to the right of the runway.
        assert!(track.at(length_nm / 2.0).right_nm > 3.0);
    }

    #[test]
    fn on_the_path_is_zero_dots_and_a_dot_is_0_36_degrees() {
        let height = 50.0 + 3.0 * 3f64.to_radians().tangent() * FT_PER_NM;
        assert!(glide_dots(height, 3.0, 3.0, 50.0).abs() < 1e-9);
        let range = 3.0 * FT_PER_NM + 50.0 / 3f64.to_radians().tangent();
        assert!(
            (glide_dots(3.36f64.to_radians().tangent() * range, 3.0, 3.0, 50.0) - 1.0).abs() < 1e-9
        );
    }
}
