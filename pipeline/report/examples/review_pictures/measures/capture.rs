//! How the glide path was met: from above, level, or descending.

use super::parts::{AXIS, agrees, by_distance, extent, known};
use crate::choose::candidates;
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::{Review, Samples};
use crate::svg::Anchor;
use crate::table::quantile;
use crate::words::decimals;

const BAND_FT_PER_NM: f64 = 19.0;
const BAND_FT: f64 = 50.0;
const UNTIL_NM: f64 = 3.0;
const FROM_NM: f64 = 18.0;
const WAYS: [(&str, &str); 3] = [
    ("above", "from above"),
    ("level", "from below, level"),
    ("descending", "from below, descending"),
];

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let says = "Three approaches: met from above, level, and descending";
    let mut frame = Frame::new(
        height(&[120.0; 3], 0),
        (FROM_NM, 0.0),
        "How the glide path was met",
        says,
    );
    let mut told = String::new();
    for (way, words) in WAYS {
        let row = middle(review, way)?;
        let samples = review.samples(row, &["height_over_profile_ft", "sink_rate_fpm"])?;
        let over = samples.column("height_over_profile_ft")?;
        let (off, off_nm) = last_off(&samples, over)?;
        let above = f64::from(u8::from(over[off].is_some_and(|ft| ft > 0.0)));
        agrees(
            "path_captured from above",
            f64::from(u8::from(way == "above")),
            above,
            0.0,
        )?;
        let points = by_distance(&samples, |k| over[k]);
        // Far out an approach may be thousands of feet off: what leads to the path is what counts.
        let (low, high) = extent(&points, &[-300.0, 300.0], off_nm + 4.0);
        let unit = format!("{words}: above the glide path, ft");
        let panel = frame.panel(120.0, (low.max(-2_500.0), high.min(2_500.0)), &unit);
        let band = |sign: f64| -> Vec<(Option<f64>, Option<f64>)> {
            let far = [FROM_NM, BAND_FT / BAND_FT_PER_NM, 0.0];
            far.map(|nm| (Some(nm), Some(sign * BAND_FT.max(BAND_FT_PER_NM * nm))))
                .to_vec()
        };
        frame.line(&panel, &band(1.0), "plan");
        frame.line(&panel, &band(-1.0), "plan");
        let shown: Vec<_> = points
            .iter()
            .map(|p| (p.0, p.1.filter(|ft| (low..=high).contains(ft))))
            .collect();
        frame.line(&panel, &shown, "line");
        let (x, y) = (
            frame.x.place(off_nm),
            panel.scale.place(over[off].unwrap_or(0.0)),
        );
        frame.svg.circle((x, y), 4.5, "mark");
        let met = format!("met at {} NM", decimals(off_nm, 1));
        let below = if way == "above" { -9.0 } else { 18.0 };
        frame
            .svg
            .text((x + 6.0, y + below), Anchor::Start, "says halo", &met);
        told.push_str(&format!("{words}: {met}. "));
    }
    frame.finish(AXIS, &format!("{told}Broken lines: on the path."))
}

/// Of the approaches that met the path so, the one with the middle place of gear down: an ordinary one.
fn middle(review: &Review, way: &str) -> Result<usize, Fault> {
    let captured = review.approaches.words("path_captured")?;
    let gear = review.approaches.numbers("gear_down_nm")?;
    let mut own: Vec<(f64, i64, usize)> = candidates(review, "landing")?
        .into_iter()
        .filter(|&k| captured[k].as_deref() == Some(way))
        .filter_map(|k| Some((gear[k]?, review.key(k), k)))
        .collect();
    own.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
    let distances: Vec<f64> = own.iter().map(|one| one.0).collect();
    let middle = known(quantile(&distances, 0.5), way)?;
    own.iter()
        .find(|one| one.0 >= middle)
        .map(|one| one.2)
        .ok_or_else(|| Fault::new(format!("no approach met the path {way}")))
}

/// The last sample off the path before 3 NM.
fn last_off(samples: &Samples, over: &[Option<f64>]) -> Result<(usize, f64), Fault> {
    samples
        .own()
        .filter_map(|k| Some((k, over[k]?, samples.distance_nm[k]?)))
        .filter(|one| one.2 >= UNTIL_NM && one.1.abs() > BAND_FT.max(BAND_FT_PER_NM * one.2))
        .last()
        .map(|one| (one.0, one.2))
        .ok_or_else(|| Fault::new("the path was followed from the first sample"))
}
