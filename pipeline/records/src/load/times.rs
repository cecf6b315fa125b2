//! The time column: seconds from what it holds, in any of its forms.

use arrow::array::{Array, ArrayRef, AsArray};
use arrow::compute::cast;
use arrow::compute::kernels::cast_utils::string_to_timestamp_nanos;
use arrow::datatypes::{DataType, TimeUnit};

use super::numbers::float;
use super::units;
use crate::fleet::Entry;

const DAY_S: f64 = 86_400.0;

/// What a text of time may look like.
pub(super) const EXPECTED: &str = "a number, a date and time such as 2025-03-09T14:05:06.25Z, or a \
                                   time of day such as 14:05:06.25";

/// What the numbers of a time column count from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// Whatever the recorder counts from.
    Count,
    /// The beginning of 1970.
    Moment,
    /// The last midnight.
    Clock,
}

/// Times as they are read, batch after batch.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Times {
    /// NaN where unknown.
    pub(crate) seconds: Vec<f64>,
    /// Of the first that is known: one column has one form.
    pub(crate) form: Option<Form>,
    /// The first that is no time, as it stands there.
    pub(crate) unreadable: Option<String>,
}

impl Times {
    /// Adds the times of the next rows.
    ///
    /// # Errors
    /// In words, where the column cannot hold times or contradicts the map.
    pub(crate) fn read(&mut self, array: &ArrayRef, entry: &Entry) -> Result<(), String> {
        let scaled = |seconds: Vec<f64>| {
            let scale = |n: f64| n * entry.factor + entry.summand;
            seconds.into_iter().map(scale).collect()
        };
        match array.data_type() {
            DataType::Dictionary(_, value) => {
                let plain = cast(array, value).map_err(|e| e.to_string())?;
                return self.read(&plain, entry);
            }
            DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => {
                return self.texts(array, entry);
            }
            DataType::Time32(_) | DataType::Time64(_) => {
                let counts = cast(array, &DataType::Time64(TimeUnit::Nanosecond));
                let counts = counts.and_then(|counts| cast(&counts, &DataType::Int64));
                let counts = float(&counts.map_err(|e| e.to_string())?)?;
                self.extend(Form::Clock, counts.into_iter().map(|n| n * 1e-9));
            }
            other => match (form(other), seconds_per_count(other)) {
                (Some(form), Some(seconds)) => {
                    let counts = cast(array, &DataType::Int64).map_err(|e| e.to_string())?;
                    let counts = float(&counts)?;
                    self.extend(form, counts.into_iter().map(|count| count * seconds));
                }
                _ => {
                    let seconds: Vec<f64> = scaled(float(array)?);
                    self.extend(Form::Count, seconds.into_iter());
                }
            },
        }
        Ok(())
    }

    fn extend(&mut self, form: Form, seconds: impl Iterator<Item = f64>) {
        self.form = Some(form);
        self.seconds.extend(seconds);
    }

    fn texts(&mut self, array: &ArrayRef, entry: &Entry) -> Result<(), String> {
        let texts = cast(array, &DataType::Utf8).map_err(|e| e.to_string())?;
        for text in texts.as_string::<i32>() {
            let text = text.map_or("", str::trim);
            let found = parse(text);
            if let (Some((Form::Moment | Form::Clock, _)), Some(unit)) = (found, &entry.unit) {
                return Err(format!(
                    "`{text}` is a date or a time of day, which needs no unit `{unit}`; take the \
                     unit out of the map"
                ));
            }
            let fits = found.filter(|(form, _)| *self.form.get_or_insert(*form) == *form);
            if fits.is_none() && !text.is_empty() && self.unreadable.is_none() {
                self.unreadable = Some(text.to_owned());
            }
            self.seconds.push(match fits {
                Some((Form::Count, n)) => n * entry.factor + entry.summand,
                Some((_, seconds)) => seconds,
                None => f64::NAN,
            });
        }
        Ok(())
    }

    /// Times of day made to run on over midnight.
    ///
    /// Each goes to the day that brings it nearest to the one before, which holds for steps of
    /// less than half a day, forward or back.
    pub(crate) fn unrolled(&self) -> Vec<f64> {
        let mut seconds = self.seconds.clone();
        if self.form != Some(Form::Clock) {
            return seconds;
        }
        let mut before: Option<f64> = None;
        for time in seconds.iter_mut().filter(|time| time.is_finite()) {
            if let Some(before) = before {
                *time += ((before - *time) / DAY_S).round() * DAY_S;
            }
            before = Some(*time);
        }
        seconds
    }
}

/// One text as a time: its form, and seconds, or the bare number.
fn parse(text: &str) -> Option<(Form, f64)> {
    if let Ok(number) = text.parse::<f64>() {
        return number.is_finite().then_some((Form::Count, number));
    }
    if let Some(seconds) = time_of_day(text) {
        return Some((Form::Clock, seconds));
    }
    // A day alone says nothing of the time in it.
    if text.len() <= "2025-03-09".len() {
        return None;
    }
    let nanoseconds = string_to_timestamp_nanos(text).ok()?;
    Some((Form::Moment, nanoseconds as f64 * 1e-9))
}

/// Seconds since midnight of `HH:MM:SS`, with or without a fraction.
fn time_of_day(text: &str) -> Option<f64> {
    let mut parts = text.split(':');
    let (hours, minutes, seconds) = (parts.next()?, parts.next()?, parts.next()?);
    let whole = |part: &str, below: u32| {
        let plain = (1..=2).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
        let number: u32 = plain.then(|| part.parse().ok()).flatten()?;
        (number < below).then_some(f64::from(number))
    };
    let (second, fraction) = seconds.split_once('.').unwrap_or((seconds, "0"));
    let digits = !fraction.is_empty() && fraction.bytes().all(|b| b.is_ascii_digit());
    if parts.next().is_some() || !digits {
        return None;
    }
    let fraction: f64 = format!("0.{fraction}").parse().ok()?;
    // A leap second is the 61st of its minute.
    Some(whole(hours, 24)? * 3600.0 + whole(minutes, 60)? * 60.0 + whole(second, 61)? + fraction)
}

