//! What each configuration really loses, measured from the fleet's own approaches at idle.

use std::collections::{BTreeMap, BTreeSet};

use records::energy::{Drag, cheapest_drag, energy_class};
use records::fleet::LossRates;
use records::rows::{ApproachRow, CheckpointRow};
use stats::{median_interval, quantile};

use super::super::facts::{Loss, Losses, Places};
use super::super::{FEW_FLIGHTS, SummaryOptions};
use super::LossRateRow;

/// What each type loses by its table.
pub type LossTable = BTreeMap<String, LossRates>;

/// Thrust within this of the type's idle is idle: judgement.
const IDLE_PCT: f64 = 2.0;
/// Idle is where the lowest tenth of the approaches' mean low thrust ends: most descents are flown at
/// idle somewhere, a few never are.
const IDLE_SHARE: f64 = 0.1;

/// Loss rates measured from the fleet, type by type, where each configuration rests on enough approaches;
/// what does not keeps the figure of the table.
#[must_use]
pub fn calibrate(measured: &[LossRateRow], tables: &LossTable) -> LossTable {
    let mut calibrated = tables.clone();
    for row in measured {
        let Some(rates) = calibrated.get_mut(&row.aircraft_type) else {
            continue;
        };
        let Some(median) = row.median_ft_per_nm else {
            continue;
        };
        match row.configuration.as_str() {
            "clean" => rates.clean = median,
            "flap" => rates.flap = median,
            "speedbrake" => rates.speedbrake = median,
            "gear" => rates.gear = median,
            _ => {}
        }
    }
    calibrated
}

/// Puts every checkpoint into the class that these rates make of it.
///
/// Needed losses stay: they are what the approach asked for, whatever the aircraft can do.
pub fn reclassify(checkpoints: &mut [CheckpointRow], approaches: &Places<'_>, rates: &LossTable) {
    for row in checkpoints {
        let approach = approaches.row(&row.flight_id, row.approach_no);
        let kind = approach.and_then(|approach| approach.aircraft_type.as_deref());
        let Some(rates) = kind.and_then(|kind| rates.get(kind)) else {
            continue;
        };
        let in_use = row.drag_in_use.as_deref().and_then(drag);
        row.loss_available_ft_per_nm = in_use.map(|drag| drag.loss_ft_per_nm(rates));
        let needed = row.loss_needed_ft_per_nm;
        let cheapest = needed
            .filter(|needed| *needed > 0.0)
            .and_then(|needed| cheapest_drag(needed, rates));
        row.cheapest_drag = cheapest.map(|drag| drag.as_str().to_owned());
        // A class that is not known for want of a way or an excess is not known by other rates either.
        if let (Some(_), Some(excess_ft)) = (&row.energy_class, row.energy_excess_ft) {
            let class = energy_class(excess_ft, needed, Some(rates));
            row.energy_class = class.map(|class| class.as_str().to_owned());
        }
    }
}

fn drag(in_use: &str) -> Option<Drag> {
    let name = if in_use == "none" { "clean" } else { in_use };
    Drag::ALL.into_iter().find(|drag| drag.as_str() == name)
}

/// What each configuration lost in the fleet, beside the tables.
#[must_use]
pub fn loss_rates(
    approaches: &[ApproachRow],
    losses: &Losses,
    tables: &LossTable,
    options: &SummaryOptions,
) -> Vec<LossRateRow> {
    let mut by_type: BTreeMap<&str, Vec<&Loss>> = BTreeMap::new();
    for row in losses.iter() {
        if let Some(kind) = approaches[row.approach].aircraft_type.as_deref() {
            by_type.entry(kind).or_default().push(row);
        }
    }
    let mut rows = Vec::new();
    for (kind, losses) in by_type {
        let Some(idle_pct) = idle_pct(&losses) else {
            continue;
        };
        for drag in Drag::ALL {
            let at_idle: Vec<&Loss> = losses
                .iter()
                .filter(|row| row.configuration == Some(drag))
                .filter(|row| row.thrust_pct <= idle_pct + IDLE_PCT)
                .copied()
                .collect();
            if !at_idle.is_empty() {
                let by_table = tables.get(kind).map(|rates| drag.loss_ft_per_nm(rates));
                // One row an approach; flights with two of them are few, and count once.
                let flights = at_idle
                    .iter()
                    .map(|row| approaches[row.approach].flight_id.as_str());
                let flights: BTreeSet<&str> = flights.collect();
                let shown = flights.len() >= options.min_flights;
                rows.push(row(
                    kind, drag, &at_idle, idle_pct, by_table, shown, options,
                ));
            }
        }
    }
    rows
}

fn idle_pct(losses: &[&Loss]) -> Option<f64> {
    quantile(&sorted(losses.iter().map(|row| row.thrust_pct)), IDLE_SHARE)
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
}

fn row(
    kind: &str,
    drag: Drag,
    losses: &[&Loss],
    idle_pct: f64,
    by_table: Option<f64>,
    shown: bool,
    options: &SummaryOptions,
) -> LossRateRow {
    let values = sorted(losses.iter().map(|row| row.loss_ft_per_nm));
    let at = |share: f64| quantile(&values, share).filter(|_| shown);
    let (low, high) = median_interval(&values, options.confidence)
        .filter(|_| shown)
        .unzip();
    LossRateRow {
        aircraft_type: kind.to_owned(),
        configuration: drag.as_str().to_owned(),
        table_ft_per_nm: by_table,
        approaches: shown.then_some(losses.len() as i64),
        air_nm: shown.then(|| losses.iter().map(|row| row.air_nm).sum()),
        median_ft_per_nm: at(0.5),
        median_low: low,
        median_high: high,
        p90_ft_per_nm: at(0.9),
        idle_thrust_pct: shown.then_some(idle_pct),
        suppressed: (!shown).then(|| FEW_FLIGHTS.to_owned()),
    }
}
