//! Counts of what was found in one channel, and the row they become.

use crate::flight::Channel;
use crate::rows::QualityRow;
use crate::timebase::{GAP_INTERVALS, known_times};

#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Tally {
    pub(super) spikes: i64,
    pub(super) stuck: i64,
    pub(super) stuck_s: f64,
    pub(super) out_of_range: i64,
    pub(super) stale: i64,
    /// Why the whole channel was made unknown.
    pub(super) refused: Option<String>,
}

impl Tally {
    pub(super) fn row(
        &self,
        flight_id: &str,
        parameter: &str,
        channel: &Channel,
        (record_start_s, record_end_s): (f64, f64),
    ) -> QualityRow {
        let known = known_times(&channel.time_s, &channel.value);
        let expected = if channel.interval_s > 0.0 {
            (record_end_s - record_start_s) / channel.interval_s + 1.0
        } else {
            1.0
        };
        let coverage = match (known.is_empty(), channel.holds) {
            (true, _) => 0.0,
            (false, true) => 1.0,
            (false, false) => (known.len() as f64 / expected).min(1.0),
        };
        let longest_s = GAP_INTERVALS * channel.interval_s + 1e-6;
        let gaps = if channel.holds {
            0
        } else {
            let inner = known.windows(2).filter(|w| w[1] - w[0] > longest_s).count();
            // A channel that falls silent before the record ends has a hole too.
            let silent = known.last().is_none_or(|&t| record_end_s - t > longest_s);
            (inner + usize::from(silent)) as i64
        };
        QualityRow {
            flight_id: flight_id.to_owned(),
            parameter: parameter.to_owned(),
            coverage,
            spikes: self.spikes,
            stuck_s: self.stuck_s,
            gaps,
            out_of_range: self.out_of_range,
            stale: self.stale,
            action: self.action(),
        }
    }

    fn action(&self) -> String {
        if let Some(reason) = &self.refused {
            return reason.clone();
        }
        let nulled = self.spikes + self.stuck + self.out_of_range + self.stale;
        if nulled == 0 {
            "none".to_owned()
        } else {
            format!("{nulled} samples set to unknown")
        }
    }
}

/// Adds what loading noticed to the row of the same parameter.
pub(super) fn merge(row: &mut QualityRow, earlier: QualityRow) {
    row.spikes += earlier.spikes;
    row.stuck_s += earlier.stuck_s;
    row.out_of_range += earlier.out_of_range;
    row.stale += earlier.stale;
    if !earlier.action.is_empty() && earlier.action != "none" {
        row.action = if row.action == "none" {
            earlier.action
        } else {
            format!("{}; {}", earlier.action, row.action)
        };
    }
}
