use std::collections::BTreeMap;

use super::*;
use crate::derive::Segment;
use crate::timebase::Grid;

/// Columns once a second from 100 s on, all on the approach.
pub(super) fn columns(values: &[(&str, &[f64])]) -> Columns {
    let n = values.first().map_or(0, |v| v.1.len());
    let columns: BTreeMap<String, Vec<f64>> = values
        .iter()
        .map(|(name, values)| ((*name).to_owned(), values.to_vec()))
        .collect();
    assert!(columns.values().all(|v| v.len() == n));
    Columns {
        grid: Grid {
            start_s: 100.0,
            step_s: 1.0,
            n,
        },
        columns,
        segment: vec![Segment::Approach; n],
    }
}

#[test]
fn a_value_between_samples_is_on_the_line_and_never_made_up() {
    let columns = columns(&[("cas_kt", &[140.0, 138.0, f64::NAN, 130.0])]);
    assert_eq!(at(&columns, "cas_kt", 100.0), Some(140.0));
    assert_eq!(at(&columns, "cas_kt", 100.5), Some(139.0));
    assert_eq!(at(&columns, "cas_kt", 101.5), None);
    assert_eq!(at(&columns, "cas_kt", 103.0), Some(130.0));
    assert_eq!(at(&columns, "cas_kt", 103.5), None);
    assert_eq!(at(&columns, "cas_kt", 99.0), None);
    assert_eq!(at(&columns, "vapp_kt", 100.0), None);
}
