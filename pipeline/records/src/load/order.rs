//! Brings the rows of a record into the order of their times.
//!
//! The time of a row says where it belongs, so blocks that were written out of order go back to
//! their places, and rows that came twice count once. What is left over cannot be placed: rows
//! without a time, and rows that tell another story of a moment that is told already.

use super::Fault;

/// Rows that cannot be placed are dropped and counted; with more of them the record is refused.
const MAX_BAD_SHARE: f64 = 0.05;
/// No flight lasts longer: a time this far from the middle of the record is not a time.
const FLIGHT_S: f64 = 86_400.0;
/// A record whose rows stand closer than this share of their usual spacing, once sorted, holds two
/// runs of one clock, not one run out of order.
const SPACING_SHARE: f64 = 0.75;

/// Rows in the order of their times, each time once, and what was done to get there.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Order {
    pub(super) rows: Vec<usize>,
    /// In words, one entry a kind of fault.
    pub(super) notes: Vec<String>,
}

/// The order of the rows; `same` says whether two rows hold the same values.
///
/// # Errors
/// When no row has a time, or too many cannot be placed.
pub(super) fn order(time_s: &[f64], same: impl Fn(usize, usize) -> bool) -> Result<Order, Fault> {
    let mut rows: Vec<usize> = (0..time_s.len())
        .filter(|&row| time_s[row].is_finite())
        .collect();
    if rows.is_empty() {
        let detail = "no row has a time; check the time column";
        return Err(Fault::new("no usable time", detail));
    }
    if rows.len() == time_s.len() && increasing(time_s, &rows) && !far(time_s, &rows) {
        let notes = Vec::new();
        return Ok(Order { rows, notes });
    }
    let spacing_s = median_step_s(time_s, &rows);
    let middle_s = {
        let mut times: Vec<f64> = rows.iter().map(|&row| time_s[row]).collect();
        let middle = times.len() / 2;
        *times.select_nth_unstable_by(middle, f64::total_cmp).1
    };
    rows.retain(|&row| (time_s[row] - middle_s).abs() <= FLIGHT_S);
    let mut bad = time_s.len() - rows.len();
    let mut first_bad = (0..time_s.len())
        .find(|row| !time_s[*row].is_finite() || (time_s[*row] - middle_s).abs() > FLIGHT_S);
    let behind = moved(time_s, &rows);
    // Stable: of two rows of one moment the one that came first stays first.
    rows.sort_by(|&a, &b| time_s[a].total_cmp(&time_s[b]));
    let mut repeated = 0;
    let mut placed: Vec<usize> = Vec::with_capacity(rows.len());
    for row in rows {
        match placed.last() {
            Some(&before) if time_s[before] == time_s[row] => {
                if same(before, row) {
                    repeated += 1;
                } else {
                    bad += 1;
                    first_bad = Some(first_bad.map_or(row, |first: usize| first.min(row)));
                }
            }
            _ => placed.push(row),
        }
    }
    if bad as f64 > MAX_BAD_SHARE * time_s.len() as f64 {
        let detail = format!(
            "{bad} of {} rows have a time that is missing, or that an earlier row with other \
             values has too, the first is row {}; write one row a moment",
            time_s.len(),
            first_bad.map_or(0, |row| row + 1)
        );
        return Err(Fault::new("time does not increase", detail));
    }
    if behind > 0 && median_step_s(time_s, &placed) < SPACING_SHARE * spacing_s {
        let detail = format!(
            "{behind} of {} rows have a time before that of the row above, and sorted they stand \
             closer than before: the clock seems to have started again; write one flight a record",
            time_s.len()
        );
        return Err(Fault::new("time does not increase", detail));
    }
    let mut notes = Vec::new();
    if bad > 0 {
        notes.push(format!(
            "{bad} rows with missing time, or other values for a moment that is there, dropped"
        ));
    }
    if repeated > 0 {
        notes.push(format!("{repeated} repeated rows dropped"));
    }
    if behind > 0 {
        notes.push(format!("{behind} rows out of order put in their places"));
    }
    Ok(Order {
        rows: placed,
        notes,
    })
}

fn increasing(time_s: &[f64], rows: &[usize]) -> bool {
    rows.windows(2)
        .all(|pair| time_s[pair[0]] < time_s[pair[1]])
}

