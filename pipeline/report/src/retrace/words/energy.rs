//! Height, speed and energy at the checkpoints, and along the way.

use super::{joined, over_by, place};
use crate::retrace::axis::Axis;
use crate::retrace::input::{Checkpoint, Retrace};
use crate::words::decimals;

/// Checkpoints that get a sentence each; the table has all.
const WORDED: [&str; 6] = ["20 NM", "15 NM", "10 NM", "5 NM", "1,000 ft", "500 ft"];
/// Differences of speed smaller than this are not worth words; judgement.
const SMALL_KT: f64 = 5.0;

pub(super) fn sentences(input: &Retrace, axis: &Axis<'_>) -> Vec<String> {
    let worded = |name: &&str| input.checkpoints.iter().find(|c| c.name == **name);
    let mut lines: Vec<String> = WORDED
        .iter()
        .filter_map(worded)
        .filter_map(at_checkpoint)
        .collect();
    lines.extend(furthest(input, axis));
    lines
}

fn at_checkpoint(row: &Checkpoint) -> Option<String> {
    row.time_s?;
    let mut parts = Vec::new();
    match (row.over_profile_ft, row.height_ft) {
        (Some(over), _) => parts.push(format!(
            "the aircraft was {} the glide path",
            over_by(over, "ft")
        )),
        (None, Some(ft)) => parts.push(format!(
            "the aircraft was {} ft above the threshold",
            decimals(ft, 0)
        )),
        (None, None) => {}
    }
    if let Some(kt) = row.cas_kt {
        let mut part = format!("airspeed was {} kt", decimals(kt, 0));
        match row.target_cas_kt.map(|target| kt - target) {
            Some(over) if over.abs() < SMALL_KT => part.push_str(" (about as planned)"),
            Some(over) => part.push_str(&format!(" ({} the planned speed)", over_by(over, "kt"))),
            None => {}
        }
        parts.push(part);
    }
    if let Some(ft) = row.energy_excess_ft {
        parts.push(format!("energy was {} the plan", over_by(ft, "ft")));
    }
    let mut text = format!("At {} {}.", row.name, joined(&parts)?);
    if let Some(way) = way_out(row) {
        text.push_str(&format!(" {way}"));
    }
    Some(text)
}

/// What it took from here to lose an excess in time; nothing where there is none.
fn way_out(row: &Checkpoint) -> Option<String> {
    let class = row.energy_class.as_deref()?;
    if class == "low" {
        return Some("It took thrust, not drag, to be back on the plan.".to_owned());
    }
    if class == "on_profile" {
        return None;
    }
    let enough = match row.cheapest_drag.as_deref() {
        Some("clean") => "idle thrust alone loses that much",
        Some("flap") => "flap loses that much",
        Some("speedbrake") => "speedbrake loses that much",
        Some("gear") => "only the gear loses that much",
        _ => "no configuration loses that much",
    };
    // Inside the last half mile before the gate nothing is left to lose it over.
    let needed = row.loss_needed_ft_per_nm?;
    Some(format!(
        "From there {} ft of energy had to go per NM to be at approach speed at 1,000 ft: by the type's table \
         {enough}.",
        decimals(needed, 0)
    ))
}

/// Where energy was furthest from the plan, and from where it stayed inside the band.
fn furthest(input: &Retrace, axis: &Axis<'_>) -> Vec<String> {
    let band_ft = input.band_ft;
    let excess = input.series.energy_excess_ft.iter().enumerate();
    let known: Vec<(usize, f64)> = excess
        .filter(|(k, _)| axis.shows(*k))
        .filter_map(|(k, ft)| ft.map(|ft| (k, ft)))
        .collect();
    let most = known
        .iter()
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        .copied();
    let (Some((k, most)), Some((last, _))) = (most, known.last()) else {
        return Vec::new();
    };
    let band = decimals(band_ft, 0);
    if most.abs() <= band_ft {
        return vec![format!(
            "Energy stayed within {band} ft of the plan wherever it is known."
        )];
    }
    let mut lines = Vec::new();
    if let Some(place) = place(input, axis, k) {
        lines.push(format!(
            "Energy was furthest from the plan, {} it, at {place}.",
            over_by(most, "ft")
        ));
    }
    match known.iter().rposition(|(_, ft)| ft.abs() > band_ft) {
        Some(at) if known[at].0 == *last => lines.push(format!(
            "Energy was outside {band} ft of the plan when it was last known."
        )),
        // The first known sample after the last one outside.
        Some(at) => {
            let back = known.get(at + 1).and_then(|(k, _)| place(input, axis, *k));
            if let Some(place) = back {
                lines.push(format!(
                    "From {place} on, energy was within {band} ft of the plan."
                ));
            }
        }
        None => {}
    }
    lines
}
