//! A share of things counted, with its exact 95 % limits (Clopper and Pearson 1934).
//!
//! The limits are sought on the binomial tail itself, over whichever tail has fewer terms; nothing
//! is approximated but the last digit.

use serde::Serialize;

/// Probability left out on either side.
const TAIL: f64 = 0.025;

/// A share, and between which values its true size lies with 95 % confidence.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Share {
    /// Part over whole.
    pub share: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

impl Share {
    /// `part` of `whole`; nothing where the whole is nothing.
    pub(super) fn of(part: u64, whole: u64) -> Option<Self> {
        (whole > 0).then(|| Self {
            share: part as f64 / whole as f64,
            low: 1.0 - upper_limit(whole - part, whole),
            high: upper_limit(part, whole),
        })
    }
}

/// `part` over `whole`; nothing where the whole is nothing.
pub(super) fn ratio(part: u64, whole: u64) -> Option<f64> {
    (whole > 0).then(|| part as f64 / whole as f64)
}

/// The probability at which `count` or fewer of `whole` has probability [`TAIL`].
fn upper_limit(count: u64, whole: u64) -> f64 {
    if count == whole {
        return 1.0;
    }
    // The fewer terms: those up to `count`, or those beyond it, counted from the other end.
    let below = count < whole - count;
    let terms = logarithms(if below { count } else { whole - count - 1 }, whole);
    let mut limits = (0.0, 1.0);
    for _ in 0..60 {
        let middle: f64 = 0.5 * (limits.0 + limits.1);
        let tail = if below {
            tail(&terms, whole, middle)
        } else {
            1.0 - tail(&terms, whole, 1.0 - middle)
        };
        if tail > TAIL {
            limits.0 = middle;
        } else {
            limits.1 = middle;
        }
    }
    0.5 * (limits.0 + limits.1)
}

/// Logarithms of the binomial coefficients 0…`last` of `whole`.
fn logarithms(last: u64, whole: u64) -> Vec<f64> {
    let mut terms = vec![0.0];
    let mut sum = 0.0;
    for index in 0..last {
        sum += ((whole - index) as f64 / (index + 1) as f64).ln();
        terms.push(sum);
    }
    terms
}

fn tail(terms: &[f64], whole: u64, probability: f64) -> f64 {
    let (hit, miss) = (probability.ln(), (-probability).ln_1p());
    let sum: f64 = terms
        .iter()
        .enumerate()
        .map(|(index, term)| {
            (term + index as f64 * hit + (whole as f64 - index as f64) * miss).exp()
        })
        .sum();
    sum.min(1.0)
}

#[cfg(test)]
mod tests {
    use super::{Share, ratio};

    /// Closed forms where all or none were found, and R's `binom.test(9, 10)` and (3, 50) (from
    /// memory), and a large count.
    #[test]
    fn limits_are_the_exact_ones() {
        let close = |part, whole, low: f64, high: f64| {
            let share = Share::of(part, whole).unwrap();
            assert!(
                (share.low - low).abs() < 5e-5 && (share.high - high).abs() < 5e-5,
                "{part} of {whole}: {share:?}"
            );
        };
        close(10, 10, 0.025_f64.powf(0.1), 1.0);
        close(0, 10, 0.0, 1.0 - 0.025_f64.powf(0.1));
        close(9, 10, 0.55498, 0.99747);
        close(3, 50, 0.01255, 0.16548);
        let all = 100_000_u64;
        close(all, all, 0.025_f64.powf(1e-5), 1.0);
        let half = Share::of(all / 2, all).unwrap();
        // The normal approximation holds here: 1.96 standard errors.
        assert!((half.high - 0.5 - 0.003_099).abs() < 2e-5, "{half:?}");
        assert!((half.low + half.high - 1.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_of_nothing_is_no_share() {
        assert_eq!(Share::of(0, 0), None);
        assert_eq!(ratio(0, 0), None);
        assert_eq!(ratio(1, 4), Some(0.25));
    }
}
