//! What an approach lost per air mile in each configuration, at the lowest thrust it used.
//!
//! Whether that thrust was idle only the fleet can tell: the mean thrust stands beside the loss.

use crate::derive::{Columns, Segment};
use crate::rows::LossRow;

use super::class::{Drag, SPEEDBRAKE_OUT};

/// Thrust this close to the lowest of the approach counts as the same: judgement.
const LOW_THRUST_PCT: f64 = 3.0;
/// Handles beyond this are as good as full; in between a loss is neither with nor without. Judgement.
const SPEEDBRAKE_FULL: f64 = 0.75;
/// Steeper banks add drag of their own: judgement.
const BANK_DEG: f64 = 15.0;
/// Gear takes no longer to come down: judgement, generous for a transport.
const TRANSIT_S: f64 = 20.0;
/// Levers are recorded up to this late (14 CFR 121 Appendix M: gear every 4 s): what is seen to change then has
/// changed already.
const LATE_S: f64 = 4.0;
/// Below this the flare begins and thrust is closed for another reason: judgement.
const LEAST_HEIGHT_FT: f64 = 200.0;
/// A stretch is at least this long, so that steps of the altimeter count for little …
const STRETCH_NM: f64 = 0.5;
/// … and an approach has at least so much in a configuration.
const LEAST_NM: f64 = 1.0;

pub(super) fn rows((flight_id, approach_no): (&str, i32), columns: &Columns) -> Vec<LossRow> {
    let seen = Seen::of(columns);
    let Some(low_pct) = seen.lowest_thrust_pct() else {
        return Vec::new();
    };
    let steady = seen.steady(low_pct + LOW_THRUST_PCT);
    Drag::ALL
        .into_iter()
        .filter_map(|drag| {
            let sum = seen.flown(&steady, drag);
            (sum.air_nm >= LEAST_NM).then(|| LossRow {
                flight_id: flight_id.to_owned(),
                approach_no,
                configuration: drag.as_str().to_owned(),
                air_nm: sum.air_nm,
                loss_ft_per_nm: sum.lost_ft / sum.air_nm,
                thrust_pct: sum.thrust / sum.samples,
                cas_kt: sum.cas / sum.samples,
            })
        })
        .collect()
}

/// The columns that tell losses; those that are not there are empty.
struct Seen<'a> {
    columns: &'a Columns,
    height: &'a [f64],
    energy: &'a [f64],
    air: &'a [f64],
    thrust: &'a [f64],
    cas: &'a [f64],
    roll: &'a [f64],
    gear: &'a [f64],
    gear_lever: &'a [f64],
    flap_lever: &'a [f64],
    speedbrake: &'a [f64],
}

#[derive(Default)]
struct Sum {
    air_nm: f64,
    lost_ft: f64,
    thrust: f64,
    cas: f64,
    samples: f64,
}

/// The value of a sample, where it is known.
fn known(values: &[f64], k: usize) -> Option<f64> {
    values.get(k).copied().filter(|value| !value.is_nan())
}

impl<'a> Seen<'a> {
    fn of(columns: &'a Columns) -> Self {
        let values = |name: &str| columns.values(name).unwrap_or_default();
        Self {
            columns,
            height: values("height_aal_ft"),
            energy: values("energy_height_ft"),
            air: values("air_distance_nm"),
            thrust: values("thrust_pct"),
            cas: values("cas_kt"),
            roll: values("roll_deg"),
            gear: values("gear_down"),
            gear_lever: values("gear_lever"),
            flap_lever: values("flap_lever"),
            speedbrake: values("speedbrake"),
        }
    }

    fn lowest_thrust_pct(&self) -> Option<f64> {
        let thrust = self.thrust.iter().enumerate();
        thrust
            .filter(|(k, pct)| !pct.is_nan() && self.aloft(*k))
            .map(|(_, pct)| *pct)
            .reduce(f64::min)
    }

    fn aloft(&self, k: usize) -> bool {
        let high = self.height.get(k).is_some_and(|ft| *ft >= LEAST_HEIGHT_FT);
        high && self.columns.segment[k] == Segment::Approach
    }

    /// The configuration of a sample, where it is one of the four and known to be.
    fn configuration(&self, k: usize) -> Option<Drag> {
        let (gear, lever, brake) = (
            known(self.gear, k)?,
            known(self.flap_lever, k)?,
            known(self.speedbrake, k)?,
        );
        if gear == 0.0 && self.in_transit(k) {
            return None;
        }
        let stowed = brake <= SPEEDBRAKE_OUT;
        match (gear == 1.0, lever > 0.0) {
            (true, true) if stowed => Some(Drag::Gear),
            (false, true) if stowed => Some(Drag::Flap),
            (false, false) if stowed => Some(Drag::Clean),
            (false, false) if brake >= SPEEDBRAKE_FULL => Some(Drag::Speedbrake),
            _ => None,
        }
    }

    /// Whether the gear, not down yet, is on its way: its lever is down, or, where that is not recorded, it will
    /// be down soon.
    fn in_transit(&self, k: usize) -> bool {
        if let Some(lever) = known(self.gear_lever, k) {
            return lever == 1.0;
        }
        let ahead = (TRANSIT_S / self.columns.grid.step_s).round() as usize;
        let mut soon = self.gear.iter().skip(k + 1).take(ahead);
        soon.any(|down| *down == 1.0)
    }

    /// The configuration of every sample at low thrust that keeps it for as long as levers are recorded late;
    /// none for all others.
    fn steady(&self, most_pct: f64) -> Vec<Option<Drag>> {
        let n = self.columns.grid.n;
        let late = (LATE_S / self.columns.grid.step_s).round() as usize;
        let low = |k: usize| {
            let roll = known(self.roll, k);
            known(self.energy, k).is_some()
                && known(self.air, k).is_some()
                && known(self.cas, k).is_some()
                && self.thrust.get(k).is_some_and(|pct| *pct <= most_pct)
                && roll.is_none_or(|deg| deg.abs() <= BANK_DEG)
                && self.aloft(k)
        };
        (0..n)
            .map(|k| {
                let drag = low(k).then(|| self.configuration(k)).flatten()?;
                (self.configuration((k + late).min(n - 1)) == Some(drag)).then_some(drag)
            })
            .collect()
    }

    /// Sums the stretches of one configuration.
    fn flown(&self, steady: &[Option<Drag>], drag: Drag) -> Sum {
        let mut sum = Sum::default();
        let mut from = 0;
        for stretch in steady.chunk_by(|a, b| (*a == Some(drag)) == (*b == Some(drag))) {
            let to = from + stretch.len() - 1;
            let air_nm = self.air.get(from).zip(self.air.get(to));
            let air_nm = air_nm.map_or(0.0, |(first, last)| first - last);
            if stretch[0] == Some(drag) && air_nm >= STRETCH_NM {
                sum.air_nm += air_nm;
                sum.lost_ft += self.energy[from] - self.energy[to];
                sum.thrust += self.thrust[from..=to].iter().sum::<f64>();
                sum.cas += self.cas[from..=to].iter().sum::<f64>();
                sum.samples += stretch.len() as f64;
            }
            from = to + 1;
        }
        sum
    }
}
