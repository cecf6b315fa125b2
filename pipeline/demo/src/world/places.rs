//! The invented places: none of these identifiers, positions or runways exists.

use crate::world::airports::{Airport, Arrival, Runway};
use crate::world::earth::Position;

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

/// An airport with nothing special.
const fn airport(
    ident: &'static str,
    weight: f64,
    (latitude_deg, longitude_deg): (f64, f64),
    climate_k: (f64, f64),
    arrivals: [f64; 4],
    runways: &'static [Runway],
) -> Airport {
    Airport {
        ident,
        weight,
        reference: Position {
            latitude_deg,
            longitude_deg,
        },
        arrivals,
        high_arrival: None,
        climate_k,
        runways,
    }
}

/// All airports but [`FEW`].
pub(crate) static AIRPORTS: [Airport; 12] = [
    airport(
        "ZALB",
        27.0,
        (46.412, -28.205),
        (0.0, 9.0),
        [2.0, 3.0, 2.0, 2.0],
        &[
            plain("09L", "27R", 91.3, 11_200.0, 212.0, 236.0),
            Runway {
                shift_ft: (1800.0, 5200.0),
                ..plain("09R", "27L", 91.3, 9800.0, 208.0, 221.0)
            },
        ],
    ),
    airport(
        "ZACK",
        18.0,
        (52.887, -31.440),
        (-2.0, 11.0),
        [1.0, 2.0, 3.0, 1.0],
        &[plain("05", "23", 48.7, 9200.0, 88.0, 74.0)],
    ),
    airport(
        "ZAMI",
        14.0,
        (38.164, -36.731),
        (6.0, 8.0),
        [3.0, 2.0, 0.0, 1.0],
        &[plain("17", "35", 168.9, 8600.0, 412.0, 455.0)],
    ),
    // A direct routing from the north takes track miles away: the planted place effect.
    Airport {
        high_arrival: Some((Arrival::North, 500.0)),
        ..airport(
            "ZENA",
            12.0,
            (43.205, -33.018),
            (2.0, 9.0),
            [5.0, 2.0, 1.0, 2.0],
            &[plain("13", "31", 127.4, 9900.0, 690.0, 655.0)],
        )
    },
    // High elevation.
    airport(
        "ZELV",
        7.0,
        (35.510, -41.377),
        (10.0, 8.0),
        [2.0, 1.0, 0.0, 2.0],
        &[plain("08", "26", 77.8, 12_400.0, 6180.0, 6231.0)],
    ),
    // Steep path.
    airport(
        "ZSTP",
        5.0,
        (49.731, -38.866),
        (0.0, 8.0),
        [1.0, 2.0, 2.0, 1.0],
        &[Runway {
            glide_path_deg: 4.5,
            ..plain("11", "29", 108.2, 7100.0, 1020.0, 1031.0)
        }],
    ),
    // No instrument landing system.
    airport(
        "ZVIS",
        4.0,
        (41.018, -25.662),
        (4.0, 7.0),
        [1.0, 1.0, 1.0, 1.0],
        &[Runway {
            ils: false,
            ..plain("02", "20", 18.3, 7900.0, 26.0, 31.0)
        }],
    ),
    // Displaced threshold, southern hemisphere, both sides of the 180 degree meridian.
    airport(
        "ZODE",
        3.0,
        (-37.466, 179.962),
        (3.0, 8.0),
        [2.0, 1.0, 1.0, 2.0],
        &[Runway {
            low_displaced_ft: 980.0,
            ..plain("14", "32", 141.6, 10_100.0, 133.0, 118.0)
        }],
    ),
    // Two runways that cross.
    airport(
        "ZKRO",
        5.0,
        (44.871, -22.340),
        (1.0, 8.0),
        [1.0, 2.0, 1.0, 2.0],
        &[
            plain("04", "22", 41.8, 8900.0, 302.0, 318.0),
            Runway {
                shift_ft: (2600.0, -3100.0),
                ..plain("12", "30", 119.5, 7600.0, 309.0, 299.0)
            },
        ],
    ),
    // Short, slopes.
    airport(
        "ZORR",
        2.0,
        (57.322, -27.918),
        (-4.0, 9.0),
        [0.0, 1.0, 3.0, 1.0],
        &[plain("06", "24", 63.1, 6000.0, 148.0, 184.0)],
    ),
    // Warm all year, near the equator.
    airport(
        "ZUMA",
        3.0,
        (3.118, -30.776),
        (13.0, 1.5),
        [3.0, 1.0, 1.0, 1.0],
        &[plain("15", "33", 150.6, 10_400.0, 61.0, 52.0)],
    ),
    // Cold winters, strong temperature swing.
    airport(
        "ZHOB",
        2.0,
        (61.405, -35.092),
        (-7.0, 14.0),
        [0.0, 2.0, 3.0, 1.0],
        &[plain("16", "34", 157.2, 8800.0, 511.0, 502.0)],
    ),
];

/// The airport of the effect "looks bad by chance only".
pub(crate) static FEW: Airport = airport(
    "ZFEW",
    0.8,
    (55.206, -24.913),
    (-3.0, 9.0),
    [1.0, 1.0, 1.0, 1.0],
    &[plain("10", "28", 97.1, 8200.0, 301.0, 288.0)],
);
