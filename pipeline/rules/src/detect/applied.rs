//! What of a rule depends on where and with which type an approach was flown: worked out once a place.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use datafusion::execution::session_state::SessionState;
use records::rows::ApproachRow;

use super::DetectError;
use crate::judge::constant;
use crate::rule_file::{CheckedRule, Shape};

/// The limits that apply to an approach and what follows from them.
pub(super) struct Applied {
    pub(super) limits: BTreeMap<String, f64>,
    pub(super) hash: String,
    /// Lower and upper bound of each criterion.
    pub(super) bounds: Vec<(Option<f64>, Option<f64>)>,
}

/// Type, airport and runway.
pub(super) type Place<'a> = [Option<&'a str>; 3];

pub(super) fn place(row: &ApproachRow) -> Place<'_> {
    [&row.aircraft_type, &row.airport, &row.runway].map(|name| name.as_deref())
}

/// The distinct places of some approaches, in order.
pub(super) fn places<'a>(rows: impl Iterator<Item = &'a ApproachRow>) -> Vec<Place<'a>> {
    let places: BTreeSet<Place<'a>> = rows.map(place).collect();
    places.into_iter().collect()
}

/// What applies at each of `places`; where the same limits do, the same.
pub(super) fn applied(
    rule: &CheckedRule,
    places: &[Place<'_>],
    state: &SessionState,
) -> Result<Vec<Arc<Applied>>, DetectError> {
    let mut known: BTreeMap<String, Arc<Applied>> = BTreeMap::new();
    let mut all = Vec::with_capacity(places.len());
    for [aircraft_type, airport, runway] in places {
        let hash = rule.limits_hash(*aircraft_type, *airport, *runway);
        if let Some(applied) = known.get(&hash) {
            all.push(Arc::clone(applied));
            continue;
        }
        let limits = rule.limits_for(*aircraft_type, *airport, *runway);
        let mut bounds = Vec::new();
        if let Shape::Gate { criteria, .. } = &rule.shape {
            for criterion in criteria {
                let mut pair = [None, None];
                for (side, bound) in pair.iter_mut().zip([&criterion.lower, &criterion.upper]) {
                    if let Some(bound) = bound {
                        *side = constant(rule, bound, &limits, state)?;
                    }
                }
                bounds.push((pair[0], pair[1]));
            }
        }
        let applied = Arc::new(Applied {
            limits,
            hash: hash.clone(),
            bounds,
        });
        known.insert(hash, Arc::clone(&applied));
        all.push(applied);
    }
    Ok(all)
}
