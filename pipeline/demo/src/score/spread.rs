//! How far measured values lie from the true ones.

use serde::Serialize;

/// Absolute differences between review and truth.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Spread {
    /// Values compared.
    pub compared: u64,
    /// Half of the differences are at most this.
    pub median: f64,
    /// 95 % of the differences are at most this.
    pub p95: f64,
    /// The largest.
    pub max: f64,
}

impl Spread {
    /// Of differences in any order; nothing where nothing was compared.
    pub(super) fn of(mut differences: Vec<f32>) -> Option<Self> {
        differences.sort_unstable_by(f32::total_cmp);
        Some(Self {
            compared: differences.len() as u64,
            max: f64::from(*differences.last()?),
            median: rank(&differences, 0.5),
            p95: rank(&differences, 0.95),
        })
    }
}

/// The smallest value that at least this share of the sorted values does not exceed.
fn rank(sorted: &[f32], share: f64) -> f64 {
    let rank = (share * sorted.len() as f64).ceil() as usize;
    f64::from(sorted[rank.clamp(1, sorted.len()) - 1])
}

#[cfg(test)]
mod tests {
    use super::Spread;

    #[test]
    fn ranks_are_values_that_occurred() {
        let values = (1..=20).rev().map(|value| value as f32).collect();
        let spread = Spread::of(values).unwrap();
        assert_eq!((spread.compared, spread.median), (20, 10.0));
        assert_eq!((spread.p95, spread.max), (19.0, 20.0));
        let one = Spread::of(vec![3.0]).unwrap();
        assert_eq!((one.median, one.p95, one.max), (3.0, 3.0, 3.0));
        assert_eq!(Spread::of(Vec::new()), None);
    }
}
