//! The samples of an approach with one channel late, early, high or low.

use std::collections::{BTreeMap, BTreeSet};

use records::catalogue::{Catalogue, Kind};
use records::derive::{Columns, Frame, derive, look_back};
use records::fleet::Fleet;
use records::rows::ApproachRow;

/// Speeds are moved by this much, knots.
const SPEED_STEP_KT: f64 = 1.0;
/// Recorded where a recorder has them, else computed from other columns.
const MAYBE_RECORDED: [&str; 3] = ["tas_kt", "vref_kt", "vapp_kt"];
/// What is computed again differs by less than this from what was stored; a recorded channel by more:
/// far above single precision, far below a recorder's step (judgement), knots.
const SAME_KT: f64 = 0.01;
/// Differences below this share of a value are those of single precision and no step.
const NO_STEP: f64 = 1e-6;

/// What all variants of an approach start from.
pub(super) struct Base<'f> {
    fleet: &'f Fleet,
    frame: Frame,
    aircraft: Option<&'f records::fleet::AircraftType>,
    columns: Columns,
    /// The columns that are not computed here.
    pub(super) recorded: BTreeSet<String>,
}

/// What is done to a channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Change {
    /// So many samples later; earlier where negative.
    Late(i32),
    /// So much higher; lower where negative.
    High(f64),
}

impl<'f> Base<'f> {
    /// From the stored columns of an approach, see [`records::samples::stored_columns`].
    pub(super) fn new(stored: Columns, row: &ApproachRow, fleet: &'f Fleet) -> Self {
        let end = match (&row.airport, &row.runway) {
            (Some(airport), Some(runway)) => {
                let mut ends = fleet.runways.at(airport);
                ends.find(|end| end.ident == *runway)
            }
            _ => None,
        };
        let frame = end.map_or_else(Frame::default, |end| Frame {
            threshold_elevation_ft: Some(end.elevation_ft),
            runway_bearing_deg: Some(end.bearing_deg),
            glide_path_deg: end.glide_path_deg,
            crossing_height_ft: end.crossing_height_ft,
            runway_length_ft: Some(end.length_ft),
        });
        let aircraft = row.aircraft_type.as_deref();
        let mut base = Self {
            fleet,
            frame,
            aircraft: aircraft.and_then(|name| fleet.aircraft.get(name)),
            columns: stored,
            recorded: BTreeSet::new(),
        };
        let mut doubtful = BTreeMap::new();
        for name in MAYBE_RECORDED {
            doubtful.extend(base.columns.columns.remove_entry(name));
        }
        // In the order in which they are made of one another.
        for name in MAYBE_RECORDED {
            let Some(stored) = doubtful.remove(name) else {
                continue;
            };
            let computed = base.derived(base.columns.clone());
            if !computed.values(name).is_some_and(|own| same(own, &stored)) {
                base.columns.columns.insert(name.to_owned(), stored);
            }
        }
        base.recorded = base.columns.columns.keys().cloned().collect();
        base
    }

    /// Whether a column is computed here, and of that one.
    pub(super) fn follows(&self, column: &str, part: &str) -> bool {
        let by_type = |aircraft: &records::fleet::AircraftType| aircraft.follows(column, part);
        !self.recorded.contains(column) && self.aircraft.is_none_or(by_type)
    }

    fn derived(&self, mut columns: Columns) -> Columns {
        derive(&mut columns, self.aircraft, &self.frame);
        look_back(&mut columns, self.fleet.catalogue.windows());
        columns
    }

    /// The samples as they are, derived again.
    #[cfg(test)]
    pub(super) fn unchanged(&self) -> Columns {
        self.derived(self.columns.clone())
    }

    /// Everything a recorder may do to this channel.
    pub(super) fn changes(&self, channel: &str) -> Vec<Change> {
        let step_s = self.columns.grid.step_s;
        let late = delay_samples(self.fleet, channel, step_s);
        let mut changes = vec![Change::Late(late), Change::Late(-late)];
        let values = self.columns.values(channel).unwrap_or_default();
        if let Some(step) = step(&self.fleet.catalogue, channel, values) {
            changes.extend([Change::High(step), Change::High(-step)]);
        }
        changes
    }

    /// The columns with this channel changed, and what was read together with it: its peaks, what is known of
    /// the lever between its samples, and the height where the altitude is late. One that is high is so on the
    /// runway too, and the height stays.
    pub(super) fn changed(&self, channel: &str, change: Change) -> Columns {
        let mut columns = self.columns.clone();
        let kind = self.fleet.catalogue.lookup(channel).map(|one| one.kind);
        let mut together = vec![
            channel.to_owned(),
            format!("{channel}_max"),
            format!("{channel}_min"),
        ];
        if let Change::Late(_) = change {
            match channel {
                "flap_lever" => together.push("flap_uncertain".to_owned()),
                "pressure_altitude_ft" => together.push("height_aal_ft".to_owned()),
                _ => {}
            }
        }
        for name in together {
            let Some(values) = columns.columns.get_mut(&name) else {
                continue;
            };
            match change {
                Change::Late(samples) => *values = late(values, samples),
                Change::High(step) => values.iter_mut().for_each(|value| {
                    *value += step;
                    if kind == Some(Kind::Circular) {
                        *value = value.rem_euclid(360.0);
                    }
                }),
            }
        }
        self.derived(columns)
    }
}

/// The same values so many samples later; the first, or the last, holds where there is none.
fn late(values: &[f64], samples: i32) -> Vec<f64> {
    let by = usize::try_from(samples.unsigned_abs()).unwrap_or(usize::MAX);
    let last = values.len().saturating_sub(1);
    let from = |k: usize| {
        if samples >= 0 {
            k.saturating_sub(by)
        } else {
            k.saturating_add(by).min(last)
        }
    };
    (0..values.len()).map(|k| values[from(k)]).collect()
}

/// One sample, or the channel's known delay where that is longer.
fn delay_samples(fleet: &Fleet, channel: &str, step_s: f64) -> i32 {
    let maps = fleet.maps.iter();
    let delay_s = maps
        .filter_map(|map| map.entries.get(channel))
        .map(|entry| entry.delay_s.abs())
        .fold(0.0, f64::max);
    #[allow(clippy::cast_possible_truncation)] // saturates; delays are seconds
    let samples = (delay_s / step_s).round() as i32;
    samples.max(1)
}

/// By how much a channel is moved: a knot for speeds, else its own step. None for states, and for a channel
/// that shows no step.
fn step(catalogue: &Catalogue, channel: &str, values: &[f64]) -> Option<f64> {
    let parameter = catalogue.lookup(channel)?;
    if parameter.kind == Kind::Discrete {
        return None;
    }
    if parameter.unit == "kt" {
        return Some(SPEED_STEP_KT);
    }
    let smallest = values
        .windows(2)
        .filter(|pair| pair[0].is_finite() && pair[1].is_finite())
        .map(|pair| {
            let step = (pair[1] - pair[0]).abs();
            let turn = parameter.kind == Kind::Circular && step > 180.0;
            let noise = NO_STEP * pair[0].abs().max(pair[1].abs());
            (if turn { 360.0 - step } else { step }, noise)
        })
        .filter(|(step, noise)| step > noise)
        .fold(f64::INFINITY, |least, (step, _)| least.min(step));
    smallest.is_finite().then_some(smallest)
}

fn same(computed: &[f64], stored: &[f64]) -> bool {
    let mut pairs = computed.iter().zip(stored);
    pairs.all(|(a, b)| (a.is_nan() && b.is_nan()) || (a - b).abs() < SAME_KT)
}
