//! Dispersion of each rule from clusters of approaches: flights of one tail and day, or of one
//! airport and day, are not independent.

use std::collections::BTreeMap;

use records::rows::ApproachRow;
use stats::Cluster;

use super::count::{is_evaluable, seen};
use crate::rows::{EventRow, MeasurementRow};

/// (tail or airport, day) → approaches with an event, evaluable approaches.
type Clusters<'a> = BTreeMap<(&'a str, &'a str), (u64, u64)>;

/// φ by rule, fleet-wide; `None` where the flight list has no day keys.
pub(super) fn phi_by_rule(
    approaches: &[ApproachRow],
    measurements: &[MeasurementRow],
    events: &[EventRow],
) -> BTreeMap<String, Option<f64>> {
    let rows: BTreeMap<i64, &ApproachRow> = approaches
        .iter()
        .filter(|row| row.is_line())
        .map(|row| (row.approach_key, row))
        .collect();
    let seen = seen(events);
    let mut clusters: BTreeMap<&str, [Clusters<'_>; 2]> = BTreeMap::new();
    for measurement in measurements
        .iter()
        .filter(|measurement| is_evaluable(measurement))
    {
        let Some(row) = rows.get(&measurement.approach_key) else {
            continue;
        };
        let Some(day) = row.day_key.as_deref() else {
            continue;
        };
        let key = (
            measurement.flight_id.as_str(),
            measurement.approach_no,
            measurement.rule.as_str(),
        );
        let hit = seen.get(&key).is_some_and(|seen| seen.any());
        let kinds = clusters.entry(measurement.rule.as_str()).or_default();
        for (kind, name) in kinds
            .iter_mut()
            .zip([row.tail_id.as_deref(), row.airport.as_deref()])
        {
            if let Some(name) = name {
                let cell = kind.entry((name, day)).or_default();
                cell.0 += u64::from(hit);
                cell.1 += 1;
            }
        }
    }
    clusters
        .into_iter()
        .map(|(rule, kinds)| {
            let estimates = kinds.map(|kind| {
                let clusters: Vec<Cluster> = kind
                    .into_values()
                    .map(|(with_event, evaluable)| Cluster {
                        evaluable,
                        with_event,
                    })
                    .collect();
                stats::phi_from_clusters(&clusters)
            });
            (rule.to_owned(), stats::choose_phi(&estimates))
        })
        .collect()
}
