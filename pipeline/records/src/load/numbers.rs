//! One Arrow column to numbers in the catalogue's unit and sign; NaN where missing.

use arrow::array::{Array, ArrayRef, AsArray};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Float64Type};

use super::plan::{Channel, timestamp_s};
use crate::catalogue::Kind;
use crate::fleet::Entry;

/// Recorders and scale factors leave states this near to a whole number.
const STATE_TOLERANCE: f64 = 0.01;

/// Numbers of one column, and how many entries were neither known nor marked missing.
pub(super) struct Numbers {
    pub(super) value: Vec<f64>,
    pub(super) unmatched: i64,
}

/// Seconds of the time column.
pub(super) fn times(array: &ArrayRef, entry: &Entry) -> Result<Vec<f64>, String> {
    if let Some(seconds) = timestamp_s(array.data_type()) {
        let counts = cast(array, &DataType::Int64).map_err(|e| e.to_string())?;
        let counts = float(&counts)?;
        return Ok(counts.into_iter().map(|count| count * seconds).collect());
    }
    let numbers = float(array)?;
    Ok(numbers
        .into_iter()
        .map(|n| n * entry.factor + entry.summand)
        .collect())
}

/// Values of a parameter.
pub(super) fn values(array: &ArrayRef, channel: &Channel) -> Result<Numbers, String> {
    let entry = &channel.entry;
    let mut numbers = match array.data_type() {
        DataType::Dictionary(_, value) => {
            let plain = cast(array, value).map_err(|e| e.to_string())?;
            return values(&plain, channel);
        }
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => words(array, entry)?,
        DataType::Boolean if entry.values.is_some() => words(
            &cast(array, &DataType::Utf8).map_err(|e| e.to_string())?,
            entry,
        )?,
        _ => table(float(array)?, entry),
    };
    for value in &mut numbers.value {
        *value = finished(*value, channel);
    }
    Ok(numbers)
}

/// Scale, unit and sign, then what the kind of the parameter asks for.
fn finished(raw: f64, channel: &Channel) -> f64 {
    let entry = &channel.entry;
    let mut value = raw * entry.factor + entry.summand;
    if !value.is_finite() {
        return f64::NAN;
    }
    if entry.invert {
        value = 1.0 - value;
    }
    if entry
        .armed_band
        .is_some_and(|[low, high]| (low..=high).contains(&value))
    {
        value = 0.0;
    }
    match channel.kind {
        // A state that was scaled is still one of its whole numbers.
        Kind::Discrete if (value - value.round()).abs() < STATE_TOLERANCE => value.round(),
        // −180…180 and 0…360 are both in use; what is no angle at all is left to the range check.
        Kind::Circular if (-360.0..=720.0).contains(&value) => value.rem_euclid(360.0),
        _ => value,
    }
}

fn float(array: &ArrayRef) -> Result<Vec<f64>, String> {
    let cast = cast(array, &DataType::Float64).map_err(|e| e.to_string())?;
    let floats = cast.as_primitive::<Float64Type>();
    if floats.null_count() == 0 {
        return Ok(floats.values().to_vec());
    }
    Ok(floats
        .iter()
        .map(|value| value.unwrap_or(f64::NAN))
        .collect())
}

/// Sentinels, and the table of values where the map has one.
fn table(mut value: Vec<f64>, entry: &Entry) -> Numbers {
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-3;
    let mut unmatched = 0;
    let pairs: Option<Vec<(f64, f64)>> = entry.values.as_ref().map(|values| {
        values
            .iter()
            .filter_map(|(key, &to)| Some((key.trim().parse().ok()?, to)))
            .collect()
    });
    for value in &mut value {
        if entry.missing_numbers.contains(value) {
            *value = f64::NAN;
        }
        let Some(pairs) = pairs.as_ref().filter(|_| !value.is_nan()) else {
            continue;
        };
        match pairs.iter().find(|(key, _)| close(*key, *value)) {
            Some((_, to)) => *value = *to,
            None => {
                unmatched += 1;
                *value = f64::NAN;
            }
        }
    }
    Numbers { value, unmatched }
}

fn words(array: &ArrayRef, entry: &Entry) -> Result<Numbers, String> {
    let texts = cast(array, &DataType::Utf8).map_err(|e| e.to_string())?;
    let mut unmatched = 0;
    let value = texts
        .as_string::<i32>()
        .iter()
        .map(|text| {
            let text = text.map_or("", str::trim);
            if text.is_empty() || entry.missing_words.contains(text) {
                return f64::NAN;
            }
            let number = match &entry.values {
                Some(values) => values.get(text).copied(),
                None => text.parse().ok(),
            };
            number
                .filter(|n| !entry.missing_numbers.contains(n))
                .unwrap_or_else(|| {
                    unmatched += 1;
                    f64::NAN
                })
        })
        .collect();
    Ok(Numbers { value, unmatched })
}
