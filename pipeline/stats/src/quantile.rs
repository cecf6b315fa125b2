//! Exact quantiles of measurements, never approximated.

/// The quantile at `share` (0 to 1) of `sorted`, linear between order statistics (type 7 of
/// Hyndman and Fan 1996, the default of numpy and R).
///
/// `sorted` must rise and hold no NaN. `None` for an empty slice or a share outside 0 to 1.
#[must_use]
pub fn quantile(sorted: &[f64], share: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&share) {
        return None;
    }
    let last = sorted.len().checked_sub(1)?;
    let place = share * last as f64;
    let below = (place.floor() as usize).min(last);
    let above = (below + 1).min(last);
    let part = place - below as f64;
    Some(sorted[below] + part * (sorted[above] - sorted[below]))
}

#[cfg(test)]
mod tests {
    use super::quantile;

    /// numpy 2 documentation of `percentile`: 50 % of [[10, 7, 4], [3, 2, 1]] is 3.5. The others
    /// computed with numpy 2.
    #[test]
    fn as_numpy_does() {
        let values = [1.0, 2.0, 3.0, 4.0, 7.0, 10.0];
        assert_eq!(quantile(&values, 0.5), Some(3.5));
        assert_eq!(quantile(&values, 0.25), Some(2.25));
        assert_eq!(quantile(&values, 0.95), Some(9.25));
        assert_eq!(quantile(&values, 0.0), Some(1.0));
        assert_eq!(quantile(&values, 1.0), Some(10.0));
    }

    #[test]
    fn nothing_has_no_quantile() {
        assert_eq!(quantile(&[], 0.5), None);
        assert_eq!(quantile(&[1.0], 1.5), None);
        assert_eq!(quantile(&[4.0], 0.3), Some(4.0));
    }
}
