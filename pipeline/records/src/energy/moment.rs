//! A moment between two samples, and what the columns say there.

use crate::derive::{Columns, Segment};

/// A moment inside the approach segment: at `k`, or the share `share` of a step after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Moment {
    pub(super) k: usize,
    pub(super) share: f64,
}

impl Moment {
    pub(super) fn time_s(self, columns: &Columns) -> f64 {
        columns.grid.time(self.k) + self.share * columns.grid.step_s
    }

    /// A quantity, linear between the two samples; none where either is unknown.
    pub(super) fn value(self, columns: &Columns, name: &str) -> Option<f64> {
        let values = columns.values(name)?;
        let here = values[self.k];
        let value = if self.share == 0.0 {
            here
        } else {
            here + self.share * (values.get(self.k + 1)? - here)
        };
        (!value.is_nan()).then_some(value)
    }

    /// A state, which holds from its sample to the next.
    pub(super) fn state(self, columns: &Columns, name: &str) -> Option<f64> {
        let value = columns.values(name)?[self.k];
        (!value.is_nan()).then_some(value)
    }
}

/// The last moment of the approach segment at which a column came down through `level`; none where it
/// never did, or where the samples around it are not known.
pub(super) fn last_crossing(columns: &Columns, name: &str, level: f64) -> Option<Moment> {
    let values = columns.values(name)?;
    let end = columns
        .segment
        .iter()
        .rposition(|segment| *segment == Segment::Approach)?;
    // The last crossing, even where a gap hides it: an earlier one is not the checkpoint.
    let mut after: Option<usize> = None;
    for k in (0..=end).rev() {
        let value = values[k];
        if value.is_nan() {
            continue;
        }
        match after {
            Some(next) if value > level && values[next] <= level => {
                let share = (value - level) / (value - values[next]);
                return (next == k + 1).then_some(Moment { k, share });
            }
            _ => after = Some(k),
        }
    }
    None
}