/// What a column of this type counts from; none where it holds no times by its type.
pub(super) fn form(data_type: &DataType) -> Option<Form> {
    match data_type {
        DataType::Timestamp(..) => Some(Form::Moment),
        DataType::Time32(_) | DataType::Time64(_) => Some(Form::Clock),
        DataType::Duration(_) => Some(Form::Count),
        _ => None,
    }
}

fn seconds_per_count(data_type: &DataType) -> Option<f64> {
    let unit = match data_type {
        DataType::Timestamp(unit, _) | DataType::Duration(unit) => match unit {
            TimeUnit::Second => return Some(1.0),
            TimeUnit::Millisecond => "ms",
            TimeUnit::Microsecond => "us",
            TimeUnit::Nanosecond => "ns",
        },
        _ => return None,
    };
    units::conversion(unit, "s").map(|(factor, _)| factor)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use arrow::array::{
        DictionaryArray, DurationMillisecondArray, StringArray, Time32SecondArray,
        Time64MicrosecondArray, TimestampMicrosecondArray,
    };
    use arrow::datatypes::Int32Type;

    use super::*;

    fn read(array: ArrayRef) -> Times {
        let mut times = Times::default();
        times.read(&array, &Entry::as_is("T")).expect("times");
        times
    }

    fn texts(texts: &[&str]) -> Times {
        read(Arc::new(StringArray::from(texts.to_vec())))
    }

    #[test]
    fn dates_and_times_with_and_without_zone_and_fraction() {
        let times = texts(&[
            "2025-03-09T14:05:06Z",
            "2025-03-09 14:05:06.25",
            "2025-03-09T16:05:07+02:00",
            "2025-03-09T09:05:08.5-05:00",
            "2025-03-09 140509",
        ]);
        // 20,156 days from the beginning of 1970 to 9 March 2025.
        let start = 20_156.0 * DAY_S + 14.0 * 3600.0 + 5.0 * 60.0 + 6.0;
        let steps: Vec<f64> = times.seconds.iter().map(|t| t - start).collect();
        for (step, expected) in steps.iter().zip([0.0, 0.25, 1.0, 2.5, 3.0]) {
            assert!((step - expected).abs() < 1e-6, "{steps:?}");
        }
        assert_eq!((times.form, times.unreadable), (Some(Form::Moment), None));
    }

    #[test]
    fn times_of_day_run_on_over_midnight_and_back() {
        let times = texts(&["23:59:58.5", "00:00:01", "23:59:59", "0:00:02.125", ""]);
        let seconds = times.unrolled();
        assert_eq!(seconds[..4], [86_398.5, 86_401.0, 86_399.0, 86_402.125]);
        assert!(seconds[4].is_nan() && times.unreadable.is_none());
        assert_eq!(texts(&["14:05:60"]).seconds, [50_760.0], "a leap second");
    }

    #[test]
    fn one_column_has_one_form_and_the_rest_is_unknown() {
        let times = texts(&["12.5", "2025-03-09T14:05:06Z", "soon", "13.5"]);
        assert_eq!((times.seconds[0], times.seconds[3]), (12.5, 13.5));
        assert!(times.seconds[1].is_nan() && times.seconds[2].is_nan());
        assert_eq!(times.unreadable.as_deref(), Some("2025-03-09T14:05:06Z"));
    }

    #[test]
    fn what_is_no_time_is_none() {
        for text in [
            "24:00:00",
            "12:60:00",
            "12:00:61",
            "12:00",
            "12:00:00.",
            "1:2:3:4",
            "-1:00:00",
            "2025-03-09",
            "2025-13-09T00:00:00",
            "2025-02-30T00:00:00Z",
            "09/03/2025 14:05:06",
            "NaN",
            "inf",
            "12:00:+5",
            "12:00:0x",
        ] {
            assert_eq!(parse(text), None, "{text}");
        }
    }

    #[test]
    fn a_unit_does_not_go_with_dates() {
        let array: ArrayRef = Arc::new(StringArray::from(vec!["14:05:06"]));
        let entry = Entry {
            unit: Some("ms".to_owned()),
            ..Entry::as_is("T")
        };
        let fault = Times::default().read(&array, &entry).expect_err("refused");
        assert!(fault.contains("needs no unit `ms`"), "{fault}");
    }

    #[test]
    fn columns_that_are_times_by_their_type() {
        let micro = TimestampMicrosecondArray::from(vec![1_500_000, 2_000_000]);
        assert_eq!(read(Arc::new(micro)).seconds, [1.5, 2.0]);
        let duration = read(Arc::new(DurationMillisecondArray::from(vec![250, 500])));
        assert_eq!(
            (duration.form, duration.seconds),
            (Some(Form::Count), vec![0.25, 0.5])
        );
        let clock = read(Arc::new(Time32SecondArray::from(vec![86_399, 0])));
        assert_eq!(clock.unrolled(), [86_399.0, 86_400.0]);
        let clock = read(Arc::new(Time64MicrosecondArray::from(vec![
            Some(500_000),
            None,
        ])));
        assert_eq!(clock.seconds[0], 0.5);
        assert!(clock.seconds[1].is_nan());
        let dictionary: DictionaryArray<Int32Type> =
            vec!["00:00:01", "00:00:02"].into_iter().collect();
        assert_eq!(read(Arc::new(dictionary)).seconds, [1.0, 2.0]);
    }
}
