//! Damage to the rows of a record.

use super::channel::times_s;
use super::{DamageRow, Facts, Kind, between, moment_s};
use crate::dice::Dice;
use arrow::array::UInt32Array;
use arrow::compute::take_record_batch;
use arrow::error::ArrowError;
use arrow::record_batch::RecordBatch;

type Outcome = Result<(RecordBatch, Vec<DamageRow>), ArrowError>;

/// The record with these of its rows, in this order.
fn picked(samples: &RecordBatch, rows: &[usize]) -> Result<RecordBatch, ArrowError> {
    let rows: UInt32Array = rows.iter().map(|&row| Some(row as u32)).collect();
    take_record_batch(samples, &rows)
}

/// First row at or after a moment, and first row after a later one.
fn stretch(time_s: &[f64], from_s: f64, to_s: f64) -> (usize, usize) {
    (
        time_s.partition_point(|&t| t < from_s),
        time_s.partition_point(|&t| t <= to_s),
    )
}

/// Rows absent for 5…60 s, in one or two places.
pub(super) fn gap(samples: &RecordBatch, facts: &Facts, dice: &mut Dice) -> Outcome {
    let time_s = times_s(samples)?;
    let mut gone = vec![false; time_s.len()];
    let mut damages = Vec::new();
    for _ in 0..1 + dice.weighted(&[3.0, 1.0]) {
        let length_s = dice.uniform(5.0, 60.0);
        let start_s = moment_s(facts, &time_s, length_s, dice);
        let (first, end) = stretch(&time_s, start_s, start_s + length_s);
        if end > first {
            gone[first..end].fill(true);
            let range = (time_s[first], time_s[end - 1]);
            damages.push(between(Kind::Gap, None, range, end - first));
        }
    }
    let left: Vec<usize> = (0..time_s.len()).filter(|&row| !gone[row]).collect();
    Ok((picked(samples, &left)?, damages))
}

/// Rows that come twice: a block after itself, or every row of a stretch.
pub(super) fn duplicate(samples: &RecordBatch, facts: &Facts, dice: &mut Dice) -> Outcome {
    let time_s = times_s(samples)?;
    let length_s = dice.uniform(5.0, 120.0);
    let start_s = moment_s(facts, &time_s, length_s, dice);
    let (first, end) = stretch(&time_s, start_s, start_s + length_s);
    if end <= first {
        return Ok((samples.clone(), Vec::new()));
    }
    let mut rows: Vec<usize> = (0..first).collect();
    if dice.chance(0.5) {
        rows.extend((first..end).chain(first..end));
    } else {
        rows.extend((first..end).flat_map(|row| [row, row]));
    }
    rows.extend(end..time_s.len());
    let range = (time_s[first], time_s[end - 1]);
    let damages = vec![between(Kind::DuplicateRows, None, range, end - first)];
    Ok((picked(samples, &rows)?, damages))
}

/// The record starts late, or ends in flight; the damage is what is gone.
pub(super) fn short(samples: &RecordBatch, facts: &Facts, dice: &mut Dice) -> Outcome {
    let time_s = times_s(samples)?;
    let last = time_s.len().saturating_sub(1);
    let late = dice.chance(0.5);
    let approach = if late {
        facts.approaches_s.first()
    } else {
        facts.approaches_s.last()
    };
    let Some(&(start_s, end_s)) = approach.filter(|approach| approach.1 - approach.0 > 120.0)
    else {
        return Ok((samples.clone(), Vec::new()));
    };
    let cut_s = if late {
        dice.uniform(start_s + 20.0, end_s - 30.0)
    } else {
        // Half of them in the last minute, where it matters what became of the approach.
        let from_s = if dice.chance(0.5) {
            end_s - 60.0
        } else {
            start_s + 60.0
        };
        dice.uniform(from_s, end_s - 1.0)
    };
    let cut = time_s.partition_point(|&t| t < cut_s).clamp(1, last.max(1));
    let (left, gone) = if late {
        (cut..time_s.len(), (time_s[0], time_s[cut - 1]))
    } else {
        (0..cut, (time_s[cut], time_s[last]))
    };
    let samples_gone = time_s.len() - left.len();
    let damages = vec![between(Kind::ShortRecord, None, gone, samples_gone)];
    Ok((picked(samples, &left.collect::<Vec<_>>())?, damages))
}

/// Neighbouring blocks of rows in the wrong order, in one to four places.
pub(super) fn shuffle(samples: &RecordBatch, facts: &Facts, dice: &mut Dice) -> Outcome {
    let time_s = times_s(samples)?;
    let mut order: Vec<usize> = (0..time_s.len()).collect();
    let mut damages = Vec::new();
    for _ in 0..1 + dice.weighted(&[3.0, 2.0, 1.0, 1.0]) {
        let (one_s, two_s) = (dice.uniform(3.0, 90.0), dice.uniform(3.0, 90.0));
        let start_s = moment_s(facts, &time_s, one_s + two_s, dice);
        let (first, middle) = stretch(&time_s, start_s, start_s + one_s);
        let (_, end) = stretch(&time_s, start_s, start_s + one_s + two_s);
        if middle > first && end > middle {
            order[first..end].rotate_left(middle - first);
            let range = (time_s[first], time_s[end - 1]);
            damages.push(between(Kind::ShuffledRows, None, range, end - first));
        }
    }
    Ok((picked(samples, &order)?, damages))
}
