//! Speedbrake and thrust against each other.

use super::parts::{AXIS, FAR_NM, OUT, agrees, by_distance, distances, extent, levers};
use crate::choose::{End, choose};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::Review;
use crate::words::decimals;

const OVER_LOWEST_PCT: f64 = 8.0;

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let (row, seconds) = choose(review, "speedbrake_against_thrust_s", End::High)?;
    let columns = [
        "thrust_pct",
        "thrust_over_min_pct",
        "speedbrake",
        "gear_down",
        "flap_lever",
    ];
    let samples = review.samples(row, &columns)?;
    let (thrust, brake) = (samples.column("thrust_pct")?, samples.column("speedbrake")?);
    let over_minimum = samples.column("thrust_over_min_pct")?;
    let lowest = samples
        .own()
        .filter_map(|k| thrust[k])
        .fold(f64::INFINITY, f64::min);
    let holds = |k: usize| {
        let carried = thrust[k].is_some_and(|pct| pct > lowest + OVER_LOWEST_PCT)
            || over_minimum[k].is_some_and(|pct| pct > 0.0);
        carried && brake[k].is_some_and(|out| out > OUT)
    };
    let stretches = samples.stretches(holds);
    agrees(
        "speedbrake_against_thrust_s",
        seconds,
        samples.own().filter(|&k| holds(k)).count() as f64,
        0.5,
    )?;
    let says = format!(
        "{} s with the speedbrake out and thrust more than 8 % N1 above the lowest of the approach",
        decimals(seconds, 0)
    );
    let thrusts = by_distance(&samples, |k| thrust[k]);
    let brakes = by_distance(&samples, |k| brake[k].map(|out| out * 100.0));
    let mut frame = Frame::new(
        height(&[160.0, 80.0], 3),
        (FAR_NM, 0.0),
        "Speedbrake against thrust",
        &says,
    )
    .found(distances(&samples, &stretches));
    let panel = frame.panel(
        160.0,
        extent(&thrusts, &[lowest + OVER_LOWEST_PCT], FAR_NM),
        "thrust, % N1",
    );
    frame.level(
        &panel,
        lowest + OVER_LOWEST_PCT,
        "limit",
        "8 % above the lowest",
        false,
    );
    frame.line(&panel, &thrusts, "line");
    for &(from, to) in &stretches {
        let own: Vec<_> = (from..=to)
            .map(|k| (samples.distance_nm[k], thrust[k]))
            .collect();
        frame.line(&panel, &own, "measured");
    }
    let panel = frame.panel(80.0, (-4.0, 104.0), "speedbrake, %");
    frame.level(&panel, OUT * 100.0, "limit", "above 10 % is out", false);
    frame.line(&panel, &brakes, "line");
    levers(&mut frame, &samples, &["speedbrake", "gear", "flap lever"])?;
    frame.finish(AXIS, "The stretches that count are shaded.")
}
