//! What happens to records between the aircraft and the analyst's desk.
//!
//! A recorded flight is damaged after the fact, by its own dice, so that a fleet with damages is the
//! same fleet, sample by sample, in every flight that was spared. The truth of a damaged flight stays
//! what it was: nobody flew differently because a file broke.
//!
//! One flight gets one kind of damage, in one channel or in all rows, sometimes in several places.
//! Most of it is aimed at the last minutes of an approach, where it can do harm.

mod channel;
mod columns;
mod rows;
mod sizes;
mod values;

use crate::dice::Dice;
use arrow::error::ArrowError;
use arrow::record_batch::RecordBatch;
use serde::{Deserialize, Serialize};

/// What can happen to a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// All rows, or one channel, absent for 5…60 s.
    Gap,
    /// A channel repeats its last value for 15…120 s.
    Stuck,
    /// One to three samples far outside physics.
    Spike,
    /// A number that means "no value" stands in place of the reading for some seconds.
    Sentinel,
    /// The flight list's pressure setting is off by 5…25 hPa.
    WrongQnh,
    /// A whole column absent, or without a value.
    MissingChannel,
    /// The flight in a second file.
    DuplicateFlight,
    /// Rows that come twice.
    DuplicateRows,
    /// The file is cut off.
    TruncatedFile,
    /// The record starts late or ends in flight.
    ShortRecord,
    /// Blocks of rows out of order.
    ShuffledRows,
}

impl Kind {
    /// All of them, with how often each is drawn. A wrong setting is drawn apart.
    const WEIGHTS: [(Self, f64); 10] = [
        (Self::Gap, 16.0),
        (Self::Stuck, 20.0),
        (Self::Spike, 18.0),
        (Self::Sentinel, 18.0),
        (Self::MissingChannel, 8.0),
        (Self::DuplicateFlight, 4.0),
        (Self::DuplicateRows, 5.0),
        (Self::TruncatedFile, 3.0),
        (Self::ShortRecord, 5.0),
        (Self::ShuffledRows, 5.0),
    ];

    /// As `truth/damages.parquet` has it.
    pub(crate) fn as_str(self) -> &'static str {
        match self {
            Self::Gap => "gap",
            Self::Stuck => "stuck",
            Self::Spike => "spike",
            Self::Sentinel => "sentinel",
            Self::WrongQnh => "wrong_qnh",
            Self::MissingChannel => "missing_channel",
            Self::DuplicateFlight => "duplicate_flight",
            Self::DuplicateRows => "duplicate_rows",
            Self::TruncatedFile => "truncated_file",
            Self::ShortRecord => "short_record",
            Self::ShuffledRows => "shuffled_rows",
        }
    }
}

/// What a damage needs to know of the flight it hits.
#[derive(Clone, Debug)]
pub(crate) struct Facts {
    /// Which recorder.
    pub(crate) type_index: usize,
    /// Start and end of every approach, record time.
    pub(crate) approaches_s: Vec<(f64, f64)>,
    /// Whether any of them ended on the runway.
    pub(crate) landed: bool,
    /// Whether the flight list has a pressure setting.
    pub(crate) qnh_known: bool,
}

/// `truth/damages.parquet`: one damage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct DamageRow {
    pub(crate) flight_id: String,
    pub(crate) kind: String,
    /// Catalogue name; null = the whole record.
    pub(crate) parameter: Option<String>,
    /// Record time; null = from the first to the last sample.
    pub(crate) start_s: Option<f64>,
    pub(crate) end_s: Option<f64>,
    /// Samples touched; 0 where the whole file is.
    pub(crate) samples: i64,
    /// Relative to the fleet folder; filled where files are written.
    pub(crate) file: String,
}

/// Where a damaged flight is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Place {
    /// Where it would have been.
    Usual,
    /// A file of its own.
    OwnFile,
    /// A file of its own, of which this share is left.
    CutOff(f64),
    /// Where it would have been, and once more in a file of its own; the copy may have another name.
    Copied { renamed: bool },
}

/// What was done to one flight.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Damage {
    pub(crate) kind: Kind,
    pub(crate) place: Place,
    pub(crate) rows: Vec<DamageRow>,
}

/// Without a landing the setting is all that may tell the height, so there it is the usual damage.
const WRONG_QNH_WITHOUT_LANDING: f64 = 0.6;
/// Beside a landing it can do no harm, and must not.
const WRONG_QNH_WITH_LANDING: f64 = 0.02;

/// Whether a flight is damaged, and how: `share` is that of damaged flights.
pub(crate) fn choose(share: f64, facts: &Facts, dice: &mut Dice) -> Option<Kind> {
    if !dice.chance(share) {
        return None;
    }
    let wrong_qnh = if facts.landed {
        WRONG_QNH_WITH_LANDING
    } else {
        WRONG_QNH_WITHOUT_LANDING
    };
    if dice.chance(wrong_qnh) && facts.qnh_known {
        return Some(Kind::WrongQnh);
    }
    let weights = Kind::WEIGHTS.map(|(_, weight)| weight);
    Some(Kind::WEIGHTS[dice.weighted(&weights)].0)
}

