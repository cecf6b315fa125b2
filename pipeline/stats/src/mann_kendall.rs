//! Whether a series goes one way, by ranks alone: Mann (1945) and Kendall, with Sen's slope for display.
//!
//! It knows nothing of how many approaches stand behind a rate, and is a cross-check, never the test.

use crate::numerics::normal_upper;

/// Series up to this length without ties get the exact p.
const EXACT: usize = 10;

/// What the ranks say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannKendall {
    /// Pairs that rise less pairs that fall.
    pub s: i64,
    /// Variance of S, corrected for ties.
    pub var_s: f64,
    /// Standardised S with continuity correction; 0 where the variance is.
    pub z: f64,
    /// Two-sided p: exact for at most ten values without ties, else normal; 1 where nothing varies.
    pub p: f64,
}

/// The test of a series in its order. `None` with fewer than two values or for one that is not finite.
#[must_use]
pub fn mann_kendall(values: &[f64]) -> Option<MannKendall> {
    let n = values.len();
    if n < 2 || values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let mut s = 0_i64;
    for (i, earlier) in values.iter().enumerate() {
        for later in &values[i + 1..] {
            s += match later.total_cmp(earlier) {
                _ if later == earlier => 0,
                std::cmp::Ordering::Greater => 1,
                _ => -1,
            };
        }
    }
    let weight = |t: f64| t * (t - 1.0) * (2.0 * t + 5.0);
    let ties = tie_sizes(values);
    let var_s = (weight(n as f64) - ties.iter().map(|t| weight(*t)).sum::<f64>()) / 18.0;
    if var_s <= 0.0 {
        return Some(MannKendall {
            s,
            var_s: 0.0,
            z: 0.0,
            p: 1.0,
        });
    }
    let corrected = (s - s.signum()) as f64;
    let z = corrected / var_s.sqrt();
    let p = if n <= EXACT && ties.is_empty() {
        exact_two_sided(n, s)
    } else {
        (2.0 * normal_upper(z.abs())?).min(1.0)
    };
    Some(MannKendall { s, var_s, z, p })
}

/// Sizes of the groups of equal values, those of one left out.
fn tie_sizes(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
        .chunk_by(|a, b| a == b)
        .map(|group| group.len() as f64)
        .filter(|size| *size > 1.0)
        .collect()
}

/// P(|S| at least this large) over all orders of `n` different values, equally likely.
fn exact_two_sided(n: usize, s: i64) -> f64 {
    // Orders by their number of inversions: S = n(n−1)/2 − 2·inversions.
    let mut orders = vec![1.0_f64];
    for size in 2..=n {
        let mut next = vec![0.0; orders.len() + size - 1];
        for (inversions, count) in orders.iter().enumerate() {
            for more in 0..size {
                next[inversions + more] += count;
            }
        }
        orders = next;
    }
    let pairs = (n * (n - 1) / 2) as i64;
    let all: f64 = orders.iter().sum();
    let as_far: f64 = (0_i64..)
        .zip(&orders)
        .filter(|(inversions, _)| pairs - 2 * inversions >= s.abs())
        .map(|(_, count)| count)
        .sum();
    (2.0 * as_far / all).min(1.0)
}

/// Sen's slope: the median of the slopes of all pairs of (period, value). `None` for fewer than two periods.
#[must_use]
pub fn sen_slope(points: &[(i32, f64)]) -> Option<f64> {
    let mut slopes = Vec::new();
    for (i, (t0, y0)) in points.iter().enumerate() {
        for (t1, y1) in &points[i + 1..] {
            if t1 != t0 {
                slopes.push((y1 - y0) / f64::from(t1 - t0));
            }
        }
    }
    if slopes.iter().any(|slope| !slope.is_finite()) {
        return None;
    }
    slopes.sort_by(f64::total_cmp);
    let middle = slopes.len() / 2;
    match (slopes.len(), slopes.len() % 2) {
        (0, _) => None,
        (_, 1) => Some(slopes[middle]),
        _ => Some(f64::midpoint(slopes[middle - 1], slopes[middle])),
    }
}
