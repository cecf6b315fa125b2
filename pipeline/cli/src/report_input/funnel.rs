//! The funnel of a family in the report.

use report::input::{AirportLine, FunnelLimits};
use rules::summarise::funnel;

/// Limits up to as much as is expected at any airport that is shown.
pub(super) fn limits(airports: &[AirportLine], phi: Option<f64>) -> Vec<FunnelLimits> {
    let shown = airports
        .iter()
        .filter(|line| line.cell.suppressed.is_none());
    let most = shown.filter_map(|line| line.expected).fold(0.0, f64::max);
    let limits = funnel(most, phi).into_iter().map(|point| FunnelLimits {
        expected: point.expected,
        low_95: point.inner.0,
        high_95: point.inner.1,
        low_998: point.outer.0,
        high_998: point.outer.1,
    });
    limits.collect()
}
