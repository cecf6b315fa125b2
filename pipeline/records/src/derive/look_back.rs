//! The operator's own columns, which look back over others.

use super::{Columns, Work, windows};
use crate::catalogue::{Take, Window};

/// Computes the operator's columns, in the order given.
///
/// A value is unknown in the first seconds of an approach, and where more than a fifth of what it
/// looks at is unknown.
pub fn look_back(columns: &mut Columns, wanted: &[Window]) {
    let mut work = Work::new(columns);
    for window in wanted {
        let steps = (window.seconds / work.columns.grid.step_s).round().max(1.0) as usize;
        let values = work.get(&window.of);
        let taken = match window.take {
            Take::Max => windows::trailing_max(values, steps),
            Take::Min => negated(windows::trailing_max(&negated(values.to_vec()), steps)),
            Take::Mean => windows::trailing_mean(values, steps),
            Take::Change => (0..values.len())
                .map(|k| {
                    k.checked_sub(steps)
                        .map_or(f64::NAN, |before| values[k] - values[before])
                })
                .collect(),
        };
        work.put(&window.name, taken);
    }
}

fn negated(mut values: Vec<f64>) -> Vec<f64> {
    values.iter_mut().for_each(|value| *value = -*value);
    values
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::super::Segment;
    use super::*;
    use crate::timebase::Grid;

    fn taken(values: Vec<f64>, take: Take, seconds: f64) -> Vec<f64> {
        let n = values.len();
        let mut columns = Columns {
            grid: Grid {
                start_s: 0.0,
                step_s: 1.0,
                n,
            },
            columns: BTreeMap::from([("cas_kt".to_owned(), values)]),
            segment: vec![Segment::Approach; n],
        };
        let window = Window {
            name: "own".into(),
            of: "cas_kt".into(),
            take,
            seconds,
        };
        look_back(&mut columns, &[window]);
        columns.values("own").expect("filled").to_vec()
    }

    #[test]
    fn change_is_against_the_moment_so_many_seconds_before() {
        let change = taken(vec![140.0, 143.0, 141.0, f64::NAN], Take::Change, 2.0);
        assert!(change[0].is_nan() && change[1].is_nan() && change[3].is_nan());
        assert_eq!(change[2], 1.0);
    }

    proptest! {
        /// The same as looking at each window afresh.
        #[test]
        fn extremes_and_means_are_those_of_each_window(
            values in prop::collection::vec(
                prop_oneof![9 => (0.0..100.0_f64).boxed(), 1 => Just(f64::NAN).boxed()], 1..60),
            length in 1_usize..12,
        ) {
            for take in [Take::Min, Take::Max, Take::Mean] {
                let found = taken(values.clone(), take, length as f64);
                for (k, found) in found.iter().enumerate() {
                    let from = (k + 1).saturating_sub(length);
                    let seen: Vec<f64> =
                        values[from..=k].iter().copied().filter(|v| !v.is_nan()).collect();
                    if k + 1 < length || seen.len() * 5 < length * 4 {
                        prop_assert!(found.is_nan());
                        continue;
                    }
                    let expected = match take {
                        Take::Min => seen.iter().copied().fold(f64::INFINITY, f64::min),
                        Take::Max => seen.iter().copied().fold(f64::NEG_INFINITY, f64::max),
                        _ => seen.iter().sum::<f64>() / seen.len() as f64,
                    };
                    prop_assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
                }
            }
        }
    }
}
