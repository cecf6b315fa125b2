//! Damage to the values of one channel.

use super::channel::{known, numbers, replaced, times_s};
use super::columns::{column, parameters};
use super::sizes::{GAPS, SENTINEL_VALUES, SENTINELS, SPIKES, STUCK};
use super::{DamageRow, Facts, Kind, between, moment_s, whole};
use crate::dice::Dice;
use arrow::array::new_null_array;
use arrow::error::ArrowError;
use arrow::record_batch::RecordBatch;
use std::sync::Arc;

type Outcome = Result<(RecordBatch, Vec<DamageRow>), ArrowError>;

/// A channel with fewer known values is not worth a damage.
const LEAST_KNOWN: usize = 60;
/// Places tried before a flight is spared: a channel may be silent in most of them.
const TRIES: usize = 8;

/// One channel of the record at hand.
struct Hit {
    parameter: &'static str,
    column: &'static str,
    /// Recorded units per catalogue unit.
    scale: f64,
    values: Vec<Option<f64>>,
}

/// Draws a channel that this recorder has and that holds something.
fn draw(
    samples: &RecordBatch,
    facts: &Facts,
    weights: &[(&'static str, f64)],
    dice: &mut Dice,
) -> Result<Option<Hit>, ArrowError> {
    let mut hits = Vec::new();
    for &(parameter, weight) in weights {
        let Some((column, scale)) = column(facts.type_index, parameter) else {
            continue;
        };
        let values = numbers(&samples[column])?;
        if values.iter().flatten().count() >= LEAST_KNOWN {
            let hit = Hit {
                parameter,
                column,
                scale,
                values,
            };
            hits.push((hit, weight));
        }
    }
    if hits.is_empty() {
        return Ok(None);
    }
    let drawn = dice.weighted(&hits.iter().map(|hit| hit.1).collect::<Vec<_>>());
    Ok(Some(hits.swap_remove(drawn).0))
}

/// The channel, and for a latitude the longitude too: a receiver loses or repeats both.
fn with_partner(samples: &RecordBatch, facts: &Facts, hit: Hit) -> Result<Vec<Hit>, ArrowError> {
    let mut hits = vec![hit];
    if hits[0].parameter == "latitude_deg"
        && let Some((column, scale)) = column(facts.type_index, "longitude_deg")
    {
        hits.push(Hit {
            parameter: "longitude_deg",
            column,
            scale,
            values: numbers(&samples[column])?,
        });
    }
    Ok(hits)
}

/// Overwrites the known values of one stretch of a channel; `with` gets the value before it.
fn overwrite(
    samples: &RecordBatch,
    facts: &Facts,
    dice: &mut Dice,
    (kind, hit): (Kind, Option<Hit>),
    length_s: f64,
    with: impl Fn(f64) -> Option<f64>,
) -> Outcome {
    let (mut samples, mut damages) = (samples.clone(), Vec::new());
    let Some(hit) = hit else {
        return Ok((samples, damages));
    };
    let time_s = times_s(&samples)?;
    let hits = with_partner(&samples, facts, hit)?;
    for _ in 0..TRIES {
        let start_s = moment_s(facts, &time_s, length_s, dice);
        let rows = known(&hits[0].values, &time_s, &(start_s..=start_s + length_s));
        let (Some(&first), Some(&last)) = (rows.first(), rows.last()) else {
            continue;
        };
        if hits[0].values[..first].iter().flatten().next().is_none() {
            continue;
        }
        // A channel that repeats what it would have said anyway is not damaged.
        let held = hits[0].values[..first].iter().rev().flatten().next();
        if kind == Kind::Stuck && rows.iter().all(|&row| hits[0].values[row].as_ref() == held) {
            continue;
        }
        for mut hit in hits {
            let before = hit.values[..first].iter().rev().flatten().next().copied();
            for &row in &rows {
                hit.values[row] = before.and_then(&with);
            }
            samples = replaced(&samples, hit.column, &hit.values)?;
            let range = (time_s[first], time_s[last]);
            damages.push(between(kind, Some(hit.parameter), range, rows.len()));
        }
        break;
    }
    Ok((samples, damages))
}

/// A channel absent for a while.
pub(super) fn gap(samples: &RecordBatch, facts: &Facts, dice: &mut Dice) -> Outcome {
    let hit = draw(samples, facts, GAPS, dice)?;
    let length_s = dice.uniform(5.0, 60.0);
    overwrite(samples, facts, dice, (Kind::Gap, hit), length_s, |_| None)
}

/// A channel that repeats itself.
pub(super) fn stuck(samples: &RecordBatch, facts: &Facts, dice: &mut Dice) -> Outcome {
    let hit = draw(samples, facts, STUCK, dice)?;
    let length_s = dice.uniform(15.0, 120.0);
    overwrite(samples, facts, dice, (Kind::Stuck, hit), length_s, Some)
}

/// A number that is no reading.
pub(super) fn sentinel(samples: &RecordBatch, facts: &Facts, dice: &mut Dice) -> Outcome {
    let hit = draw(samples, facts, SENTINELS, dice)?;
    let length_s = dice.uniform(4.0, 30.0);
    let mut value = SENTINEL_VALUES[dice.weighted(&[1.0; SENTINEL_VALUES.len()])];
    if let Some(hit) = &hit
        && samples[hit.column].data_type().is_integer()
    {
        value = value.trunc();
    }
    let with = move |_| Some(value);
    overwrite(samples, facts, dice, (Kind::Sentinel, hit), length_s, with)
}

/// One to three samples, in up to four places.
pub(super) fn spike(samples: &RecordBatch, facts: &Facts, dice: &mut Dice) -> Outcome {
    let weights: Vec<(&'static str, f64)> = SPIKES.iter().map(|s| (s.0, s.1)).collect();
    let Some(mut hit) = draw(samples, facts, &weights, dice)? else {
        return Ok((samples.clone(), Vec::new()));
    };
    let time_s = times_s(samples)?;
    let (low, high) = SPIKES
        .iter()
        .find(|spike| spike.0 == hit.parameter)
        .map_or((0.0, 0.0), |spike| spike.2);
    let circular = hit.parameter == "heading_true_deg";
    let mut damages = Vec::new();
    for _ in 0..1 + dice.weighted(&[4.0, 2.0, 1.0, 1.0]) {
        let start_s = moment_s(facts, &time_s, 1.0, dice);
        let length = 1 + dice.weighted(&[3.0, 1.0, 1.0]);
        let size = dice.uniform(low, high) * if dice.chance(0.5) { 1.0 } else { -1.0 };
        let rows = known(&hit.values, &time_s, &(start_s..=f64::INFINITY));
        let rows = &rows[..length.min(rows.len())];
        let (Some(&first), Some(&last)) = (rows.first(), rows.last()) else {
            continue;
        };
        for &row in rows {
            let share = dice.uniform(0.9, 1.1);
            hit.values[row] = hit.values[row].map(|value| {
                let wrong = value + size * share * hit.scale;
                if circular {
                    wrong.rem_euclid(360.0)
                } else {
                    wrong
                }
            });
        }
        let range = (time_s[first], time_s[last]);
        damages.push(between(Kind::Spike, Some(hit.parameter), range, rows.len()));
    }
    Ok((replaced(samples, hit.column, &hit.values)?, damages))
}

/// A column that is not there, or that holds nothing. Pressure altitude is no option: without it
/// there is no flight.
pub(super) fn missing(samples: &RecordBatch, facts: &Facts, dice: &mut Dice) -> Outcome {
    let weights: Vec<(&'static str, f64)> = parameters(facts.type_index)
        .into_iter()
        .filter(|parameter| *parameter != "pressure_altitude_ft")
        .map(|parameter| (parameter, 1.0))
        .collect();
    let Some(hit) = draw(samples, facts, &weights, dice)? else {
        return Ok((samples.clone(), Vec::new()));
    };
    let index = samples.schema().index_of(hit.column)?;
    let damages = vec![whole(Kind::MissingChannel, Some(hit.parameter))];
    if dice.chance(0.5) {
        let left: Vec<usize> = (0..samples.num_columns()).filter(|&i| i != index).collect();
        return Ok((samples.project(&left)?, damages));
    }
    let mut columns = samples.columns().to_vec();
    columns[index] = new_null_array(columns[index].data_type(), samples.num_rows());
    Ok((
        RecordBatch::try_new(Arc::clone(samples.schema_ref()), columns)?,
        damages,
    ))
}
