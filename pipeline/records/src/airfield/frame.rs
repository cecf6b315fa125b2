//! A runway's own frame: how far before the threshold, how far right of the centreline.

use crate::atmosphere::M_PER_NM;
use crate::fleet::RunwayEnd;

/// WGS 84: equatorial radius.
const EQUATOR_M: f64 = 6_378_137.0;
/// WGS 84: flattening.
const FLATTENING: f64 = 1.0 / 298.257_223_563;
const ECCENTRICITY_2: f64 = FLATTENING * (2.0 - FLATTENING);

/// The frame of one landing threshold.
///
/// Points are seen from the threshold: azimuth in its horizon plane and the arc that belongs to
/// the straight line through the earth. That is the geodesic within a metre up to 100 km, without
/// its cost per sample, and nothing happens at the 180° meridian or south of the equator.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RunwayFrame {
    latitude_rad: f64,
    longitude_rad: f64,
    origin_m: [f64; 3],
    bearing_rad: f64,
}

impl RunwayFrame {
    pub(crate) fn new(end: &RunwayEnd) -> Self {
        Self::at(end.latitude_deg, end.longitude_deg, end.bearing_deg)
    }

    pub(crate) fn at(latitude_deg: f64, longitude_deg: f64, bearing_deg: f64) -> Self {
        let (latitude_rad, longitude_rad) = (latitude_deg.to_radians(), longitude_deg.to_radians());
        Self {
            latitude_rad,
            longitude_rad,
            origin_m: earth_centred_m(latitude_rad, longitude_rad),
            bearing_rad: bearing_deg.to_radians(),
        }
    }

    /// `(along_nm, offset_nm)`: before the threshold and right of the centreline as a landing
    /// pilot sees it; negative beyond the threshold and left.
    pub(crate) fn place(&self, latitude_deg: f64, longitude_deg: f64) -> (f64, f64) {
        let point = earth_centred_m(latitude_deg.to_radians(), longitude_deg.to_radians());
        let [x, y, z] = [
            point[0] - self.origin_m[0],
            point[1] - self.origin_m[1],
            point[2] - self.origin_m[2],
        ];
        let (sin_lat, cos_lat) = self.latitude_rad.sin_cos();
        let (sin_lon, cos_lon) = self.longitude_rad.sin_cos();
        let east = -sin_lon * x + cos_lon * y;
        let north = -sin_lat * cos_lon * x - sin_lat * sin_lon * y + cos_lat * z;
        let azimuth = east.atan2(north);
        let chord_m = (x * x + y * y + z * z).sqrt();
        let radius_m = self.radius_m(azimuth);
        let arc_m = 2.0 * radius_m * (chord_m / (2.0 * radius_m)).clamp(-1.0, 1.0).asin();
        let (sin, cos) = (azimuth - self.bearing_rad).sin_cos();
        (-arc_m * cos / M_PER_NM, arc_m * sin / M_PER_NM)
    }

    /// Radius of curvature in that direction (Euler's formula).
    fn radius_m(&self, azimuth_rad: f64) -> f64 {
        let sin_lat_2 = self.latitude_rad.sin().powi(2);
        let across = EQUATOR_M / (1.0 - ECCENTRICITY_2 * sin_lat_2).sqrt();
        let along = across * (1.0 - ECCENTRICITY_2) / (1.0 - ECCENTRICITY_2 * sin_lat_2);
        let (sin, cos) = azimuth_rad.sin_cos();
        1.0 / (cos * cos / along + sin * sin / across)
    }
}

/// Earth-centred coordinates of a point on the ellipsoid.
fn earth_centred_m(latitude_rad: f64, longitude_rad: f64) -> [f64; 3] {
    let (sin_lat, cos_lat) = latitude_rad.sin_cos();
    let (sin_lon, cos_lon) = longitude_rad.sin_cos();
    let across = EQUATOR_M / (1.0 - ECCENTRICITY_2 * sin_lat * sin_lat).sqrt();
    [
        across * cos_lat * cos_lon,
        across * cos_lat * sin_lon,
        across * (1.0 - ECCENTRICITY_2) * sin_lat,
    ]
}
