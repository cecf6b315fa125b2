//! Flights made up from corner points in a runway's frame.

use geographiclib_rs::{DirectGeodesic, Geodesic};

use crate::fleet::{Fleet, RunwayEnd};
use crate::flight::{FlightHeader, RawFlight};
use crate::series::turn_deg;
use crate::testing;

/// `(time s, distance before the threshold NM, right of the centreline NM, height ft)`.
pub(super) type Corner = (f64, f64, f64, f64);

/// Pressure altitude of the threshold: elevation 100 ft on a day of low pressure.
pub(super) const ZERO_FT: f64 = 350.0;

pub(super) fn runway() -> RunwayEnd {
    RunwayEnd {
        airport: "ZZZZ".to_owned(),
        ident: "09".to_owned(),
        latitude_deg: 10.0,
        longitude_deg: 20.0,
        elevation_ft: 100.0,
        bearing_deg: 90.0,
        length_ft: 9_000.0,
        far_elevation_ft: 100.0,
        glide_path_deg: 3.0,
        crossing_height_ft: 50.0,
    }
}

pub(super) fn fleet() -> Fleet {
    testing::fleet(vec![runway()])
}

/// From 20 NM down a steady slope to a landing: touches at 1,310 s, has stopped by 1,400 s.
pub(super) const LANDING: &[Corner] = &[
    (900.0, 20.0, 0.0, 6_000.0),
    (1_300.0, 0.0, 0.0, 50.0),
    (1_310.0, -0.3, 0.0, 0.0),
    (1_340.0, -1.0, 0.0, 0.0),
    (1_460.0, -1.2, 0.0, 0.0),
];

/// Corner points as channels, once a second: altitude, position, ground speed.
pub(super) fn fly(end: &RunwayEnd, corners: &[Corner]) -> RawFlight {
    let until_s = corners[corners.len() - 1].0;
    let first_s = corners[0].0;
    let at = |t: f64| {
        let t = t + first_s;
        let i = corners
            .partition_point(|c| c.0 <= t)
            .clamp(1, corners.len() - 1);
        let (a, b) = (corners[i - 1], corners[i]);
        let s = ((t - a.0) / (b.0 - a.0)).clamp(0.0, 1.0);
        (
            a.1 + s * (b.1 - a.1),
            a.2 + s * (b.2 - a.2),
            a.3 + s * (b.3 - a.3),
        )
    };
    let place = |t: f64| {
        let (along, offset, _) = at(t);
        let azimuth = end.bearing_deg + 180.0 - offset.atan2(along).to_degrees();
        let metres = 1852.0 * along.hypot(offset);
        let (lat, lon): (f64, f64) =
            Geodesic::wgs84().direct(end.latitude_deg, end.longitude_deg, azimuth, metres);
        (lat, turn_deg(0.0, lon))
    };
    let speed = |t: f64| {
        let (a, b) = (at((t - 0.5).max(0.0)), at(t + 0.5));
        let s = (t + 0.5) - (t - 0.5).max(0.0);
        (a.0 - b.0).hypot(a.1 - b.1) / s * 3600.0
    };
    let n = until_s - first_s;
    let mut raw = RawFlight {
        header: FlightHeader {
            flight_id: "f1".to_owned(),
            ..FlightHeader::default()
        },
        ..RawFlight::default()
    };
    let mut put = |name: &str, f: &dyn Fn(f64) -> f64| {
        let mut channel = testing::sampled(n, 1.0, f);
        channel.time_s.iter_mut().for_each(|t| *t += first_s);
        raw.channels.insert(name.to_owned(), channel);
    };
    put("pressure_altitude_ft", &|t| (ZERO_FT + at(t).2).round());
    put("latitude_deg", &|t| place(t).0);
    put("longitude_deg", &|t| place(t).1);
    put("ground_speed_kt", &|t| speed(t));
    raw
}

/// Adds a once-a-second channel on the flight's own times.
pub(super) fn add(raw: &mut RawFlight, name: &str, f: impl Fn(f64) -> f64) {
    let mut channel = raw.channels["pressure_altitude_ft"].clone();
    channel.value = channel.time_s.iter().map(|&t| f(t)).collect();
    raw.channels.insert(name.to_owned(), channel);
}

/// A yes/no as a recorded state.
pub(super) fn state(on: bool) -> f64 {
    f64::from(u8::from(on))
}
