//! Airports, their runways and landing ends: the frame in which everything is flown.

use crate::steady::Steady as _;
use crate::world::atmosphere::FT_PER_NM;
use crate::world::earth::{Position, direct};
use crate::world::places::{AIRPORTS, FEW};

/// Where an arrival comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Arrival {
    North,
    East,
    South,
    West,
}

impl Arrival {
    pub(crate) const ALL: [Self; 4] = [Self::North, Self::East, Self::South, Self::West];

    /// Its name in truth.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::North => "north",
            Self::East => "east",
            Self::South => "south",
            Self::West => "west",
        }
    }

    /// Bearing from the airport to an aircraft that comes this way, degrees true.
    pub(crate) fn bearing_deg(self) -> f64 {
        90.0 * f64::from(self as u8)
    }
}

/// One runway, given by its low-numbered end.
pub(crate) struct Runway {
    pub(crate) low: &'static str,
    pub(crate) high: &'static str,
    pub(crate) bearing_deg: f64,
    pub(crate) length_ft: f64,
    pub(crate) low_elevation_ft: f64,
    pub(crate) high_elevation_ft: f64,
    pub(crate) low_displaced_ft: f64,
    /// Shift of the low end from the reference point, ft: along the bearing, to the right.
    pub(crate) shift_ft: (f64, f64),
    pub(crate) ils: bool,
    pub(crate) glide_path_deg: f64,
}

/// One airport with its share of the traffic.
pub(crate) struct Airport {
    pub(crate) ident: &'static str,
    /// Share of arrivals, any unit.
    pub(crate) weight: f64,
    pub(crate) reference: Position,
    pub(crate) runways: &'static [Runway],
    /// Share of arrivals from north, east, south and west.
    pub(crate) arrivals: [f64; 4],
    /// Arrival from which aircraft come in high, and by how much at 20 NM, ft: the planted place
    /// effect.
    pub(crate) high_arrival: Option<(Arrival, f64)>,
    /// Mean deviation from ISA over the year and half its seasonal swing, K.
    pub(crate) climate_k: (f64, f64),
}

/// The landing end of a runway, displaced threshold applied: the frame everything is flown in.
#[derive(Clone, Debug)]
pub(crate) struct LandingEnd {
    pub(crate) name: &'static str,
    pub(crate) threshold: Position,
    pub(crate) bearing_deg: f64,
    pub(crate) elevation_ft: f64,
    /// Rise of the runway in the landing direction, ft per ft.
    pub(crate) slope: f64,
    /// From threshold to far pavement end.
    pub(crate) available_ft: f64,
    pub(crate) ils: bool,
    pub(crate) glide_path_deg: f64,
    pub(crate) crossing_height_ft: f64,
}

impl Airport {
    /// All landing ends, low end first.
    pub(crate) fn ends(&self) -> Vec<LandingEnd> {
        self.runways
            .iter()
            .flat_map(|runway| [self.end(runway, true), self.end(runway, false)])
            .collect()
    }

    fn corners(&self, runway: &Runway) -> (Position, Position) {
        let along = direct(
            self.reference,
            runway.bearing_deg,
            runway.shift_ft.0 * 0.3048,
        );
        let low = direct(along, runway.bearing_deg + 90.0, runway.shift_ft.1 * 0.3048);
        (
            low,
            direct(low, runway.bearing_deg, runway.length_ft * 0.3048),
        )
    }

    fn end(&self, runway: &Runway, is_low: bool) -> LandingEnd {
        let (low, high) = self.corners(runway);
        let rise = (runway.high_elevation_ft - runway.low_elevation_ft) / runway.length_ft;
        let displaced = if is_low { runway.low_displaced_ft } else { 0.0 };
        let (pavement, bearing_deg, elevation, slope) = if is_low {
            (low, runway.bearing_deg, runway.low_elevation_ft, rise)
        } else {
            // Meridian convergence over two miles is below 0.02 degrees; the far bearing carries it.
            let convergence =
                (high.longitude_deg - low.longitude_deg + 540.0).rem_euclid(360.0) - 180.0;
            let turn = convergence
                * ((low.latitude_deg + high.latitude_deg) / 2.0)
                    .to_radians()
                    .sine();
            (
                high,
                (runway.bearing_deg + turn + 180.0).rem_euclid(360.0),
                runway.high_elevation_ft,
                -rise,
            )
        };
        LandingEnd {
            name: if is_low { runway.low } else { runway.high },
            threshold: direct(pavement, bearing_deg, displaced * 0.3048),
            bearing_deg,
            elevation_ft: elevation + slope * displaced,
            slope,
            available_ft: runway.length_ft - displaced,
            ils: runway.ils,
            glide_path_deg: runway.glide_path_deg,
            crossing_height_ft: 50.0,
        }
    }
}

impl LandingEnd {
    /// Glide path gradient, ft per NM.
    pub(crate) fn gradient_ft_per_nm(&self) -> f64 {
        self.glide_path_deg.to_radians().tangent() * FT_PER_NM
    }

    /// Height of the glide path at a distance to the threshold.
    pub(crate) fn profile_height_ft(&self, distance_nm: f64) -> f64 {
        self.crossing_height_ft + distance_nm * self.gradient_ft_per_nm()
    }
}

/// Every airport of the fleet.
pub(crate) fn all() -> impl Iterator<Item = &'static Airport> {
    AIRPORTS.iter().chain(std::iter::once(&FEW))
}

/// The text of `runways.csv`, in the open-data column layout plus glide path and crossing height.
pub(crate) fn runways_csv() -> String {
    let mut text = String::from(
        "airport_ident,length_ft,width_ft,surface,lighted,closed,\
         le_ident,le_latitude_deg,le_longitude_deg,le_elevation_ft,le_heading_degT,le_displaced_threshold_ft,\
         he_ident,he_latitude_deg,he_longitude_deg,he_elevation_ft,he_heading_degT,he_displaced_threshold_ft,\
         le_glide_path_deg,le_crossing_height_ft,he_glide_path_deg,he_crossing_height_ft\n",
    );
    for airport in all() {
        for runway in airport.runways {
            let (low, high) = airport.corners(runway);
            let far = airport.end(runway, false);
            text += &format!(
                "{},{},150,ASP,1,0,{},{:.7},{:.7},{},{:.1},{},{},{:.7},{:.7},{},{:.1},,{g},50,{g},50\n",
                airport.ident,
                runway.length_ft,
                runway.low,
                low.latitude_deg,
                low.longitude_deg,
                runway.low_elevation_ft,
                runway.bearing_deg,
                if runway.low_displaced_ft > 0.0 {
                    runway.low_displaced_ft.to_string()
                } else {
                    String::new()
                },
                runway.high,
                high.latitude_deg,
                high.longitude_deg,
                runway.high_elevation_ft,
                far.bearing_deg,
                g = runway.glide_path_deg,
            );
        }
    }
    text
}
