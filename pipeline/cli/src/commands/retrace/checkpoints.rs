//! The approach at its checkpoints: the stored columns at the last inward or downward crossing of each.

use arrow::array::RecordBatch;
use report::retrace::{Checkpoint, Series};

use super::columns::numbers;

/// By track distance, NM.
const DISTANCES_NM: [f64; 7] = [20.0, 15.0, 10.0, 7.0, 5.0, 4.0, 3.0];
/// By height above the threshold, ft.
const HEIGHTS_FT: [(f64, &str); 2] = [(1_000.0, "1,000 ft"), (500.0, "500 ft")];

/// All checkpoints in the order of the table; those not passed have no time.
pub(super) fn checkpoints(batch: &RecordBatch, series: &Series) -> Vec<Checkpoint> {
    let rows = series.time_s.len();
    let mut height_aal = numbers(batch, "height_aal_ft");
    height_aal.truncate(rows);
    let mut over_profile = numbers(batch, "height_over_profile_ft");
    over_profile.truncate(rows);
    let distances = DISTANCES_NM
        .iter()
        .map(|nm| (format!("{nm:.0} NM"), crossing(&series.distance_nm, *nm)));
    let heights = HEIGHTS_FT
        .iter()
        .map(|(ft, name)| ((*name).to_owned(), crossing(&height_aal, *ft)));
    let all = distances.chain(heights);
    all.map(|(name, crossing)| {
        let Some(there) = crossing else {
            return Checkpoint {
                name,
                ..Checkpoint::default()
            };
        };
        Checkpoint {
            name,
            time_s: there.time_s(&series.time_s),
            distance_nm: there.between(&series.distance_nm),
            height_ft: there.between(&series.height_ft),
            over_profile_ft: there.between(&over_profile),
            energy_excess_ft: there.between(&series.energy_excess_ft),
            cas_kt: there.between(&series.cas_kt),
            target_cas_kt: there.between(&series.target_cas_kt),
            flap_lever: there.before(&series.flap_lever),
            gear_down: there.before(&series.gear_down),
            speedbrake: there.between(&series.speedbrake),
            thrust_pct: there.between(&series.thrust_pct),
            headwind_kt: there.between(&series.headwind_kt),
        }
    })
    .collect()
}

/// A place between sample `k` and the next, `share` of the way.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Crossing {
    k: usize,
    share: f64,
}

/// Where `values` last come down to `level` from above it. Both samples must be known: a hole is not
/// bridged.
fn crossing(values: &[Option<f64>], level: f64) -> Option<Crossing> {
    let pairs = values.windows(2).enumerate().rev();
    pairs
        .filter_map(|(k, pair)| Some((k, pair[0]?, pair[1]?)))
        .find(|(_, from, to)| *from > level && *to <= level)
        .map(|(k, from, to)| Crossing {
            k,
            share: (from - level) / (from - to),
        })
}

impl Crossing {
    fn time_s(self, times: &[f64]) -> Option<f64> {
        let (from, to) = (times.get(self.k)?, times.get(self.k + 1)?);
        Some(from + self.share * (to - from))
    }

    /// On the line between the two samples; unknown where one of them is.
    fn between(self, values: &[Option<f64>]) -> Option<f64> {
        let (from, to) = ((*values.get(self.k)?)?, (*values.get(self.k + 1)?)?);
        Some(from + self.share * (to - from))
    }

    /// What a lever stood at: the sample before, as there is nothing between two positions.
    fn before(self, values: &[Option<f64>]) -> Option<f64> {
        *values.get(self.k)?
    }
}
