//! Steep while there was still speed to lose.

use super::parts::{AXIS, FAR_NM, OUT, agrees, by_distance, distances, extent, levers};
use crate::choose::{End, choose};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::Review;
use crate::words::decimals;

const SINK_FPM: f64 = 1_000.0;

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let (row, seconds) = choose(review, "steep_fast_clean_s", End::High)?;
    let columns = [
        "sink_rate_fpm",
        "over_target_kt",
        "flap_lever",
        "gear_down",
        "speedbrake",
    ];
    let samples = review.samples(row, &columns)?;
    let (sink, over) = (
        samples.column("sink_rate_fpm")?,
        samples.column("over_target_kt")?,
    );
    let (flap, gear) = (samples.column("flap_lever")?, samples.column("gear_down")?);
    let brake = samples.column("speedbrake")?;
    let holds = |k: usize| {
        samples.in_window(k)
            && sink[k].is_some_and(|fpm| fpm > SINK_FPM)
            && over[k].is_some_and(|kt| kt > 0.0)
            && flap[k] == Some(0.0)
            && gear[k].is_some_and(|down| down < 0.5)
            && brake[k].is_some_and(|out| out <= OUT)
    };
    let stretches = samples.stretches(holds);
    agrees(
        "steep_fast_clean_s",
        seconds,
        samples.own().filter(|&k| holds(k)).count() as f64,
        0.5,
    )?;
    let says = format!(
        "{} s of more than 1,000 ft/min above the planned speed, clean, with gear up and speedbrake stowed",
        decimals(seconds, 0)
    );
    let sinks = by_distance(&samples, |k| sink[k]);
    let speeds = by_distance(&samples, |k| over[k]);
    let mut frame = Frame::new(
        height(&[150.0, 120.0], 3),
        (FAR_NM, 0.0),
        "Steep while there was speed to lose",
        &says,
    )
    .found(distances(&samples, &stretches));
    let panel = frame.panel(
        150.0,
        extent(&sinks, &[0.0, SINK_FPM], FAR_NM),
        "sink, ft/min",
    );
    frame.level(&panel, SINK_FPM, "limit", "1,000 ft/min", false);
    frame.line(&panel, &sinks, "line");
    for &(from, to) in &stretches {
        let own: Vec<_> = (from..=to)
            .map(|k| (samples.distance_nm[k], sink[k]))
            .collect();
        frame.line(&panel, &own, "measured");
    }
    let panel = frame.panel(
        120.0,
        extent(&speeds, &[0.0], FAR_NM),
        "above the planned speed, kt",
    );
    frame.level(&panel, 0.0, "base", "planned speed", false);
    frame.line(&panel, &speeds, "line");
    levers(&mut frame, &samples, &["speedbrake", "gear", "flap lever"])?;
    frame.finish(AXIS, "The stretches that count are shaded.")
}
