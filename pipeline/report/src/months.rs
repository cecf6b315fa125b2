//! Calendar months: `YYYY-MM` as a number that can be counted on.

/// Months since year 0, or `None` if `text` is not `YYYY-MM`.
pub(crate) fn parse(text: &str) -> Option<i32> {
    let (year, month) = text.split_once('-')?;
    let digits = |part: &str, len| part.len() == len && part.bytes().all(|b| b.is_ascii_digit());
    if !digits(year, 4) || !digits(month, 2) {
        return None;
    }
    let (year, month): (i32, i32) = (year.parse().ok()?, month.parse().ok()?);
    (1..=12).contains(&month).then_some(year * 12 + month - 1)
}

/// Three letters of the month's name.
pub(crate) fn short_name(month: i32) -> &'static str {
    const NAMES: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    NAMES[month.rem_euclid(12) as usize]
}

/// The year a month lies in.
pub(crate) fn year(month: i32) -> i32 {
    month.div_euclid(12)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_calendar_months_are_read() {
        assert_eq!(parse("2026-01"), Some(2026 * 12));
        assert_eq!(parse("2025-12").map(|m| m + 1), parse("2026-01"));
        for bad in [
            "2026-13", "2026-00", "2026-1", "26-01", "2026", "+026-01", "",
        ] {
            assert_eq!(parse(bad), None, "{bad}");
        }
        assert_eq!(short_name(2026 * 12 + 2), "Mar");
        assert_eq!(year(2026 * 12 + 11), 2026);
    }
}
