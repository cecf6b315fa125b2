//! Root finding inside a bracket.

/// Where the quantile searches stop looking: e^(±760) is beyond every double.
const FURTHEST: f64 = 760.0;

/// Finds u with ln tail(u) = ln p; `at` gives the tail probability and its slope (size only)
/// at u; `direction` is +1 for a tail that grows with u, −1 for one that falls.
///
/// Newton steps on the logarithm, where tails are nearly straight, kept inside a bracket and
/// replaced by halving whenever they leave it. An answer beyond ±760 is returned as ±760.
/// `None` if the tail is not a number.
pub(super) fn solve_tail(
    p: f64,
    start: f64,
    direction: f64,
    at: impl Fn(f64) -> (f64, f64),
) -> Option<f64> {
    let target = p.ln();
    // Increasing in u whatever the tail.
    let gap = |u: f64| {
        let (tail, slope) = at(u);
        (direction * (tail.ln() - target), slope / tail)
    };
    let mut u = start.clamp(-FURTHEST, FURTHEST);
    let (mut low, mut high) = (u, u);
    let mut step = 0.5;
    while gap(low).0 > 0.0 && low > -FURTHEST {
        high = low;
        low = (low - step).max(-FURTHEST);
        step *= 2.0;
    }
    while gap(high).0 < 0.0 && high < FURTHEST {
        low = high;
        high = (high + step).min(FURTHEST);
        step *= 2.0;
    }
    for _ in 0..200 {
        let (value, slope) = gap(u);
        if value.is_nan() {
            return None;
        }
        if value == 0.0 {
            return Some(u);
        }
        if value < 0.0 {
            low = low.max(u);
        } else {
            high = high.min(u);
        }
        let newton = u - value / slope;
        let next = if newton > low && newton < high {
            newton
        } else {
            low + (high - low) / 2.0
        };
        if (next - u).abs() <= 4.0 * f64::EPSILON * u.abs().max(0.25) {
            return Some(next);
        }
        u = next;
    }
    Some(u)
}

/// The root of `f` between `low` and `high`, where it changes sign, by halving to the last bit.
///
/// `None` if the ends have the same sign or `f` is not a number there.
#[must_use]
pub fn bisect(low: f64, high: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut low, mut high) = (low, high);
    let (at_low, at_high) = (f(low), f(high));
    if at_low == 0.0 {
        return Some(low);
    }
    if at_high == 0.0 {
        return Some(high);
    }
    if at_low.is_nan()
        || at_high.is_nan()
        || at_low.is_sign_positive() == at_high.is_sign_positive()
    {
        return None;
    }
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return Some(middle);
        }
        if f(middle).is_sign_positive() == at_low.is_sign_positive() {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// The first whole number from `start` (a whole one) on for which `holds`, which it does for all after it.
///
/// `None` if it holds for none up to about 10⁹ more.
pub(crate) fn first_whole(start: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    let (mut low, mut step) = (start, 1.0);
    if holds(low) {
        return Some(low);
    }
    while !holds(low + step) {
        low += step;
        step *= 2.0;
        if step > 1e9 {
            return None;
        }
    }
    let mut high = low + step;
    while high - low > 1.0 {
        let middle = f64::midpoint(low, high).floor();
        if holds(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}
