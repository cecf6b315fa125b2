//! One Arrow column to numbers in the catalogue's unit and sign; NaN where missing.

use arrow::array::{Array, ArrayRef, AsArray};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Float32Type, Float64Type, Int16Type, Int32Type};

use super::plan::Channel;
use crate::catalogue::Kind;
use crate::fleet::Entry;

/// Recorders and scale factors leave states this near to a whole number.
const STATE_TOLERANCE: f64 = 0.01;

/// Binary digits that are kept of what was converted. Recorders give 24 of them at most, a conversion spoils the
/// last two or three of 53: between these, by judgement.
const CONVERTED_DIGITS: u64 = 40;

/// The known values of one parameter, by the row they stand in; most columns of a recorder are empty in most rows.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Known {
    /// Ascending, from the first row of the flight.
    pub(crate) rows: Vec<u32>,
    /// Never NaN.
    pub(crate) values: Vec<f64>,
}

impl Known {
    /// The value in a row; none where it is unknown.
    pub(super) fn at(&self, row: usize) -> Option<f64> {
        let row = u32::try_from(row).ok()?;
        let at = self.rows.binary_search(&row).ok()?;
        Some(self.values[at])
    }

    /// Adds the values of the next rows, of which the first is `first_row`, and returns how many entries were
    /// neither known nor marked missing.
    pub(super) fn read(
        &mut self,
        array: &ArrayRef,
        channel: &Channel,
        first_row: usize,
    ) -> Result<i64, String> {
        let entry = &channel.entry;
        match array.data_type() {
            DataType::Dictionary(_, value) => {
                let plain = cast(array, value).map_err(|e| e.to_string())?;
                return self.read(&plain, channel, first_row);
            }
            DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => {
                return self.words(array, channel, first_row);
            }
            DataType::Boolean if entry.values.is_some() => {
                let words = cast(array, &DataType::Utf8).map_err(|e| e.to_string())?;
                return self.words(&words, channel, first_row);
            }
            _ => {}
        }
        let known = array.len() - array.null_count();
        self.rows.reserve(known);
        self.values.reserve(known);
        if is_plain(channel) {
            each_number(array, |row, raw| {
                if raw.is_finite() {
                    self.push(first_row + row, raw);
                }
            })?;
            return Ok(0);
        }
        let mut unmatched = 0;
        let pairs = pairs(entry);
        each_number(array, |row, raw| {
            let value = match &pairs {
                _ if raw.is_nan() || entry.missing_numbers.contains(&raw) => return,
                None => raw,
                Some(pairs) => match in_table(pairs, raw) {
                    Some(to) => to,
                    None => {
                        unmatched += 1;
                        return;
                    }
                },
            };
            self.push(first_row + row, finished(value, channel));
        })?;
        Ok(unmatched)
    }

    fn push(&mut self, row: usize, value: f64) {
        if !value.is_nan() {
            // A flight has fewer rows by far: what has more is refused before.
            self.rows.push(row as u32);
            self.values.push(value);
        }
    }

    /// Texts: the words of the table first, then whatever is a number.
    fn words(
        &mut self,
        array: &ArrayRef,
        channel: &Channel,
        first_row: usize,
    ) -> Result<i64, String> {
        let entry = &channel.entry;
        let texts = cast(array, &DataType::Utf8).map_err(|e| e.to_string())?;
        let pairs = pairs(entry);
        let mut unmatched = 0;
        for (row, text) in texts.as_string::<i32>().iter().enumerate() {
            let text = text.map_or("", str::trim);
            if text.is_empty() || entry.missing_words.contains(text) {
                continue;
            }
            let number = number(text);
            if number.is_some_and(|n| n.is_nan() || entry.missing_numbers.contains(&n)) {
                continue;
            }
            let found = match (&entry.values, &pairs) {
                (Some(values), Some(pairs)) => {
                    let word = values.get(text).copied();
                    word.or_else(|| in_table(pairs, number?))
                }
                _ => number,
            };
            match found {
                Some(value) => self.push(first_row + row, finished(value, channel)),
                None => unmatched += 1,
            }
        }
        Ok(unmatched)
    }
}

