//! The level segment in which speed is lost before the first flap.

use super::parts::{AXIS, FAR_NM, agrees, by_distance, distances, extent, known, levers};
use crate::choose::{End, choose};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::Review;
use crate::svg::Anchor;
use crate::words::decimals;

const MOMENT_FPM: f64 = 300.0;
const LEVEL_S: usize = 15;
const BEFORE_S: usize = 30;

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let (row, level_nm) = choose(review, "level_before_flap_nm", End::High)?;
    let flap_nm = known(
        review.approaches.numbers("first_flap_nm")?[row],
        "first_flap_nm",
    )?;
    let columns = [
        "sink_rate_fpm",
        "height_geometric_ft",
        "flap_lever",
        "gear_down",
        "speedbrake",
        "cas_kt",
    ];
    let samples = review.samples(row, &columns)?;
    let (sink, height_ft) = (
        samples.column("sink_rate_fpm")?,
        samples.column("height_geometric_ft")?,
    );
    let (flap, cas) = (samples.column("flap_lever")?, samples.column("cas_kt")?);
    let first = samples
        .own()
        .find(|&k| flap[k].is_some_and(|lever| lever > 0.0))
        .ok_or_else(|| Fault::new("no flap on the approach"))?;
    let lately = first.saturating_sub(BEFORE_S);
    let (from, to) = samples
        .stretches(|k| k <= first && sink[k].is_some_and(|fpm| fpm.abs() <= MOMENT_FPM))
        .into_iter()
        .rfind(|(from, to)| *to >= lately && to - from >= LEVEL_S)
        .ok_or_else(|| Fault::new("no level segment before the first flap"))?;
    let nm = |k: usize| known(samples.distance_nm[k], "a distance");
    agrees("level_before_flap_nm", level_nm, nm(from)? - nm(to)?, 0.02)?;
    let says = format!(
        "{} NM level before the first flap, which came at {} NM",
        decimals(level_nm, 1),
        decimals(flap_nm, 1)
    );
    let heights = by_distance(&samples, |k| height_ft[k]);
    let sinks = by_distance(&samples, |k| sink[k]);
    let speeds = by_distance(&samples, |k| cas[k]);
    let mut frame = Frame::new(
        height(&[150.0, 90.0, 90.0], 1),
        (FAR_NM, 0.0),
        "Level before the first flap",
        &says,
    )
    .found(distances(&samples, &[(from, to)]));
    let panel = frame.panel(
        150.0,
        extent(&heights, &[0.0], FAR_NM),
        "height above the threshold, ft",
    );
    frame.line(&panel, &heights, "line");
    let own: Vec<_> = (from..=to)
        .map(|k| (samples.distance_nm[k], height_ft[k]))
        .collect();
    frame.line(&panel, &own, "measured");
    let (x, y) = (
        frame.x.place(nm(from)?),
        panel.scale.place(height_ft[from].unwrap_or(0.0)),
    );
    let words = format!("{} NM level", decimals(level_nm, 1));
    frame
        .svg
        .text((x, y - 10.0), Anchor::Start, "says halo", &words);
    let panel = frame.panel(
        90.0,
        extent(&sinks, &[0.0, MOMENT_FPM], FAR_NM),
        "sink, ft/min",
    );
    frame.level(
        &panel,
        MOMENT_FPM,
        "limit",
        "level: within 300 ft/min",
        false,
    );
    frame.line(&panel, &sinks, "line");
    let panel = frame.panel(90.0, extent(&speeds, &[], FAR_NM), "airspeed, kt");
    frame.line(&panel, &speeds, "line");
    levers(&mut frame, &samples, &["flap lever"])?;
    frame.finish(AXIS, "The level segment is shaded.")
}
