//! The known positions of a flight.

use crate::flight::RawFlight;
use crate::series::{Series, turn_deg};
use crate::timebase::GAP_INTERVALS;

/// One known position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Fix {
    pub(crate) time_s: f64,
    pub(crate) latitude_deg: f64,
    pub(crate) longitude_deg: f64,
}

/// Positions in time order.
#[derive(Debug, Clone, Default)]
pub(crate) struct Track {
    pub(crate) fixes: Vec<Fix>,
    gap_s: f64,
}

impl Track {
    pub(crate) fn of(flight: &RawFlight) -> Self {
        let latitude = Series::of(flight.channels.get("latitude_deg"));
        let longitude = Series::of(flight.channels.get("longitude_deg"));
        let fixes = latitude
            .time_s
            .iter()
            .zip(&latitude.value)
            .filter_map(|(&time_s, &latitude_deg)| {
                Some(Fix {
                    time_s,
                    latitude_deg,
                    longitude_deg: longitude_at(&longitude, time_s)?,
                })
            })
            .collect();
        Self {
            fixes,
            gap_s: GAP_INTERVALS * latitude.interval_s.max(longitude.interval_s) + 1e-6,
        }
    }

    #[cfg(test)]
    pub(crate) fn from_fixes(fixes: Vec<Fix>, gap_s: f64) -> Self {
        Self { fixes, gap_s }
    }

    /// Fixes inside `[from_s, to_s]`.
    pub(crate) fn between(&self, from_s: f64, to_s: f64) -> &[Fix] {
        let first = self.fixes.partition_point(|f| f.time_s < from_s);
        let end = self.fixes.partition_point(|f| f.time_s <= to_s);
        &self.fixes[first..end.max(first)]
    }

    /// The last fix at or before `t`.
    pub(crate) fn last_before(&self, t: f64) -> Option<Fix> {
        let end = self.fixes.partition_point(|f| f.time_s <= t);
        end.checked_sub(1).map(|i| self.fixes[i])
    }

    /// Position at `t`, on the line between its neighbours; none across a gap.
    pub(crate) fn at(&self, t: f64) -> Option<Fix> {
        let before = self.last_before(t)?;
        if before.time_s == t {
            return Some(before);
        }
        let after = *self
            .fixes
            .get(self.fixes.partition_point(|f| f.time_s <= t))?;
        if after.time_s - before.time_s > self.gap_s {
            return None;
        }
        let share = (t - before.time_s) / (after.time_s - before.time_s);
        let east = turn_deg(before.longitude_deg, after.longitude_deg);
        Some(Fix {
            time_s: t,
            latitude_deg: before.latitude_deg + share * (after.latitude_deg - before.latitude_deg),
            longitude_deg: turn_deg(0.0, before.longitude_deg + share * east),
        })
    }
}

/// Longitude at a moment, across the 180° meridian too.
fn longitude_at(longitude: &Series, t: f64) -> Option<f64> {
    let after = longitude.from(t);
    if after < longitude.len() && longitude.time_s[after] == t {
        return Some(longitude.value[after]);
    }
    let before = after.checked_sub(1)?;
    let (ta, tb) = (longitude.time_s[before], *longitude.time_s.get(after)?);
    if tb - ta > longitude.gap_s() {
        return None;
    }
    let (a, b) = (longitude.value[before], longitude.value[after]);
    Some(turn_deg(0.0, a + (t - ta) / (tb - ta) * turn_deg(a, b)))
}
