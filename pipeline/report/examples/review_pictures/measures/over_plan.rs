//! High with the speedbrake stowed: how long, and by how much at most.

use super::parts::{AXIS, FAR_NM, OUT, agrees, by_distance, distances, extent, levers};
use crate::choose::{End, choose};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::{Review, Samples};
use crate::svg::Anchor;
use crate::words::decimals;

/// More than this above the planned height is high, ft.
pub(super) const HIGH_FT: f64 = 300.0;

/// Geometric height less the planned one.
pub(super) fn over_plan_ft(samples: &Samples) -> Result<Vec<Option<f64>>, Fault> {
    let height = samples.column("height_geometric_ft")?.iter();
    let planned = samples.column("planning_height_ft")?;
    Ok(height
        .zip(planned)
        .map(|(height, planned)| Some((*height)? - (*planned)?))
        .collect())
}

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let (row, seconds) = choose(review, "high_stowed_s", End::High)?;
    let most_ft = review.approaches.numbers("high_stowed_max_ft")?[row].unwrap_or(f64::NAN);
    let columns = [
        "height_geometric_ft",
        "planning_height_ft",
        "speedbrake",
        "gear_down",
        "flap_lever",
    ];
    let samples = review.samples(row, &columns)?;
    let over = over_plan_ft(&samples)?;
    let brake = samples.column("speedbrake")?;
    let holds = |k: usize| {
        samples.in_window(k)
            && over[k].is_some_and(|ft| ft > HIGH_FT)
            && brake[k].is_some_and(|out| out <= OUT)
    };
    let stretches = samples.stretches(holds);
    let marked: Vec<usize> = samples.own().filter(|&k| holds(k)).collect();
    agrees("high_stowed_s", seconds, marked.len() as f64, 0.5)?;
    let top = marked.iter().copied().max_by(|a, b| {
        over[*a]
            .partial_cmp(&over[*b])
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let top = top.ok_or_else(|| Fault::new("no sample to mark"))?;
    agrees(
        "high_stowed_max_ft",
        most_ft,
        over[top].unwrap_or(f64::NAN),
        1.0,
    )?;
    let says = format!(
        "{} s more than 300 ft above the planned height with the speedbrake stowed, {} ft at most",
        decimals(seconds, 0),
        decimals(most_ft, 0)
    );
    let points = by_distance(&samples, |k| over[k]);
    let mut frame = Frame::new(
        height(&[230.0], 3),
        (FAR_NM, 0.0),
        "High, and the speedbrake stowed",
        &says,
    )
    .found(distances(&samples, &stretches));
    let panel = frame.panel(
        230.0,
        extent(&points, &[0.0, HIGH_FT], FAR_NM),
        "above the planned height, ft",
    );
    frame.level(&panel, 0.0, "base", "planned height", true);
    frame.level(&panel, HIGH_FT, "limit", "300 ft above it", true);
    frame.line(&panel, &points, "line");
    for &(from, to) in &stretches {
        let own: Vec<_> = (from..=to)
            .map(|k| (samples.distance_nm[k], over[k]))
            .collect();
        frame.line(&panel, &own, "measured");
    }
    if let (Some(nm), Some(ft)) = (samples.distance_nm[top], over[top]) {
        let (x, y) = (frame.x.place(nm), panel.scale.place(ft));
        frame.svg.circle((x, y), 4.0, "mark");
        frame.svg.text(
            (x + 8.0, y - 4.0),
            Anchor::Start,
            "says halo",
            &format!("{} ft", decimals(ft, 0)),
        );
    }
    levers(&mut frame, &samples, &["speedbrake", "gear", "flap lever"])?;
    frame.finish(AXIS, "The stretch that counts is shaded.")
}