/// Whether the last row of an increasing record may lie a flight away from its middle.
fn far(time_s: &[f64], rows: &[usize]) -> bool {
    match (rows.first(), rows.last()) {
        (Some(&first), Some(&last)) => time_s[last] - time_s[first] > FLIGHT_S,
        _ => false,
    }
}

/// Rows whose time is before one that stands above them.
fn moved(time_s: &[f64], rows: &[usize]) -> usize {
    let mut latest_s = f64::NEG_INFINITY;
    let mut behind = 0;
    for &row in rows {
        if time_s[row] < latest_s {
            behind += 1;
        }
        latest_s = latest_s.max(time_s[row]);
    }
    behind
}

/// Median of the steps forward.
fn median_step_s(time_s: &[f64], rows: &[usize]) -> f64 {
    let mut steps: Vec<f64> = rows
        .windows(2)
        .map(|pair| time_s[pair[1]] - time_s[pair[0]])
        .filter(|step| *step > 0.0)
        .collect();
    if steps.is_empty() {
        return 0.0;
    }
    let middle = steps.len() / 2;
    *steps.select_nth_unstable_by(middle, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sorted(time_s: &[f64], value: &[f64]) -> Result<(Vec<usize>, Vec<String>), String> {
        order(time_s, |a, b| value[a] == value[b])
            .map(|order| (order.rows, order.notes))
            .map_err(|fault| fault.detail)
    }

    fn seconds(n: usize) -> Vec<f64> {
        (0..n).map(|t| t as f64).collect()
    }

    #[test]
    fn rows_in_order_need_nothing() {
        let time = seconds(100);
        assert_eq!(sorted(&time, &time), Ok(((0..100).collect(), vec![])));
    }

    #[test]
    fn blocks_out_of_order_go_back_to_their_places() {
        let mut time = seconds(100);
        time[20..60].rotate_left(25);
        let (rows, notes) = sorted(&time, &time).unwrap();
        assert!(increasing(&time, &rows));
        assert_eq!(rows.len(), 100);
        // The block of 25 s that was written after the later 15 s.
        assert_eq!(notes, ["25 rows out of order put in their places"]);
    }

    #[test]
    fn rows_that_came_twice_count_once_however_many_they_are() {
        let mut time = seconds(60);
        time.extend((20..60).map(f64::from));
        // The row of 20 s that stands first is the one written first; the last is in its place.
        let (rows, notes) = sorted(&time, &time).unwrap();
        assert_eq!(rows, (0..60).collect::<Vec<_>>());
        assert_eq!(
            notes,
            [
                "40 repeated rows dropped",
                "39 rows out of order put in their places"
            ]
        );
    }

    #[test]
    fn other_values_for_the_same_moments_refuse_the_record() {
        // A clock that starts again: the second half tells another story of the same minute.
        let time: Vec<f64> = seconds(60).into_iter().chain(seconds(60)).collect();
        let value = seconds(120);
        let detail = sorted(&time, &value).unwrap_err();
        assert!(detail.starts_with("60 of 120 rows"), "{detail}");
        assert!(detail.contains("the first is row 61"), "{detail}");
        // Two of them in a hundred are dropped.
        let mut time = seconds(100);
        (time[50], time[70]) = (49.0, f64::NAN);
        let (rows, notes) = sorted(&time, &seconds(100)).unwrap();
        assert_eq!(rows.len(), 98);
        assert_eq!(
            notes,
            ["2 rows with missing time, or other values for a moment that is there, dropped"]
        );
    }

    #[test]
    fn a_clock_that_starts_again_between_its_ticks_is_found_out() {
        let halves = seconds(60).into_iter().map(|t| t + 0.5);
        let time: Vec<f64> = seconds(60).into_iter().chain(halves).collect();
        let detail = sorted(&time, &seconds(120)).unwrap_err();
        assert!(detail.contains("the clock seems to have started again"));
    }

    #[test]
    fn a_time_that_no_flight_reaches_is_no_time() {
        let mut time = seconds(100);
        time[40] = 4.0e9;
        let (rows, notes) = sorted(&time, &time).unwrap();
        assert_eq!((rows.len(), notes.len()), (99, 1));
    }
}
