//! Energy at the initiation of a go-around.

use super::parts::{AXIS, agrees, by_distance, extent, known, levers};
use crate::choose::{End, candidates, middle_of_tenth};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::Review;
use crate::svg::Anchor;
use crate::words::decimals;

/// The last part is what leads to a go-around.
const FROM_NM: f64 = 12.0;

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let values = review.approaches.numbers("go_around_energy_excess_ft")?;
    let known_ones = candidates(review, "go_around")?
        .into_iter()
        .filter_map(|k| values[k].map(|v| (k, v)));
    let (row, excess_ft) = middle_of_tenth(review, known_ones.collect(), End::High)
        .ok_or_else(|| Fault::new("no go-around with a known energy"))?;
    let end_s = known(review.approaches.numbers("end_s")?[row], "the initiation")?;
    let height_ft = known(
        review.approaches.numbers("go_around_height_ft")?[row],
        "its height",
    )?;
    let columns = [
        "energy_excess_ft",
        "height_aal_ft",
        "flap_lever",
        "gear_down",
        "speedbrake",
        "thrust_pct",
    ];
    let samples = review.samples(row, &columns)?;
    let excess = samples.column("energy_excess_ft")?;
    let found = known(samples.at(excess, end_s), "the energy there")?;
    agrees("go_around_energy_excess_ft", excess_ft, found, 1.0)?;
    let at_nm = known(samples.at(&samples.distance_nm, end_s), "the place")?;
    let says = format!(
        "Go-around initiated at {} ft, {} NM out: {} ft of energy {} the plan",
        decimals(height_ft, 0),
        decimals(at_nm, 1),
        decimals(excess_ft.abs(), 0),
        if excess_ft < 0.0 { "below" } else { "above" }
    );
    let points = by_distance(&samples, |k| excess[k]);
    let heights = by_distance(&samples, |k| samples.column("height_aal_ft").ok()?[k]);
    let mut frame = Frame::new(
        height(&[190.0, 110.0], 3),
        (FROM_NM, 0.0),
        "Energy at the go-around",
        &says,
    );
    let panel = frame.panel(
        190.0,
        extent(&points, &[-300.0, 0.0, 300.0], FROM_NM),
        "energy excess, ft",
    );
    frame.level(&panel, 0.0, "base", "planned energy", true);
    frame.level(&panel, 300.0, "limit", "300 ft above it", true);
    frame.line(&panel, &points, "line");
    let (x, y) = (frame.x.place(at_nm), panel.scale.place(excess_ft));
    frame
        .svg
        .line((x, panel.top), (x, panel.bottom + 136.0), "bracket");
    frame.svg.circle((x, y), 4.5, "mark");
    let words = format!("{} ft", decimals(excess_ft, 0));
    frame
        .svg
        .text((x + 8.0, y - 8.0), Anchor::Start, "says halo", &words);
    frame.svg.text(
        (x - 6.0, panel.top + 13.0),
        Anchor::End,
        "says halo",
        "go-around",
    );
    let panel = frame.panel(
        110.0,
        extent(&heights, &[0.0], FROM_NM),
        "height above the threshold, ft",
    );
    frame.line(&panel, &heights, "line");
    levers(&mut frame, &samples, &["speedbrake", "gear", "flap lever"])?;
    frame.finish(AXIS, "")
}