/// Whether every finite number of the record is already the value, in the catalogue's unit.
fn is_plain(channel: &Channel) -> bool {
    let entry = &channel.entry;
    let as_recorded = entry.factor == 1.0 && entry.summand == 0.0;
    let any_number = !matches!(channel.kind, Kind::Discrete | Kind::Circular);
    as_recorded
        && any_number
        && !entry.invert
        && entry.armed_band.is_none()
        && entry.values.is_none()
        && entry.missing_numbers.is_empty()
}

/// Scale, unit and sign, then what the kind of the parameter asks for.
fn finished(raw: f64, channel: &Channel) -> f64 {
    let entry = &channel.entry;
    let mut value = converted(raw, entry);
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

/// The number in the catalogue's unit, without the last digits, which hold nothing but rounding: 250 kt are
/// 250 kt in whatever unit they were recorded, and not a little above a limit of 250 kt.
fn converted(raw: f64, entry: &Entry) -> f64 {
    const DIGITS: u32 = f64::MANTISSA_DIGITS - 1;
    let scaled = raw * entry.factor;
    let value = scaled + entry.summand;
    if entry.factor.abs() == 1.0 && entry.summand == 0.0 {
        return value;
    }
    // The greater of the two has the rounding, even where they take each other away.
    let exponent = scaled.abs().max(entry.summand.abs()).to_bits() >> DIGITS;
    let step = f64::from_bits(exponent.saturating_sub(CONVERTED_DIGITS) << DIGITS);
    if step > 0.0 && value.is_finite() {
        (value / step).round() * step
    } else {
        value
    }
}

/// The numbers of a column; NaN where missing.
pub(super) fn float(array: &ArrayRef) -> Result<Vec<f64>, String> {
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

/// Every entry of a column that holds a number, with its place.
fn each_number(array: &ArrayRef, mut found: impl FnMut(usize, f64)) -> Result<(), String> {
    macro_rules! entries {
        ($numbers:ty) => {{
            let numbers = array.as_primitive::<$numbers>();
            let values = numbers.values();
            match numbers.nulls().filter(|nulls| nulls.null_count() > 0) {
                Some(nulls) => nulls
                    .valid_indices()
                    .for_each(|at| found(at, f64::from(values[at]))),
                None => (0..values.len()).for_each(|at| found(at, f64::from(values[at]))),
            }
        }};
    }
    match array.data_type() {
        DataType::Float64 => entries!(Float64Type),
        DataType::Float32 => entries!(Float32Type),
        DataType::Int16 => entries!(Int16Type),
        DataType::Int32 => entries!(Int32Type),
        _ => {
            let plain = cast(array, &DataType::Float64).map_err(|e| e.to_string())?;
            return each_number(&plain, found);
        }
    }
    Ok(())
}

/// The entries of the map's table whose keys are numbers.
fn pairs(entry: &Entry) -> Option<Vec<(f64, f64)>> {
    let values = entry.values.as_ref()?;
    let number = |key: &String| key.trim().parse().ok();
    let pairs = values.iter();
    Some(
        pairs
            .filter_map(|(key, &to)| Some((number(key)?, to)))
            .collect(),
    )
}

fn in_table(pairs: &[(f64, f64)], value: f64) -> Option<f64> {
    let close = |key: f64| (key - value).abs() <= 1e-3;
    pairs.iter().find(|(key, _)| close(*key)).map(|&(_, to)| to)
}

/// A text as a number; truth values are 1 and 0, as in a column of truth values.
fn number(text: &str) -> Option<f64> {
    let truth = |word: &str| text.eq_ignore_ascii_case(word);
    match text.parse() {
        Ok(number) => Some(number),
        Err(_) if truth("true") => Some(1.0),
        Err(_) if truth("false") => Some(0.0),
        Err(_) => None,
    }
}
