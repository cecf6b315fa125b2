//! Figures of how approaches are flown that cannot be true.

use super::Faults;
use crate::input::{Flown, ShareCell};

pub(super) fn check(faults: &mut Faults, flown: &Flown) {
    for group in &flown.energy {
        for at in &group.checkpoints {
            let place = format!("energy of {} at {}", group.group, at.checkpoint);
            faults.quantiles(&place, &at.all);
            if let Some(latest) = &at.latest {
                faults.quantiles(&format!("{place}, {}", latest.label), latest);
            }
        }
    }
    for line in &flown.outcomes {
        let place = format!("outcome of {} at {}", line.class, line.checkpoint);
        share(faults, &place, &line.unstable);
    }
    for line in &flown.decisive {
        let place = format!("checkpoint {}", line.checkpoint);
        for value in [line.auc, line.low, line.high] {
            faults.share(&place, "probability", value);
        }
    }
    for line in &flown.margins {
        let place = format!("margin of {}, flap {}", line.aircraft_type, line.lever);
        faults.quantiles(&place, &line.margin);
    }
    for gate in &flown.gates {
        for line in &gate.criteria {
            let place = format!("criterion {} of `{}`", line.criterion, gate.rule_id);
            share(faults, &place, &line.all);
            share(faults, &format!("{place}, latest month"), &line.latest);
        }
    }
    for moment in &flown.moments {
        for period in &moment.periods {
            let place = format!("{}, {}", moment.title, period.label);
            faults.quantiles(&place, period);
        }
    }
    for line in &flown.decisions {
        let place = format!("what followed at {}, {}", line.group, line.at_gate);
        share(faults, &place, &line.went_around);
    }
    for line in &flown.shortcuts {
        let place = format!("routing {}", line.routing);
        share(faults, &place, &line.unstable);
        faults.share(&place, "held speed", line.held_speed_share);
        faults.finite(&place, "miles taken", line.miles_taken_median_nm);
        faults.finite(&place, "excess", line.energy_excess_10nm_median_ft);
    }
    for line in &flown.recoverability {
        let place = format!("drag {} of {}", line.drag, line.aircraft_type);
        share(faults, &place, &line.stable);
        faults.not_negative(&place, "frontier", line.frontier_nm);
        for value in line.taken_nm.into_iter().flatten() {
            faults.not_negative(&place, "distance taken at", Some(value));
        }
    }
}

fn share(faults: &mut Faults, place: &str, cell: &ShareCell) {
    faults.share(place, "share", cell.share);
    faults.share(place, "lower end", cell.low);
    faults.share(place, "upper end", cell.high);
    if cell
        .low
        .zip(cell.high)
        .is_some_and(|(low, high)| low > high)
    {
        faults.add(place, "the interval is upside down");
    }
    if cell
        .part
        .zip(cell.approaches)
        .is_some_and(|(part, all)| part > all)
    {
        faults.add(place, "a part larger than the whole");
    }
}
