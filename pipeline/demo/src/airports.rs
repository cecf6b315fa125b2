//! The invented places: none of these identifiers, positions or runways exists.

use crate::atmosphere::FT_PER_NM;
use crate::earth::{Position, direct};

/// One runway, given by its low-numbered end.
pub(crate) struct Runway {
    low: &'static str,
    high: &'static str,
    bearing_deg: f64,
    length_ft: f64,
    low_elevation_ft: f64,
    high_elevation_ft: f64,
    low_displaced_ft: f64,
    /// Shift of the low end from the reference point, ft: along the bearing, to the right.
    shift_ft: (f64, f64),
    ils: bool,
    glide_path_deg: f64,
}

/// One airport with its share of the traffic.
pub(crate) struct Airport {
    pub(crate) ident: &'static str,
    /// Share of arrivals, any unit.
    pub(crate) weight: f64,
    reference: Position,
    runways: &'static [Runway],
    /// Mean excess of arrivals here over the plan at 20 NM, ft: the planted place effect.
    pub(crate) high_arrival_ft: f64,
    /// Mean deviation from ISA over the year and half its seasonal swing, K.
    pub(crate) climate_k: (f64, f64),
}

const fn plain(
    low: &'static str,
    high: &'static str,
    bearing_deg: f64,
    length_ft: f64,
    low_elevation_ft: f64,
    high_elevation_ft: f64,
) -> Runway {
    Runway {
        low,
        high,
        bearing_deg,
        length_ft,
        low_elevation_ft,
        high_elevation_ft,
        low_displaced_ft: 0.0,
        shift_ft: (0.0, 0.0),
        ils: true,
        glide_path_deg: 3.0,
    }
}

const fn at(latitude_deg: f64, longitude_deg: f64) -> Position {
    Position {
        latitude_deg,
        longitude_deg,
    }
}

/// All airports; the last has so few arrivals that only chance can make it look bad.
pub(crate) static AIRPORTS: [Airport; 8] = [
    Airport {
        ident: "ZALB",
        weight: 30.0,
        reference: at(46.412, -28.205),
        high_arrival_ft: 0.0,
        climate_k: (0.0, 9.0),
        runways: &[
            plain("09L", "27R", 91.3, 11_200.0, 212.0, 236.0),
            Runway {
                shift_ft: (1800.0, 5200.0),
                ..plain("09R", "27L", 91.3, 9800.0, 208.0, 221.0)
            },
        ],
    },
    Airport {
        ident: "ZACK",
        weight: 21.0,
        reference: at(52.887, -31.440),
        high_arrival_ft: 0.0,
        climate_k: (-2.0, 11.0),
        runways: &[plain("05", "23", 48.7, 9200.0, 88.0, 74.0)],
    },
    Airport {
        ident: "ZAMI",
        weight: 16.0,
        reference: at(38.164, -36.731),
        high_arrival_ft: 0.0,
        climate_k: (6.0, 8.0),
        runways: &[plain("17", "35", 168.9, 8600.0, 412.0, 455.0)],
    },
    Airport {
        ident: "ZENA",
        weight: 12.0,
        reference: at(43.205, -33.018),
        high_arrival_ft: 480.0,
        climate_k: (2.0, 9.0),
        runways: &[plain("13", "31", 127.4, 9900.0, 690.0, 655.0)],
    },
    Airport {
        ident: "ZELV",
        weight: 7.0,
        reference: at(35.510, -41.377),
        high_arrival_ft: 0.0,
        climate_k: (10.0, 8.0),
        runways: &[plain("08", "26", 77.8, 12_400.0, 6180.0, 6231.0)],
    },
    Airport {
        ident: "ZSTP",
        weight: 6.0,
        reference: at(49.731, -38.866),
        high_arrival_ft: 0.0,
        climate_k: (0.0, 8.0),
        runways: &[Runway {
            glide_path_deg: 4.5,
            ..plain("11", "29", 108.2, 7100.0, 1020.0, 1031.0)
        }],
    },
    Airport {
        ident: "ZVIS",
        weight: 4.0,
        reference: at(41.018, -25.662),
        high_arrival_ft: 0.0,
        climate_k: (4.0, 7.0),
        runways: &[Runway {
            ils: false,
            ..plain("02", "20", 18.3, 7900.0, 26.0, 31.0)
        }],
    },
    Airport {
        ident: "ZODE",
        weight: 3.0,
        reference: at(-37.466, 179.962),
        high_arrival_ft: 0.0,
        climate_k: (3.0, 8.0),
        runways: &[Runway {
            low_displaced_ft: 980.0,
            ..plain("14", "32", 141.6, 10_100.0, 133.0, 118.0)
        }],
    },
];

/// The airport of the effect "looks bad by chance only".
pub(crate) static FEW: Airport = Airport {
    ident: "ZFEW",
    weight: 0.9,
    reference: at(55.206, -24.913),
    high_arrival_ft: 0.0,
    climate_k: (-3.0, 9.0),
    runways: &[plain("10", "28", 97.1, 8200.0, 301.0, 288.0)],
};

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
                    .sin();
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
        self.glide_path_deg.to_radians().tan() * FT_PER_NM
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
