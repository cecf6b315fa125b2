//! The hands that damage a record: each does one thing to one span of time.

use super::record::Record;

/// Moments of the undamaged flight, in the time of its record.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moments {
    /// Touchdown.
    pub(super) touchdown_s: f64,
    /// The last moment 100 ft above the ground.
    pub(super) hundred_ft_s: f64,
    /// The localizer needle comes in: 1.4 dots or less from here on, still moving.
    pub(super) intercept_s: f64,
}

impl Moments {
    pub(super) fn of(record: &mut Record) -> Self {
        let touchdown_s = record
            .cells("on_ground", 0.0, f64::INFINITY)
            .find(|(_, on)| **on == 1.0)
            .map(|(t, _)| t)
            .expect("a touchdown");
        let hundred_ft_s = record
            .cells("radio_altitude_ft", 0.0, touchdown_s)
            .filter(|(_, feet)| **feet >= 100.0)
            .map(|(t, _)| t)
            .last()
            .expect("a descent through 100 ft");
        let intercept_s = record
            .cells("localizer_dev_dots", 0.0, touchdown_s)
            .filter(|(_, dots)| dots.abs() > 1.4)
            .map(|(t, _)| t)
            .last()
            .expect("an intercept");
        Self {
            touchdown_s,
            hundred_ft_s,
            intercept_s,
        }
    }
}

/// Adds to the first `samples` known samples from that moment.
pub(super) fn add(record: &mut Record, name: &str, from_s: f64, samples: usize, by: &[f64]) {
    let cells = record.cells(name, from_s, f64::INFINITY).take(samples);
    for ((_, value), by) in cells.zip(by.iter().cycle()) {
        *value += by;
    }
}

/// Every known sample of a span takes this value.
pub(super) fn set(record: &mut Record, name: &str, (from_s, to_s): (f64, f64), to: f64) {
    for (_, value) in record.cells(name, from_s, to_s) {
        *value = to;
    }
}

/// Every known sample of a span takes the value of the first.
pub(super) fn hold(record: &mut Record, name: &str, (from_s, to_s): (f64, f64)) {
    let first = record.cells(name, from_s, to_s).next().map(|cell| *cell.1);
    if let Some(first) = first {
        set(record, name, (from_s, to_s), first);
    }
}

/// The channel says in a span what it said some time before.
pub(super) fn repeat_earlier(
    record: &mut Record,
    name: &str,
    (from_s, to_s): (f64, f64),
    by_s: f64,
) {
    let earlier: Vec<f64> = record
        .cells(name, from_s - by_s, to_s - by_s)
        .map(|cell| *cell.1)
        .collect();
    for ((_, value), earlier) in record.cells(name, from_s, to_s).zip(earlier) {
        *value = earlier;
    }
}

/// Rows stay, with nothing in them but their time.
pub(super) fn silence(record: &mut Record, (from_s, to_s): (f64, f64)) {
    for row in record.rows(from_s, to_s) {
        for column in record.columns.values_mut() {
            column[row] = None;
        }
    }
}

/// Rows of a span are gone.
pub(super) fn drop_rows(record: &mut Record, (from_s, to_s): (f64, f64)) {
    let gone = record.rows(from_s, to_s);
    let kept: Vec<usize> = (0..record.time_s.len())
        .filter(|row| !gone.contains(row))
        .collect();
    record.take(&kept);
}

/// Rows of a span come again, each behind itself or all at the end of the record.
pub(super) fn repeat_rows(record: &mut Record, (from_s, to_s): (f64, f64), at_the_end: bool) {
    let again = record.rows(from_s, to_s);
    let mut rows: Vec<usize> = (0..record.time_s.len()).collect();
    rows.extend(&again);
    if !at_the_end {
        rows.sort_unstable();
    }
    record.take(&rows);
}

/// Rows of a span stand in the opposite order.
pub(super) fn reverse_rows(record: &mut Record, (from_s, to_s): (f64, f64)) {
    let span = record.rows(from_s, to_s);
    let mut rows: Vec<usize> = (0..record.time_s.len()).collect();
    for (&row, &other) in span.iter().zip(span.iter().rev()) {
        rows[row] = other;
    }
    record.take(&rows);
}
