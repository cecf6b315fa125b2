//! Looks back and around over columns on a uniform grid. All run in linear time.

use std::collections::VecDeque;

/// Mean over `2 * half + 1` samples around each, of those known; unknown where the sample is.
pub(super) fn centred_mean(values: &[f64], half: usize) -> Vec<f64> {
    let sums = Prefix::new(values, 0.0);
    (0..values.len())
        .map(|k| {
            let (from, to) = (k.saturating_sub(half), (k + half + 1).min(values.len()));
            if values[k].is_nan() {
                f64::NAN
            } else {
                sums.mean(from, to)
            }
        })
        .collect()
}

/// Difference per sample over `2 * half` samples around each; at the ends over the half that is
/// there.
pub(super) fn centred_slope(values: &[f64], half: usize) -> Vec<f64> {
    let last = values.len().saturating_sub(1);
    (0..values.len())
        .map(|k| {
            let (from, to) = (k.saturating_sub(half), (k + half).min(last));
            (values[to] - values[from]) / (to - from) as f64
        })
        .collect()
}

/// Standard deviation over the `length` samples up to and with each; unknown where more than a
/// fifth of them are.
pub(super) fn trailing_deviation(values: &[f64], length: usize, near: f64) -> Vec<f64> {
    let sums = Prefix::new(values, near);
    (1..=values.len())
        .map(|end| {
            let from = end.saturating_sub(length);
            if end < length || sums.known(from, end) * 5 < length * 4 {
                return f64::NAN;
            }
            sums.deviation(from, end)
        })
        .collect()
}

/// Mean over the `length` samples up to and with each; unknown as for [`trailing_deviation`].
pub(super) fn trailing_mean(values: &[f64], length: usize) -> Vec<f64> {
    let sums = Prefix::new(values, 0.0);
    (1..=values.len())
        .map(|end| {
            let from = end.saturating_sub(length);
            if end < length || sums.known(from, end) * 5 < length * 4 {
                return f64::NAN;
            }
            sums.mean(from, end)
        })
        .collect()
}

/// Highest over the `length` samples up to and with each; unknown as for [`trailing_deviation`].
pub(super) fn trailing_max(values: &[f64], length: usize) -> Vec<f64> {
    let sums = Prefix::new(values, 0.0);
    // Positions whose value no later one exceeds: the first of them is the highest.
    let mut candidates: VecDeque<usize> = VecDeque::new();
    (0..values.len())
        .map(|k| {
            while candidates.front().is_some_and(|&first| first + length <= k) {
                candidates.pop_front();
            }
            if !values[k].is_nan() {
                while candidates
                    .back()
                    .is_some_and(|&last| values[last] <= values[k])
                {
                    candidates.pop_back();
                }
                candidates.push_back(k);
            }
            let end = k + 1;
            let known = sums.known(end.saturating_sub(length), end);
            match candidates.front() {
                Some(&first) if end >= length && known * 5 >= length * 4 => values[first],
                _ => f64::NAN,
            }
        })
        .collect()
}

/// Running sums of known values, taken about a number near them so that nothing cancels.
struct Prefix {
    near: f64,
    count: Vec<usize>,
    sum: Vec<f64>,
    square: Vec<f64>,
}

impl Prefix {
    fn new(values: &[f64], near: f64) -> Self {
        let mut prefix = Self {
            near,
            count: vec![0],
            sum: vec![0.0],
            square: vec![0.0],
        };
        let (mut count, mut sum, mut square) = (0, 0.0, 0.0);
        for value in values {
            if !value.is_nan() {
                count += 1;
                sum += value - near;
                square += (value - near) * (value - near);
            }
            prefix.count.push(count);
            prefix.sum.push(sum);
            prefix.square.push(square);
        }
        prefix
    }

    fn known(&self, from: usize, to: usize) -> usize {
        self.count[to] - self.count[from]
    }

    fn mean(&self, from: usize, to: usize) -> f64 {
        (self.sum[to] - self.sum[from]) / self.known(from, to) as f64 + self.near
    }

    fn deviation(&self, from: usize, to: usize) -> f64 {
        let n = self.known(from, to) as f64;
        let mean = (self.sum[to] - self.sum[from]) / n;
        ((self.square[to] - self.square[from]) / n - mean * mean)
            .max(0.0)
            .sqrt()
    }
}

/// What `values` lost while the last `span` of `path` was flown, per unit of `path`.
///
/// `path` never decreases where known; a break in it (unknown) is not looked across.
pub(super) fn loss_over_path(values: &[f64], path: &[f64], span: f64) -> Vec<f64> {
    let mut start = 0;
    let mut out = vec![f64::NAN; values.len()];
    for k in 0..values.len() {
        if path[k].is_nan() {
            start = k + 1;
            continue;
        }
        let wanted = path[k] - span;
        while start < k && path[start + 1] <= wanted {
            start += 1;
        }
        if path[start] > wanted || start == k {
            continue;
        }
        let share = (wanted - path[start]) / (path[start + 1] - path[start]);
        let before = values[start] + share * (values[start + 1] - values[start]);
        out[k] = (before - values[k]) / span;
    }
    out
}
