//! Where the first flap, the gear and landing flap came.

use super::parts::{AXIS, FAR_NM, agrees, by_distance, extent, known, levers};
use crate::choose::{End, choose};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::Review;
use crate::svg::Anchor;
use crate::words::decimals;

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let (row, gear_ft) = choose(review, "gear_down_height_aal_ft", End::Low)?;
    let value = |name: &str| known(review.approaches.numbers(name)?[row], name);
    let (flap_nm, gear_nm) = (value("first_flap_nm")?, value("gear_down_nm")?);
    let landing_ft = value("landing_flap_height_aal_ft")?;
    let columns = [
        "height_aal_ft",
        "flap_lever",
        "gear_down",
        "landing_flap_set",
        "cas_kt",
    ];
    let samples = review.samples(row, &columns)?;
    let height_ft = samples.column("height_aal_ft")?;
    let first = |name: &str| -> Result<usize, Fault> {
        let values = samples.column(name)?;
        samples
            .own()
            .find(|&k| values[k].is_some_and(|v| v > 0.5))
            .ok_or_else(|| Fault::new(format!("{name} never came")))
    };
    let (flap, gear, landing) = (
        first("flap_lever")?,
        first("gear_down")?,
        first("landing_flap_set")?,
    );
    let nm = |k: usize| known(samples.distance_nm[k], "a distance");
    let ft = |k: usize| known(height_ft[k], "a height");
    agrees("first_flap_nm", flap_nm, nm(flap)?, 0.02)?;
    agrees("gear_down_nm", gear_nm, nm(gear)?, 0.02)?;
    agrees("gear_down_height_aal_ft", gear_ft, ft(gear)?, 1.0)?;
    agrees("landing_flap_height_aal_ft", landing_ft, ft(landing)?, 1.0)?;
    let says = format!(
        "First flap at {} NM, gear down at {} NM and {} ft, landing flap at {} ft",
        decimals(flap_nm, 1),
        decimals(gear_nm, 1),
        decimals(gear_ft, 0),
        decimals(landing_ft, 0)
    );
    let heights = by_distance(&samples, |k| height_ft[k]);
    let mut frame = Frame::new(
        height(&[240.0], 3),
        (FAR_NM, 0.0),
        "Where flap and gear came",
        &says,
    );
    let panel = frame.panel(
        240.0,
        extent(&heights, &[0.0], FAR_NM),
        "height above the threshold, ft",
    );
    frame.line(&panel, &heights, "line");
    let marks = [
        (flap, format!("first flap: {} NM", decimals(flap_nm, 1))),
        (
            gear,
            format!(
                "gear: {} NM, {} ft",
                decimals(gear_nm, 1),
                decimals(gear_ft, 0)
            ),
        ),
        (
            landing,
            format!("landing flap: {} ft", decimals(landing_ft, 0)),
        ),
    ];
    let mut taken: Vec<(f64, f64)> = Vec::new();
    for (k, words) in marks {
        let (x, y) = (frame.x.place(nm(k)?), panel.scale.place(ft(k)?));
        frame.svg.line((x, y), (x, panel.bottom + 62.0), "bracket");
        frame.svg.circle((x, y), 4.5, "mark");
        // To the upper right the sky is empty, but for the words of a mark close by.
        let near = |(other_x, other_y): &&(f64, f64)| {
            (x - other_x).abs() < 150.0 && (y - other_y).abs() < 18.0
        };
        let up = 9.0 + 18.0 * taken.iter().filter(near).count() as f64;
        let at = (x + 6.0, y - up);
        frame.svg.text(at, Anchor::Start, "says halo", &words);
        taken.push((x, y));
    }
    levers(
        &mut frame,
        &samples,
        &["flap lever", "gear", "landing flap"],
    )?;
    frame.finish(AXIS, "")
}
