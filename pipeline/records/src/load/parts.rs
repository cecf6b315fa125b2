//! What the parts of one recording must agree about: which has a parameter, and which flights they hold.

use std::collections::{BTreeMap, BTreeSet};

use super::{Fault, Plan, Run};

/// A parameter that two parts hold, as a fault.
pub(crate) fn clash(parts: &[(&str, &Plan)]) -> Option<Fault> {
    let mut seen: BTreeMap<&str, (&str, &str)> = BTreeMap::new();
    for (file, plan) in parts {
        for channel in &plan.channels {
            let column = channel.entry.column.as_str();
            if let Some((other, before)) = seen.insert(&channel.name, (file, column)) {
                let detail = format!(
                    "{} comes from column `{before}` of {other} and from column `{column}` of {file}; \
                     take it out of the map of one of the two",
                    channel.name
                );
                return Some(Fault::new("parameter in two parts", detail));
            }
        }
    }
    None
}

/// Every flight id of the parts, in an order in which each part has them, one after the other.
///
/// # Errors
/// The ids of two flights that the parts have in different orders.
pub(crate) fn merged<'a>(parts: &[Vec<&'a Run>]) -> Result<Vec<&'a str>, Fault> {
    let ids: Vec<BTreeSet<&str>> = parts
        .iter()
        .map(|runs| runs.iter().map(|run| run.flight_id.as_str()).collect())
        .collect();
    let mut at = vec![0; parts.len()];
    let mut order = Vec::new();
    loop {
        let heads: Vec<Option<&'a Run>> = parts
            .iter()
            .zip(&at)
            .map(|(runs, &at)| runs.get(at).copied())
            .collect();
        let first_everywhere = |id: &str| {
            heads.iter().zip(&ids).all(|(head, ids)| {
                !ids.contains(id) || head.is_some_and(|head| head.flight_id == id)
            })
        };
        let mut waiting = heads.iter().flatten().map(|run| run.flight_id.as_str());
        let Some(next) = waiting.find(|id| first_everywhere(id)) else {
            let left = heads.iter().flatten().count();
            if left == 0 {
                return Ok(order);
            }
            let detail = "the flights stand in another order in one part than in the other; sort each part by \
                          flight_id";
            return Err(Fault::new("parts in different order", detail));
        };
        order.push(next);
        for (head, at) in heads.iter().zip(&mut at) {
            *at += usize::from(head.is_some_and(|head| head.flight_id == next));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn order(parts: &[&[&str]]) -> Option<Vec<String>> {
        let runs = |ids: &&[&str]| -> Vec<Run> {
            let run = |id: &&str| Run {
                flight_id: (*id).to_owned(),
                rows: 1,
            };
            ids.iter().map(run).collect()
        };
        let parts: Vec<Vec<Run>> = parts.iter().map(runs).collect();
        let parts: Vec<Vec<&Run>> = parts.iter().map(|runs| runs.iter().collect()).collect();
        let merged = merged(&parts).ok()?;
        Some(merged.into_iter().map(str::to_owned).collect())
    }

    #[test]
    fn flights_of_all_parts_each_once() {
        let found = order(&[&["a", "c", "d"], &["b", "c", "d", "e"], &["d", "f"]]);
        assert_eq!(found.unwrap(), ["a", "b", "c", "d", "e", "f"]);
        assert_eq!(order(&[&["b", "a"]]).unwrap(), ["b", "a"]);
        assert_eq!(order(&[&[], &["a"]]).unwrap(), ["a"]);
    }

    #[test]
    fn another_order_is_a_fault() {
        assert_eq!(order(&[&["a", "b"], &["b", "a"]]), None);
        assert_eq!(order(&[&["a", "b"], &["b", "c"], &["c", "a"]]), None);
    }
}
