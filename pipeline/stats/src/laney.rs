//! The u-chart after Laney (2002): limits that know of dispersion from period to period.
//!
//! σz is short-term: counts that alternate make σz² larger than φ, a slow drift makes it smaller.

use crate::{Counted, is_count};

/// Mean range of two, in standard deviations, as it is tabled; exactly 2/√π.
const D2: f64 = 1.128;

/// Rate, limits and short-term dispersion of a series.
#[derive(Debug, Clone, PartialEq)]
pub struct Laney {
    /// Rate over all periods.
    pub rate: f64,
    /// Mean moving range of the standardised rates over 1.128; below 1 where the series is smoother than
    /// Poisson counts.
    pub sigma_z: f64,
    /// Limits (lower, upper) of each period with σz, never below 1: rate ± 3σz√(rate/n), lower at least 0.
    pub limits: Vec<(f64, f64)>,
}

/// The chart of a series, every period standardised by its *own* approaches.
///
/// `None` with fewer than two periods, without any event, or where a period has no approaches.
#[must_use]
pub fn laney(series: &[Counted]) -> Option<Laney> {
    let sound = series
        .iter()
        .all(|c| is_count(c.with_event) && c.evaluable.is_finite() && c.evaluable > 0.0);
    let events: f64 = series.iter().map(|c| c.with_event).sum();
    if !sound || series.len() < 2 || events <= 0.0 {
        return None;
    }
    let rate = events / series.iter().map(|c| c.evaluable).sum::<f64>();
    let error = |c: &Counted| (rate / c.evaluable).sqrt();
    let z: Vec<f64> = series
        .iter()
        .map(|c| (c.with_event / c.evaluable - rate) / error(c))
        .collect();
    let ranges: f64 = z.windows(2).map(|pair| (pair[1] - pair[0]).abs()).sum();
    let sigma_z = ranges / (z.len() - 1) as f64 / D2;
    let limits = |sigma: f64| {
        let limit = move |c: &Counted| {
            let half = 3.0 * sigma * error(c);
            ((rate - half).max(0.0), rate + half)
        };
        series.iter().map(limit).collect()
    };
    Some(Laney {
        rate,
        sigma_z,
        limits: limits(sigma_z.max(1.0)),
    })
}
