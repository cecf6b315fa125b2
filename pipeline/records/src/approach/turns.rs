//! The turning points of an altitude trace: where a descent becomes a climb worth the name.

use crate::series::Series;

/// A low between two highs, as indices of the altitude series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Low {
    /// Highest sample before it, since the low before.
    pub(crate) high: usize,
    /// The lowest sample; the first of equals.
    pub(crate) low: usize,
    /// Where the climb after it reached the reversal; none at the end of the record.
    pub(crate) climbed: Option<usize>,
}

/// Lows in time order; wiggles smaller than `reversal_ft` are no turning points.
pub(crate) fn lows(altitude: &Series, reversal_ft: f64) -> Vec<Low> {
    let value = &altitude.value;
    let mut found = Vec::new();
    if value.is_empty() {
        return found;
    }
    let (mut high, mut low) = (0, 0);
    // Until the first reversal both directions are open; a record may start in a climb.
    let mut descending = None;
    for i in 1..value.len() {
        match descending {
            Some(true) => {
                if value[i] < value[low] {
                    low = i;
                } else if value[i] - value[low] >= reversal_ft {
                    found.push(Low {
                        high,
                        low,
                        climbed: Some(i),
                    });
                    descending = Some(false);
                    high = i;
                }
            }
            Some(false) => {
                if value[i] > value[high] {
                    high = i;
                } else if value[high] - value[i] >= reversal_ft {
                    descending = Some(true);
                    low = i;
                }
            }
            None => {
                if value[i] > value[high] {
                    high = i;
                }
                if value[i] < value[low] {
                    low = i;
                }
                if value[high] - value[i] >= reversal_ft {
                    descending = Some(true);
                    low = i;
                } else if value[i] - value[low] >= reversal_ft {
                    descending = Some(false);
                    high = i;
                }
            }
        }
    }
    if descending == Some(true) {
        found.push(Low {
            high,
            low,
            climbed: None,
        });
    }
    found
}
