//! What an approach lost per air mile in each configuration, at the lowest thrust it used.
//!
//! Whether that thrust was idle only the fleet can tell: the mean thrust stands beside the loss.

use crate::derive::{Columns, Segment};
use crate::rows::LossRow;

use super::class::{Drag, SPEEDBRAKE_OUT};

/// Thrust this close to the lowest of the approach counts as the same: judgement.
const LOW_THRUST_PCT: f64 = 3.0;
/// Handles beyond this are as good as full; in between a loss is neither with nor without. Judgement.
const SPEEDBRAKE_FULL: f64 = 0.75;
/// Steeper banks add drag of their own: judgement.
const BANK_DEG: f64 = 15.0;
/// Gear takes no longer to come down: judgement, generous for a transport.
const TRANSIT_S: f64 = 20.0;
/// Levers are recorded up to this late (14 CFR 121 Appendix M: gear every 4 s): what is seen to change then has
/// changed already.
const LATE_S: f64 = 4.0;
/// Below this the flare begins and thrust is closed for another reason: judgement.
const LEAST_HEIGHT_FT: f64 = 200.0;
/// A stretch is at least this long, so that steps of the altimeter count for little …
const STRETCH_NM: f64 = 0.5;
/// … and an approach has at least so much in a configuration.
const LEAST_NM: f64 = 1.0;

pub(super) fn rows((flight_id, approach_no): (&str, i32), columns: &Columns) -> Vec<LossRow> {
    let Some(low_pct) = lowest_thrust_pct(columns) else {
        return Vec::new();
    };
    Drag::ALL
        .into_iter()
        .filter_map(|drag| {
            let sum = flown(columns, drag, low_pct + LOW_THRUST_PCT);
            (sum.air_nm >= LEAST_NM).then(|| LossRow {
                flight_id: flight_id.to_owned(),
                approach_no,
                configuration: drag.as_str().to_owned(),
                air_nm: sum.air_nm,
                loss_ft_per_nm: sum.lost_ft / sum.air_nm,
                thrust_pct: sum.thrust / sum.samples,
                cas_kt: sum.cas / sum.samples,
            })
        })
        .collect()
}

fn lowest_thrust_pct(columns: &Columns) -> Option<f64> {
    let thrust = columns.values("thrust_pct")?.iter().enumerate();
    thrust
        .filter(|(k, pct)| !pct.is_nan() && aloft(columns, *k))
        .map(|(_, pct)| *pct)
        .reduce(f64::min)
}

fn aloft(columns: &Columns, k: usize) -> bool {
    let height = columns.values("height_aal_ft").map(|height| height[k]);
    columns.segment[k] == Segment::Approach && height.is_some_and(|ft| ft >= LEAST_HEIGHT_FT)
}

/// The configuration of a sample, where it is one of the four and known to be.
fn configuration(columns: &Columns, k: usize) -> Option<Drag> {
    let value = |name: &str| {
        columns
            .values(name)
            .map(|values| values[k])
            .filter(|v| !v.is_nan())
    };
    let (gear, lever, brake) = (
        value("gear_down")?,
        value("flap_lever")?,
        value("speedbrake")?,
    );
    if gear == 0.0 && in_transit(columns, k) {
        return None;
    }
    let stowed = brake <= SPEEDBRAKE_OUT;
    match (gear == 1.0, lever > 0.0) {
        (true, true) if stowed => Some(Drag::Gear),
        (false, true) if stowed => Some(Drag::Flap),
        (false, false) if stowed => Some(Drag::Clean),
        (false, false) if brake >= SPEEDBRAKE_FULL => Some(Drag::Speedbrake),
        _ => None,
    }
}

/// Whether the gear, not down yet, is on its way: its lever is down, or, where that is not recorded, it will
/// be down soon.
fn in_transit(columns: &Columns, k: usize) -> bool {
    let lever = columns
        .values("gear_lever")
        .map_or(f64::NAN, |lever| lever[k]);
    if !lever.is_nan() {
        return lever == 1.0;
    }
    let ahead = (TRANSIT_S / columns.grid.step_s).round() as usize;
    let gear = columns.values("gear_down").unwrap_or_default();
    gear.iter().skip(k + 1).take(ahead).any(|down| *down == 1.0)
}

#[derive(Default)]
struct Sum {
    air_nm: f64,
    lost_ft: f64,
    thrust: f64,
    cas: f64,
    samples: f64,
}

/// Sums the stretches of one configuration at low thrust.
fn flown(columns: &Columns, drag: Drag, most_pct: f64) -> Sum {
    let none = Vec::new();
    let values = |name: &str| columns.values(name).unwrap_or(&none);
    let (energy, air) = (values("energy_height_ft"), values("air_distance_nm"));
    let (thrust, cas, roll) = (values("thrust_pct"), values("cas_kt"), values("roll_deg"));
    let late = (LATE_S / columns.grid.step_s).round() as usize;
    let fits = |k: usize| {
        let known = |values: &[f64]| values.get(k).is_some_and(|value| !value.is_nan());
        known(energy)
            && known(air)
            && known(cas)
            && thrust.get(k).is_some_and(|pct| *pct <= most_pct)
            && roll
                .get(k)
                .is_none_or(|deg| deg.is_nan() || deg.abs() <= BANK_DEG)
            && aloft(columns, k)
            && configuration(columns, k) == Some(drag)
            && configuration(columns, (k + late).min(columns.grid.n - 1)) == Some(drag)
    };
    let mut sum = Sum::default();
    let mut k = 0;
    while k < columns.grid.n {
        if !fits(k) {
            k += 1;
            continue;
        }
        let from = k;
        while k + 1 < columns.grid.n && fits(k + 1) {
            k += 1;
        }
        let air_nm = air[from] - air[k];
        if air_nm >= STRETCH_NM {
            sum.air_nm += air_nm;
            sum.lost_ft += energy[from] - energy[k];
            sum.thrust += thrust[from..=k].iter().sum::<f64>();
            sum.cas += cas[from..=k].iter().sum::<f64>();
            sum.samples += (k - from + 1) as f64;
        }
        k += 1;
    }
    sum
}
