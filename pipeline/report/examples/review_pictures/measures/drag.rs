//! How far an energy excess was carried before drag came.

use super::parts::{AXIS, FAR_NM, OUT, agrees, by_distance, extent, known, levers};
use crate::choose::{End, choose};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::Review;
use crate::svg::Anchor;
use crate::words::decimals;

const EXCESS_FT: f64 = 300.0;
const LASTS_S: usize = 10;

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let (row, late_nm) = choose(review, "drag_late_nm", End::High)?;
    let called_nm = known(
        review.approaches.numbers("drag_called_nm")?[row],
        "drag_called_nm",
    )?;
    let columns = ["energy_excess_ft", "flap_lever", "gear_down", "speedbrake"];
    let samples = review.samples(row, &columns)?;
    let excess = samples.column("energy_excess_ft")?;
    let (flap, gear) = (samples.column("flap_lever")?, samples.column("gear_down")?);
    let brake = samples.column("speedbrake")?;
    let high =
        samples.stretches(|k| samples.in_window(k) && excess[k].is_some_and(|ft| ft > EXCESS_FT));
    let call = high
        .iter()
        .find(|(from, to)| to - from >= LASTS_S)
        .map(|stretch| stretch.0)
        .ok_or_else(|| Fault::new("no energy excess that lasts"))?;
    let came = samples
        .own()
        .find(|&k| {
            k >= call
                && (brake[k].is_some_and(|out| out > OUT)
                    || gear[k].is_some_and(|down| down > 0.5)
                    || flap[k] > flap[call])
        })
        .ok_or_else(|| Fault::new("no drag after the call"))?;
    let far = known(samples.distance_nm[call], "the place of the call")?;
    let near = known(samples.distance_nm[came], "the place of the drag")?;
    agrees("drag_called_nm", called_nm, far, 0.02)?;
    agrees("drag_late_nm", late_nm, far - near, 0.02)?;
    let says = format!(
        "Energy called for drag at {} NM; the first drag came {} NM later, at {} NM",
        decimals(called_nm, 1),
        decimals(late_nm, 1),
        decimals(near, 1)
    );
    let points = by_distance(&samples, |k| excess[k]);
    let mut frame = Frame::new(
        height(&[230.0], 3),
        (FAR_NM, 0.0),
        "Called for, and late: drag",
        &says,
    )
    .found(vec![(near, far)]);
    let panel = frame.panel(
        230.0,
        extent(&points, &[0.0, EXCESS_FT], FAR_NM),
        "energy excess, ft",
    );
    frame.level(&panel, 0.0, "base", "planned energy", true);
    frame.level(&panel, EXCESS_FT, "limit", "300 ft: calls for drag", true);
    frame.line(&panel, &points, "line");
    let own: Vec<_> = (call..=came)
        .map(|k| (samples.distance_nm[k], excess[k]))
        .collect();
    frame.line(&panel, &own, "measured");
    let (a, b, y) = (frame.x.place(far), frame.x.place(near), panel.bottom - 12.0);
    frame.svg.line((a, y), (b, y), "bracket");
    for x in [a, b] {
        frame.svg.line((x, y - 5.0), (x, y + 5.0), "bracket");
    }
    let words = format!("{} NM", decimals(late_nm, 1));
    frame.svg.text(
        (a.midpoint(b), y - 7.0),
        Anchor::Middle,
        "says halo",
        &words,
    );
    levers(&mut frame, &samples, &["speedbrake", "gear", "flap lever"])?;
    frame.finish(AXIS, "The distance from the call to the drag is shaded.")
}
