//! Where an approach came from and over how many track miles: what a direct routing takes away.

use crate::derive::{Columns, Frame, Segment};
use crate::rows::ArrivalRow;

/// The circle around the threshold at which arrivals are compared: inside it routes differ by what air
/// traffic control makes of them. Judgement.
const CIRCLE_NM: f64 = 20.0;
/// Held speeds are looked for between these track distances.
const HELD_FROM_NM: f64 = 20.0;
const HELD_TO_NM: f64 = 5.0;
/// A speed within this of the middle of a stretch is held: judgement.
const HELD_KT: f64 = 3.0;

/// The eight directions, clockwise from north.
pub const DIRECTIONS: [&str; 8] = [
    "north",
    "north_east",
    "east",
    "south_east",
    "south",
    "south_west",
    "west",
    "north_west",
];

pub(super) fn row(
    (flight_id, approach_no): (&str, i32),
    columns: &Columns,
    frame: &Frame,
) -> ArrivalRow {
    let circle = circle(columns);
    let bearing = circle
        .zip(frame.runway_bearing_deg)
        .map(|((along, offset, _), runway)| from_bearing_deg(along, offset, runway));
    let held = held_speed(columns);
    ArrivalRow {
        flight_id: flight_id.to_owned(),
        approach_no,
        from_bearing_deg: bearing,
        from_direction: bearing.map(|deg| direction(deg).to_owned()),
        track_nm: circle.and_then(|(_, _, track_nm)| track_nm),
        held_speed_nm: held.map(|(nm, _)| nm),
        held_speed_kt: held.map(|(_, kt)| kt),
    }
}

/// Place and track distance where the circle was entered for good; none where the approach began inside.
fn circle(columns: &Columns) -> Option<(f64, f64, Option<f64>)> {
    let along = columns.values("along_nm")?;
    let offset = columns.values("offset_nm")?;
    let outside = |k: &usize| along[*k].hypot(offset[*k]) > CIRCLE_NM;
    let approach = |k: &usize| columns.segment[*k] == Segment::Approach;
    let last = (0..columns.grid.n).rev().filter(approach).find(outside)?;
    let inside = last + 1;
    if inside >= columns.grid.n || along[inside].is_nan() {
        return None;
    }
    let track = columns
        .values("distance_to_threshold_nm")
        .map(|distance| distance[inside])
        .filter(|nm| !nm.is_nan());
    Some((along[inside], offset[inside], track))
}

/// True bearing from the threshold to a place in the runway's frame.
fn from_bearing_deg(along_nm: f64, offset_nm: f64, runway_bearing_deg: f64) -> f64 {
    // Backwards along the runway, and to the right of the landing direction.
    let outward = runway_bearing_deg + 180.0 - offset_nm.atan2(along_nm).to_degrees();
    outward.rem_euclid(360.0)
}

/// The direction a bearing lies in: 45 degrees around each.
fn direction(bearing_deg: f64) -> &'static str {
    let number = ((bearing_deg + 22.5) / 45.0).floor() as usize;
    DIRECTIONS[number % DIRECTIONS.len()]
}

/// Length and mean airspeed of the longest stretch at a held speed.
fn held_speed(columns: &Columns) -> Option<(f64, f64)> {
    let cas = columns.values("cas_kt")?;
    let distance = columns.values("distance_to_threshold_nm")?;
    let inside = |k: usize| {
        columns.segment[k] == Segment::Approach
            && (HELD_TO_NM..=HELD_FROM_NM).contains(&distance[k])
            && !cas[k].is_nan()
    };
    let mut best: Option<(f64, f64)> = None;
    let mut from = 0;
    // Highest and lowest airspeed of the window, kept as falling and rising lists of samples.
    let (mut highest, mut lowest) = (Window::default(), Window::default());
    for k in 0..columns.grid.n {
        if !inside(k) {
            from = k + 1;
            (highest, lowest) = (Window::default(), Window::default());
            continue;
        }
        highest.push(k, cas[k]);
        lowest.push(k, -cas[k]);
        while highest.top() + lowest.top() > 2.0 * HELD_KT {
            from += 1;
            highest.leave(from);
            lowest.leave(from);
        }
        let nm = distance[from] - distance[k];
        if best.is_none_or(|(longest, _)| nm > longest) {
            let mean = cas[from..=k].iter().sum::<f64>() / (k - from + 1) as f64;
            best = Some((nm, mean));
        }
    }
    best
}

/// The largest of the samples that are still in a window.
#[derive(Default)]
struct Window(std::collections::VecDeque<(usize, f64)>);

impl Window {
    fn push(&mut self, k: usize, value: f64) {
        while self.0.back().is_some_and(|(_, last)| *last <= value) {
            self.0.pop_back();
        }
        self.0.push_back((k, value));
    }

    fn leave(&mut self, from: usize) {
        while self.0.front().is_some_and(|(k, _)| *k < from) {
            self.0.pop_front();
        }
    }

    fn top(&self) -> f64 {
        self.0
            .front()
            .map_or(f64::NEG_INFINITY, |(_, value)| *value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bearings_are_seen_from_the_threshold() {
        // Landing to the north: straight out is south, the right-hand side is east.
        assert!((from_bearing_deg(10.0, 0.0, 0.0) - 180.0).abs() < 1e-9);
        assert!((from_bearing_deg(0.0, 10.0, 0.0) - 90.0).abs() < 1e-9);
        assert!((from_bearing_deg(-10.0, 0.0, 0.0) - 0.0).abs() < 1e-9);
        assert!((from_bearing_deg(10.0, 10.0, 350.0) - 125.0).abs() < 1e-9);
        assert_eq!(direction(337.4), "north_west");
        assert_eq!(direction(337.5), "north");
        assert_eq!(direction(22.4), "north");
        assert_eq!(direction(22.5), "north_east");
        assert_eq!(direction(359.9), "north");
    }
}