/// Damages a flight, or leaves it as it is: `share` of all flights are hit.
///
/// # Errors
/// When the damaged columns do not fit together: a fault of this module.
pub(crate) fn inflict(
    share: f64,
    facts: &Facts,
    samples: RecordBatch,
    qnh_hpa: &mut Option<f32>,
    dice: &mut Dice,
) -> Result<(RecordBatch, Option<Damage>), ArrowError> {
    let Some(kind) = choose(share, facts, dice) else {
        return Ok((samples, None));
    };
    let (samples, rows) = match kind {
        Kind::WrongQnh => {
            let row = whole(kind, Some("qnh_hpa"));
            *qnh_hpa = qnh_hpa.map(|hpa| hpa + wrong_by_hpa(dice));
            (samples, vec![row])
        }
        kind => apply(kind, samples, facts, dice)?,
    };
    let place = match kind {
        Kind::MissingChannel => Place::OwnFile,
        Kind::TruncatedFile => Place::CutOff(dice.uniform(0.05, 0.98)),
        Kind::DuplicateFlight => Place::Copied {
            renamed: dice.chance(0.5),
        },
        _ => Place::Usual,
    };
    // A channel may have no value where it was to be damaged: such a flight is spared.
    let damage = (!rows.is_empty()).then_some(Damage { kind, place, rows });
    Ok((samples, damage))
}

fn wrong_by_hpa(dice: &mut Dice) -> f32 {
    let size = dice.uniform(5.0, 25.0).round() as f32;
    if dice.chance(0.5) { size } else { -size }
}

/// Damages the samples; kinds that only touch files leave them as they are.
///
/// # Errors
/// As [`inflict`].
pub(crate) fn apply(
    kind: Kind,
    samples: RecordBatch,
    facts: &Facts,
    dice: &mut Dice,
) -> Result<(RecordBatch, Vec<DamageRow>), ArrowError> {
    match kind {
        Kind::Gap if dice.chance(0.5) => rows::gap(&samples, facts, dice),
        Kind::Gap => values::gap(&samples, facts, dice),
        Kind::Stuck => values::stuck(&samples, facts, dice),
        Kind::Spike => values::spike(&samples, facts, dice),
        Kind::Sentinel => values::sentinel(&samples, facts, dice),
        Kind::MissingChannel => values::missing(&samples, facts, dice),
        Kind::DuplicateRows => rows::duplicate(&samples, facts, dice),
        Kind::ShortRecord => rows::short(&samples, facts, dice),
        Kind::ShuffledRows => rows::shuffle(&samples, facts, dice),
        Kind::WrongQnh | Kind::DuplicateFlight | Kind::TruncatedFile => {
            Ok((samples, vec![whole(kind, None)]))
        }
    }
}

/// A damage of the whole record, or of a parameter throughout.
fn whole(kind: Kind, parameter: Option<&str>) -> DamageRow {
    DamageRow {
        flight_id: String::new(),
        kind: kind.as_str().to_owned(),
        parameter: parameter.map(str::to_owned),
        start_s: None,
        end_s: None,
        samples: 0,
        file: String::new(),
    }
}

/// A damage between two moments.
fn between(
    kind: Kind,
    parameter: Option<&str>,
    (start_s, end_s): (f64, f64),
    samples: usize,
) -> DamageRow {
    DamageRow {
        start_s: Some(start_s),
        end_s: Some(end_s),
        samples: samples as i64,
        ..whole(kind, parameter)
    }
}

/// Share of the damages that are aimed at the end of an approach.
const AIMED: f64 = 0.7;
/// How long before its end an approach is worth hitting, s.
const AIM_FROM_S: f64 = 420.0;
/// And how long after it.
const AIM_TO_S: f64 = 15.0;

/// Where something of this length begins.
fn moment_s(facts: &Facts, time_s: &[f64], length_s: f64, dice: &mut Dice) -> f64 {
    let (first, last) = match (time_s.first(), time_s.last()) {
        (Some(&first), Some(&last)) => (first, last),
        _ => (0.0, 0.0),
    };
    let (low, high) = if dice.chance(AIMED) && !facts.approaches_s.is_empty() {
        let index = dice.weighted(&vec![1.0; facts.approaches_s.len()]);
        let (start_s, end_s) = facts.approaches_s[index];
        ((end_s - AIM_FROM_S).max(start_s), end_s + AIM_TO_S)
    } else {
        (first, last)
    };
    let latest = (high.min(last) - length_s).max(low);
    dice.uniform(low, latest + 1e-3)
}

#[cfg(test)]
mod tests;
