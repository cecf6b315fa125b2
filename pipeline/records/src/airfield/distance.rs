//! Distance left to fly along the flown track.

use crate::series::median;
use crate::timebase::Grid;

use super::rough_distance_nm;
use super::track::{Fix, Track};

/// A hole in ground speed is bridged by its neighbours for at most this long.
const SPEED_BRIDGE_S: f64 = 10.0;
/// A hole in everything is bridged by the straight line between positions for at most this long.
const PLACE_BRIDGE_S: f64 = 60.0;

/// A moment whose distance is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Anchor {
    pub(crate) time_s: f64,
    pub(crate) distance_nm: f64,
}

/// Everything known about one moment on the way.
#[derive(Clone, Copy)]
struct Mark {
    time_s: f64,
    distance_nm: f64,
    speed_kt: f64,
    fix: Option<Fix>,
}

/// Ground speed integrated both ways from the anchor, positions where it is missing; NaN beyond
/// a hole that neither can bridge.
pub(crate) fn track_distance_nm(
    grid: &Grid,
    ground_speed_kt: &[f64],
    track: &Track,
    anchor: Anchor,
) -> Vec<f64> {
    let mut distance = vec![f64::NAN; grid.n];
    let first_after = (0..grid.n)
        .find(|&k| grid.time(k) > anchor.time_s)
        .unwrap_or(grid.n);
    let near = |k: usize| ground_speed_kt.get(k).copied().filter(|v| !v.is_nan());
    let around: Vec<f64> = [first_after.checked_sub(1).and_then(near), near(first_after)]
        .into_iter()
        .flatten()
        .collect();
    let start = Mark {
        time_s: anchor.time_s,
        distance_nm: anchor.distance_nm,
        speed_kt: median(around),
        fix: track
            .at(anchor.time_s)
            .or_else(|| track.last_before(anchor.time_s)),
    };
    let mut walk = |ks: &mut dyn Iterator<Item = usize>, sign: f64| {
        let mut last = start;
        for k in ks {
            let here = Mark {
                time_s: grid.time(k),
                distance_nm: f64::NAN,
                speed_kt: ground_speed_kt[k],
                fix: track.at(grid.time(k)),
            };
            if let Some(step_nm) = flown_nm(last, here) {
                distance[k] = last.distance_nm + sign * step_nm;
                last = Mark {
                    distance_nm: distance[k],
                    ..here
                };
            }
        }
    };
    walk(&mut (0..first_after).rev(), 1.0);
    walk(&mut (first_after..grid.n), -1.0);
    distance
}

fn flown_nm(a: Mark, b: Mark) -> Option<f64> {
    let step_s = (b.time_s - a.time_s).abs();
    let speed_kt = (a.speed_kt + b.speed_kt) / 2.0;
    if !speed_kt.is_nan() && step_s <= SPEED_BRIDGE_S {
        return Some(speed_kt * step_s / 3600.0);
    }
    let (from, to) = (a.fix?, b.fix?);
    (step_s <= PLACE_BRIDGE_S).then(|| {
        rough_distance_nm(
            (from.latitude_deg, from.longitude_deg),
            (to.latitude_deg, to.longitude_deg),
        )
    })
}
