//! Height turned into speed instead of being lost to drag.

use super::over_plan::{HIGH_FT, over_plan_ft};
use super::parts::{AXIS, FAR_NM, OUT, agrees, by_distance, distances, extent, levers};
use crate::choose::{End, choose};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::Review;
use crate::svg::Anchor;
use crate::words::decimals;

/// Airspeed is a centred mean over this many samples to either side, fewer at the ends of a stretch.
const HALF: usize = 5;

/// Where the airspeed was lowest, where it was highest after that, and the means there.
struct Gain {
    from: usize,
    to: usize,
    low_kt: f64,
    high_kt: f64,
}

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let (row, gain_kt) = choose(review, "speed_for_drag_kt", End::High)?;
    let columns = [
        "height_geometric_ft",
        "planning_height_ft",
        "speedbrake",
        "gear_down",
        "flap_lever",
        "cas_kt",
    ];
    let samples = review.samples(row, &columns)?;
    let over = over_plan_ft(&samples)?;
    let (brake, gear) = (samples.column("speedbrake")?, samples.column("gear_down")?);
    let cas = samples.column("cas_kt")?;
    let stretches = samples.stretches(|k| {
        samples.in_window(k)
            && over[k].is_some_and(|ft| ft > HIGH_FT)
            && brake[k].is_some_and(|out| out <= OUT)
            && gear[k].is_some_and(|down| down < 0.5)
    });
    let best = stretches
        .iter()
        .filter_map(|&(from, to)| gain(cas, from, to))
        .max_by(|a, b| (a.high_kt - a.low_kt).total_cmp(&(b.high_kt - b.low_kt)))
        .ok_or_else(|| Fault::new("no stretch in which the airspeed rose"))?;
    agrees(
        "speed_for_drag_kt",
        gain_kt,
        best.high_kt - best.low_kt,
        0.2,
    )?;
    let says = format!(
        "High, speedbrake stowed and gear up, the airspeed rose by {} kt, from {} to {} kt",
        decimals(gain_kt, 0),
        decimals(best.low_kt, 0),
        decimals(best.high_kt, 0)
    );
    let height_points = by_distance(&samples, |k| over[k]);
    let speed_points = by_distance(&samples, |k| cas[k]);
    let mut frame = Frame::new(
        height(&[130.0, 170.0], 3),
        (FAR_NM, 0.0),
        "Speed instead of drag",
        &says,
    )
    .found(distances(&samples, &stretches));
    let panel = frame.panel(
        130.0,
        extent(&height_points, &[0.0, HIGH_FT], FAR_NM),
        "above the planned height, ft",
    );
    frame.level(&panel, HIGH_FT, "limit", "300 ft", true);
    frame.level(&panel, 0.0, "base", "planned height", true);
    frame.line(&panel, &height_points, "line");
    let panel = frame.panel(170.0, extent(&speed_points, &[], FAR_NM), "airspeed, kt");
    frame.line(&panel, &speed_points, "line");
    let own: Vec<_> = (best.from..=best.to)
        .map(|k| (samples.distance_nm[k], cas[k]))
        .collect();
    frame.line(&panel, &own, "measured");
    if let (Some(from), Some(to)) = (samples.distance_nm[best.from], samples.distance_nm[best.to]) {
        let (a, b) = (frame.x.place(from), frame.x.place(to));
        let (low, high) = (
            panel.scale.place(best.low_kt),
            panel.scale.place(best.high_kt),
        );
        frame.svg.line((a, low), (b + 10.0, low), "bracket");
        frame.svg.line((b + 10.0, low), (b + 10.0, high), "bracket");
        frame.svg.line((b, high), (b + 10.0, high), "bracket");
        let words = format!("+{} kt", decimals(gain_kt, 0));
        frame.svg.text(
            (b + 15.0, low.midpoint(high) + 4.0),
            Anchor::Start,
            "says halo",
            &words,
        );
    }
    levers(&mut frame, &samples, &["speedbrake", "gear", "flap lever"])?;
    frame.finish(AXIS, "The stretches in which it is looked for are shaded.")
}

fn gain(cas: &[Option<f64>], from: usize, to: usize) -> Option<Gain> {
    let mut lowest = (from, f64::INFINITY);
    let mut best: Option<Gain> = None;
    for k in from..=to {
        let reach = HALF.min(k - from).min(to - k);
        let known: Vec<f64> = cas[k - reach..=k + reach]
            .iter()
            .flatten()
            .copied()
            .collect();
        let mean = known.iter().sum::<f64>() / known.len() as f64;
        if mean < lowest.1 {
            lowest = (k, mean);
        }
        let more = best
            .as_ref()
            .is_none_or(|b| mean - lowest.1 > b.high_kt - b.low_kt);
        if more && mean > lowest.1 {
            best = Some(Gain {
                from: lowest.0,
                to: k,
                low_kt: lowest.1,
                high_kt: mean,
            });
        }
    }
    best
}
