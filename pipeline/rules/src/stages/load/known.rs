//! What the store knows of its inputs: their bytes, and the parameter maps they were read by.

use std::collections::{BTreeMap, BTreeSet};

use records::fleet::{Fleet, MapMark};

use crate::store::{InputRecord, Store};

/// An input as it was last loaded, and all the maps there were.
struct Known<'a> {
    input: &'a InputRecord,
    maps: &'a [MapMark],
}

fn known(store: &Store) -> BTreeMap<&str, Known<'_>> {
    let mut inputs: BTreeMap<&str, Known<'_>> = BTreeMap::new();
    for run in store.runs().iter().filter(|run| run.kind == "load") {
        if run.all_again {
            inputs.clear();
        }
        for file in &run.forgotten {
            inputs.remove(file.as_str());
        }
        let maps = run.maps.as_slice();
        let taken = run.inputs.iter();
        inputs.extend(taken.map(|input| (input.file.as_str(), Known { input, maps })));
    }
    inputs
}

/// Content hash of every input, by its file, as it was last loaded under the present configuration.
#[must_use]
pub fn loaded_inputs(store: &Store) -> BTreeMap<String, String> {
    let inputs = known(store).into_iter();
    inputs
        .map(|(file, known)| (file.to_owned(), known.input.hash.clone()))
        .collect()
}

/// Inputs that the maps of the fleet, as they are now, would read otherwise than they were read.
pub(crate) fn mapped_otherwise(fleet: &Fleet, store: &Store) -> BTreeSet<String> {
    let now = fleet.map_marks();
    known(store)
        .into_iter()
        .filter(|(_, known)| !same(&known.input.maps, known.maps, &now))
        .map(|(file, _)| file.to_owned())
        .collect()
}

/// Whether a file that got the maps `chosen` of `then` gets the same of `now`.
///
/// Told without opening it: a map that stood before the chosen one and did not fit does not fit now, as
/// long as it needs the same columns. Where that is not sure, the file is read again.
fn same(chosen: &[usize], then: &[MapMark], now: &[MapMark]) -> bool {
    let needed = |maps: &'_ [MapMark]| -> BTreeSet<String> {
        maps.iter().map(|map| map.needs.clone()).collect()
    };
    if chosen.is_empty() {
        // No map fitted; or there was none, and columns went by their own names.
        return then.is_empty() == now.is_empty() && needed(now).is_subset(&needed(then));
    }
    chosen.iter().all(|place| {
        let Some(map) = then.get(*place) else {
            return false;
        };
        let before = needed(&then[..*place]);
        let at = now.iter().position(|other| other.map == map.map);
        at.is_some_and(|at| needed(&now[..at]).is_subset(&before))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(maps: &[(&str, &str)]) -> Vec<MapMark> {
        let mark = |(map, needs): &(&str, &str)| MapMark {
            map: (*map).to_owned(),
            needs: (*needs).to_owned(),
        };
        maps.iter().map(mark).collect()
    }

    #[test]
    fn a_changed_map_touches_its_own_files_and_those_it_may_newly_fit() {
        let then = marks(&[("a", "A"), ("b", "B"), ("c", "C")]);
        let keeps = |now: &[(&str, &str)]| {
            let now = marks(now);
            [&[0][..], &[1], &[2], &[]].map(|chosen| same(chosen, &then, &now))
        };
        assert_eq!(keeps(&[("a", "A"), ("b", "B"), ("c", "C")]), [true; 4]);
        // Another unit in b.
        assert_eq!(
            keeps(&[("a", "A"), ("b2", "B"), ("c", "C")]),
            [true, false, true, true]
        );
        // b needs other columns: it may fit what c and none fitted.
        assert_eq!(
            keeps(&[("a", "A"), ("b2", "D"), ("c", "C")]),
            [true, false, false, false]
        );
        // A map is taken out, or put last.
        assert_eq!(keeps(&[("b", "B"), ("c", "C")]), [false, true, true, true]);
        assert_eq!(
            keeps(&[("b", "B"), ("c", "C"), ("a", "A")]),
            [false, true, true, true]
        );
        // Two maps change places: either may be the first to fit now.
        assert_eq!(
            keeps(&[("a", "A"), ("c", "C"), ("b", "B")]),
            [true, false, true, true]
        );
        // Columns by their own names.
        assert!(!same(&[], &[], &then) && !same(&[], &then, &[]) && same(&[], &[], &[]));
        assert!(!same(&[7], &then, &then));
    }
}
