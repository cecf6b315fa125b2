//! How far a place may lie from all places by chance, at as many expected events as places have.

/// Limits of observed ÷ expected at one expected number of approaches with an event.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FunnelPoint {
    /// Approaches with an event that are expected.
    pub expected: f64,
    /// 95 % of places like the rest lie between these.
    pub inner: (f64, f64),
    /// 99.8 % do.
    pub outer: (f64, f64),
}

/// Points of each limit: enough for a smooth line.
const POINTS: i32 = 40;

/// Limits from few expected events to a little more than `most_expected`, rising; empty where nothing is
/// expected. They are for drawing only: places are classed by what is probably true of them.
#[must_use]
pub fn funnel(most_expected: f64, phi: Option<f64>) -> Vec<FunnelPoint> {
    let at = |step: i32| {
        // Even steps of the square root: the limits bend where little is expected.
        let expected = 1.1 * most_expected * (f64::from(step) / f64::from(POINTS)).powi(2);
        let inner = stats::funnel_limits(expected, phi, 0.95)?;
        // Where a single event is more than chance gives, between no event and one there is no limit to draw.
        (inner.1 * expected >= 1.0).then_some(())?;
        Some(FunnelPoint {
            expected,
            inner,
            outer: stats::funnel_limits(expected, phi, 0.998)?,
        })
    };
    (1..=POINTS).filter_map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::funnel;

    #[test]
    fn a_funnel_narrows_and_nothing_expected_has_none() {
        assert!(funnel(0.0, None).is_empty());
        let points = funnel(80.0, Some(1.7));
        assert!(points.len() > 35);
        for pair in points.windows(2) {
            assert!(pair[0].expected < pair[1].expected);
            assert!(pair[1].inner.1 < pair[0].inner.1);
        }
        for point in points {
            assert!(point.outer.0 <= point.inner.0 && point.inner.1 < point.outer.1);
        }
    }
}
