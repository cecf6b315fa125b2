use geographiclib_rs::{DirectGeodesic, Geodesic};

use super::frame::RunwayFrame;
use super::*;
use crate::fleet::{RunwayEnd, Runways};
use crate::timebase::Grid;

/// `(lat1, lon1, azi1, lat2, lon2, s12 in metres)`, the first eight of the twenty cases that
/// GeographicLib publishes with its implementations (`geodesictest.c`, a selection from
/// GeodTest.dat, Karney 2010, doi:10.5281/zenodo.32156, accurate to 1e-6 m or better).
#[rustfmt::skip]
#[allow(clippy::excessive_precision, reason = "as published")]
const GEOD_TEST: &[(f64, f64, f64, f64, f64, f64)] = &[
    (35.60777, -139.44815, 111.098748429560326, -11.17491, -69.95921, 8935244.5604818305),
    (55.52454, 106.05087, 22.020059880982801, 77.03196, 197.18234, 4105086.1713924406),
    (-21.97856, 142.59065, -32.44456876433189, 41.84138, 98.56635, 8394328.894657671),
    (-66.99028, 112.2363, 173.73491240878403, -12.70631, 285.90344, 11150344.2312080241),
    (-17.42761, 173.34268, -159.033557661192928, -15.84784, 5.93557, 16076603.1631180673),
    (32.84994, 48.28919, 150.492927788121982, -56.28556, 202.29132, 16727068.9438164461),
    (6.96833, 52.74123, 92.581585386317712, -7.39675, 206.17291, 17102477.2496958388),
    (-50.56724, -16.30485, -105.439679907590164, -33.56571, -94.97412, 6455670.5118668696),
];

#[test]
fn geodesics_agree_with_the_published_test_set() {
    for &(lat1, lon1, azimuth, lat2, lon2, metres) in GEOD_TEST {
        let (nm, bearing) = distance_and_bearing((lat1, lon1), (lat2, lon2));
        assert!(
            (nm * 1852.0 - metres).abs() < 1e-9 * metres,
            "{lat1} {lon1}"
        );
        assert!(turn_deg(bearing, azimuth).abs() < 1e-9, "{lat1} {lon1}");
    }
}

#[test]
fn the_runway_frame_is_the_geodesic_up_to_a_hundred_kilometres() {
    // North, south, at the 180° meridian, near a pole, on the equator.
    let thresholds = [
        (48.7, 2.3),
        (-33.9, 151.2),
        (-17.75, 179.99),
        (78.2, 15.5),
        (0.0, -90.0),
    ];
    for (lat, lon) in thresholds {
        let frame = RunwayFrame::at(lat, lon, 61.0);
        for step in 0..24 {
            let azimuth = 15.0 * f64::from(step);
            for metres in [100.0, 10_000.0, 100_000.0] {
                let (lat2, lon2): (f64, f64) = Geodesic::wgs84().direct(lat, lon, azimuth, metres);
                let (along, offset) = frame.place(lat2, lon2);
                let angle = (azimuth - 61.0_f64).to_radians();
                let miss_nm = (along + metres / 1852.0 * angle.cos())
                    .hypot(offset - metres / 1852.0 * angle.sin());
                assert!(
                    miss_nm * 1852.0 < 1.0,
                    "{lat} {azimuth} {metres}: {miss_nm}"
                );
            }
        }
    }
}

fn end(ident: &str, lat: f64, lon: f64, bearing_deg: f64) -> RunwayEnd {
    RunwayEnd {
        airport: "ZZZZ".to_owned(),
        ident: ident.to_owned(),
        latitude_deg: lat,
        longitude_deg: lon,
        elevation_ft: 100.0,
        bearing_deg,
        length_ft: 9_000.0,
        far_elevation_ft: 130.0,
        glide_path_deg: 3.0,
        crossing_height_ft: 50.0,
    }
}

/// A straight track towards a point, one fix a second at 144 kt.
fn straight_in(lat: f64, lon: f64, bearing: f64, from_nm: f64, to_nm: f64) -> Track {
    let n = ((from_nm - to_nm) / 0.04).round() as usize;
    let fixes = (0..=n).map(|i| {
        let before_nm = from_nm - 0.04 * i as f64;
        let (lat, lon): (f64, f64) =
            Geodesic::wgs84().direct(lat, lon, bearing + 180.0, before_nm * 1852.0);
        track::Fix {
            time_s: i as f64,
            latitude_deg: lat,
            longitude_deg: turn_deg(0.0, lon),
        }
    });
    Track::from_fixes(fixes.collect(), 2.5)
}

#[test]
fn of_parallel_runways_the_one_flown_along_wins() {
    // 0.2 NM between the centrelines, as at a real airport; the opposite end is no candidate.
    let (lat, lon): (f64, f64) = Geodesic::wgs84().direct(48.0, 2.0, 175.0, 0.2 * 1852.0);
    let (far_lat, far_lon): (f64, f64) = Geodesic::wgs84().direct(48.0, 2.0, 85.0, 2_743.2);
    let runways = Runways {
        ends: vec![
            end("08L", 48.0, 2.0, 85.0),
            end("08R", lat, lon, 85.0),
            end("26R", far_lat, far_lon, 265.0),
        ],
    };
    for (wanted, lat, lon) in [("08L", 48.0, 2.0), ("08R", lat, lon)] {
        // The last fix is 0.4 NM before the threshold, as where a receiver loses the aircraft.
        let track = straight_in(lat, lon, 85.0, 6.0, 0.4);
        let landed = match_runway(&runways, &track, 160.0, None).unwrap();
        assert_eq!(landed.end.ident, wanted);
        assert_eq!(landed.crossing_s, None);
        let (t, along) = landed.last_aligned.unwrap();
        assert_eq!(t, 140.0);
        assert!((along - 0.4).abs() < 1e-3);
    }
}

#[test]
fn a_track_that_only_crosses_the_centreline_matches_nothing() {
    let runways = Runways {
        ends: vec![end("09", 48.0, 2.0, 90.0)],
    };
    let track = straight_in(48.0, 2.0, 130.0, 6.0, -1.0);
    assert!(match_runway(&runways, &track, 175.0, None).is_none());
}

#[test]
fn distance_is_counted_back_from_the_threshold_and_across_a_hole() {
    let track = straight_in(10.0, 179.999, 90.0, 8.0, -0.4);
    let runways = Runways {
        ends: vec![end("09", 10.0, 179.999, 90.0)],
    };
    let landed = match_runway(&runways, &track, 205.0, None).unwrap();
    let crossing_s = landed.crossing_s.unwrap();
    assert!((crossing_s - 200.0).abs() < 0.1, "{crossing_s}");
    let grid = Grid {
        start_s: 0.0,
        step_s: 1.0,
        n: 211,
    };
    let mut speed = vec![144.0; 211];
    // Half a minute without ground speed: positions bridge it.
    speed[100..130].fill(f64::NAN);
    let anchor = Anchor {
        time_s: crossing_s,
        distance_nm: 0.0,
    };
    let distance = track_distance_nm(&grid, &speed, &track, anchor);
    for (k, d) in distance.iter().enumerate() {
        assert!((d - (8.0 - 0.04 * k as f64)).abs() < 0.02, "{k}: {d}");
    }
    // Without positions the hole cannot be bridged: unknown before it.
    let distance = track_distance_nm(&grid, &speed, &Track::default(), anchor);
    assert!(distance[..130].iter().all(|d| d.is_nan()));
    assert!((distance[150] - 2.0).abs() < 0.02);
}
