//! Height and airspeed where the threshold was crossed.

use super::parts::{agrees, by_distance, extent, known};
use crate::choose::{End, choose};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::Review;
use crate::svg::Anchor;
use crate::words::decimals;

const FROM_NM: f64 = 1.0;
const TO_NM: f64 = -0.3;

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let (row, height_ft) = choose(review, "threshold_height_ft", End::High)?;
    let cas_kt = known(
        review.approaches.numbers("threshold_cas_kt")?[row],
        "threshold_cas_kt",
    )?;
    let samples = review.samples(
        row,
        &[
            "height_geometric_ft",
            "cas_kt",
            "vref_kt",
            "profile_height_ft",
        ],
    )?;
    let (heights, speeds) = (
        samples.column("height_geometric_ft")?,
        samples.column("cas_kt")?,
    );
    let path = samples.column("profile_height_ft")?;
    let at_threshold = |values: &[Option<f64>]| -> Option<f64> {
        let own: Vec<usize> = samples.own().collect();
        own.windows(2).find_map(|pair| {
            let (d0, d1) = (samples.distance_nm[pair[0]]?, samples.distance_nm[pair[1]]?);
            let share = d0 / (d0 - d1);
            let crossed = d0 > 0.0 && d1 <= 0.0;
            crossed.then_some(values[pair[0]]? + (values[pair[1]]? - values[pair[0]]?) * share)
        })
    };
    agrees(
        "threshold_height_ft",
        height_ft,
        known(at_threshold(heights), "the height")?,
        0.5,
    )?;
    agrees(
        "threshold_cas_kt",
        cas_kt,
        known(at_threshold(speeds), "the airspeed")?,
        0.5,
    )?;
    let says = format!(
        "Over the threshold: wheels at {} ft, {} kt",
        decimals(height_ft, 0),
        decimals(cas_kt, 0)
    );
    let all = |values: &[Option<f64>]| {
        by_distance(&samples, |k| {
            values[k].filter(|_| samples.distance_nm[k] >= Some(TO_NM))
        })
    };
    let (height_points, speed_points) = (all(heights), all(speeds));
    let mut frame = Frame::new(
        height(&[170.0, 130.0], 0),
        (FROM_NM, TO_NM),
        "Over the threshold",
        &says,
    );
    let panel = frame.panel(
        170.0,
        extent(&height_points, &[0.0], FROM_NM),
        "height above the threshold, ft",
    );
    frame.line(&panel, &all(path), "plan");
    frame.line(&panel, &height_points, "line");
    let x = frame.x.place(0.0);
    frame
        .svg
        .line((x, panel.top), (x, panel.bottom + 156.0), "bracket");
    let mark = |frame: &mut Frame, y: f64, words: &str| {
        frame.svg.circle((x, y), 4.5, "mark");
        frame
            .svg
            .text((x + 8.0, y - 8.0), Anchor::Start, "says halo", words);
    };
    mark(
        &mut frame,
        panel.scale.place(height_ft),
        &format!("{} ft", decimals(height_ft, 0)),
    );
    frame.svg.text(
        (x + 8.0, panel.top + 13.0),
        Anchor::Start,
        "says halo",
        "threshold",
    );
    if let Some(ft) = samples
        .own()
        .find_map(|k| path[k].filter(|_| samples.distance_nm[k] <= Some(0.8)))
    {
        let at = (frame.x.place(0.8), panel.scale.place(ft) + 20.0);
        frame.svg.text(at, Anchor::End, "axis halo", "glide path");
    }
    let panel = frame.panel(130.0, extent(&speed_points, &[], FROM_NM), "airspeed, kt");
    frame.line(&panel, &speed_points, "line");
    mark(
        &mut frame,
        panel.scale.place(cas_kt),
        &format!("{} kt", decimals(cas_kt, 0)),
    );
    frame.finish(
        "track distance to the threshold, NM; beyond it negative",
        "",
    )
}
