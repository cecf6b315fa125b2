//! Exact quantiles of measurements, never approximated.

use crate::numerics::ln_gamma;
use crate::tail_of;

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

/// Order statistics between which the median lies with at least that confidence: exact, by the binomial
/// distribution of how many of the values lie below it.
///
/// `sorted` must rise and hold no NaN. `None` where even the extremes are not far enough apart for it.
#[must_use]
pub fn median_interval(sorted: &[f64], confidence: f64) -> Option<(f64, f64)> {
    let tail = tail_of(confidence)?;
    let n = sorted.len();
    let all = ln_gamma(n as f64 + 1.0) - n as f64 * std::f64::consts::LN_2;
    let mut below = 0.0;
    let mut k = 0;
    while k < n / 2 {
        let term = (all - ln_gamma(k as f64 + 1.0) - ln_gamma((n - k) as f64 + 1.0)).exp();
        if below + term > tail {
            break;
        }
        below += term;
        k += 1;
    }
    (k > 0).then(|| (sorted[k - 1], sorted[n - k]))
}

#[cfg(test)]
mod tests {
    use super::{median_interval, quantile};

    /// Ranks worked out from the binomial distribution in whole numbers: for 10 values 1 + 10 = 11 of
    /// 1,024 lie in a tail up to rank 1, 56 up to rank 2; for 5 values 1 of 32 is more than 2.5 %.
    #[test]
    fn the_median_lies_between_ranks() {
        let values: Vec<f64> = (1..=10).map(f64::from).collect();
        assert_eq!(median_interval(&values, 0.95), Some((2.0, 9.0)));
        assert_eq!(median_interval(&values[..6], 0.95), Some((1.0, 6.0)));
        assert_eq!(median_interval(&values[..5], 0.95), None);
        assert_eq!(median_interval(&[], 0.95), None);
        // 100 values: ranks 40 and 61 (Conover, Practical Nonparametric Statistics, from memory).
        let values: Vec<f64> = (1..=100).map(f64::from).collect();
        assert_eq!(median_interval(&values, 0.95), Some((40.0, 61.0)));
    }

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
