//! Cells of the flight list and its sister tables; a fault says what was found and expected.

use super::dates::Day;
use super::forms::form;

/// A cell as it may be shown; a name or date in the wrong column is not repeated.
fn shown(text: &str) -> String {
    match form(text) {
        Some(identity) => format!("something that looks like {}", identity.as_str()),
        None => format!("`{text}`"),
    }
}

/// Whether a text is `YYYY-MM`.
fn is_month(text: &str) -> bool {
    let digits = |part: &str, n: usize| part.len() == n && part.bytes().all(|b| b.is_ascii_digit());
    text.split_once('-').is_some_and(|(year, month)| {
        digits(year, 4) && digits(month, 2) && ("01"..="12").contains(&month)
    })
}

/// `YYYY-MM`; a full date is cut to that, which the second value says.
pub(super) fn month(text: &str) -> Result<(String, bool), String> {
    if is_month(text) {
        return Ok((text.to_owned(), false));
    }
    match Day::read(text) {
        Some(day) => Ok((day.month(), true)),
        None => Err(format!("month is {}, expected YYYY-MM", shown(text))),
    }
}

/// The day of a `date` cell.
pub(super) fn date(text: &str) -> Result<Day, String> {
    // What cannot be read may be a date all the same: it is not shown.
    Day::read(text).ok_or_else(|| {
        "date is no day that can be read in one way only, expected YYYY-MM-DD".to_owned()
    })
}

/// `line`, `training` or `positioning`.
pub(super) fn purpose(text: &str) -> Result<String, String> {
    match text {
        "line" | "training" | "positioning" => Ok(text.to_owned()),
        _ => Err(format!(
            "flight_purpose is {}, expected line, training or positioning; counts as a line flight",
            shown(text)
        )),
    }
}

/// A number in a range, both ends included.
pub(super) fn number(name: &str, text: &str, low: f64, high: f64) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if (low..=high).contains(&value) => Ok(value),
        _ => Err(format!(
            "{name} is {}, expected a number from {low} to {high}",
            shown(text)
        )),
    }
}
