//! Months as numbers, and what that allows to compare.

use stats::{Period, Season};

/// Months in a year.
const YEAR: i32 = 12;
/// From so many months on, a season is told from a trend.
const MONTHS_FOR_SEASON: i32 = 24;

/// Number of a month `YYYY-MM`, one more for each month; none for what is no month.
pub(super) fn index(month: &str) -> Option<i32> {
    let (year, month) = month.split_once('-')?;
    Some(year.parse::<i32>().ok()? * YEAR + month.parse::<i32>().ok()? - 1)
}

/// Whether a series is long enough to take the season out of its trend.
pub(super) fn season(series: &[Period]) -> Season {
    let used = || {
        let held = series
            .iter()
            .filter(|period| period.counted.evaluable > 0.0);
        held.map(|period| period.index)
    };
    match (used().min(), used().max()) {
        (Some(first), Some(last)) if last - first + 1 >= MONTHS_FOR_SEASON => Season::Yearly,
        _ => Season::Ignored,
    }
}

/// Distances, in months, of the months of the same season in earlier years.
pub(super) fn same_season(lag: i32) -> bool {
    lag >= YEAR - 1 && matches!(lag % YEAR, 0 | 1 | 11) && lag <= 3 * YEAR + 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn months_count_up_through_the_years_and_seasons_come_back() {
        assert_eq!(index("2025-12").unwrap() + 1, index("2026-01").unwrap());
        assert_eq!(index("unknown"), None);
        let lags: Vec<i32> = (1..60).filter(|lag| same_season(*lag)).collect();
        assert_eq!(lags, [11, 12, 13, 23, 24, 25, 35, 36, 37]);
    }
}
