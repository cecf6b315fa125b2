//! Days as people write them, to be cut to the month or replaced by a keyed hash.

use super::forms::has_date;

const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];

/// A calendar day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Day {
    year: u32,
    month: u32,
    day: u32,
}

impl Day {
    /// Reads `2025-03-04` (also with `/`, `.` or nothing between, and a time of day after it),
    /// `4.3.2025`, `4-Mar-2025`, `Mar 4, 2025`; and `25/03/2025` where only one order is possible.
    /// None where it is no day, or could be two.
    pub(super) fn read(text: &str) -> Option<Self> {
        let (date, time) = text.trim().split_once('T').unwrap_or((text.trim(), ""));
        let (date, time) = match date.split_once(' ') {
            Some((first, rest)) if time.is_empty() && rest.contains(':') => (first, rest),
            _ => (date, time),
        };
        if !time.is_empty() && !time.starts_with(|c: char| c.is_ascii_digit()) {
            return None;
        }
        if date.len() == 8 && date.bytes().all(|b| b.is_ascii_digit()) {
            return Self::of(&date[..4], &date[4..6], &date[6..]);
        }
        let dotted = date.contains('.');
        let parts: Vec<&str> = date
            .split(['-', '/', '.', ' ', ','])
            .filter(|part| !part.is_empty())
            .collect();
        let [a, b, c] = parts[..] else { return None };
        let month_of = |word: &str| {
            let start = word.get(..3)?.to_lowercase();
            let at = MONTHS.iter().position(|month| *month == start)?;
            (word.chars().all(char::is_alphabetic)).then(|| (at + 1).to_string())
        };
        if let Some(month) = month_of(b) {
            return Self::of(c, &month, a);
        }
        if let Some(month) = month_of(a) {
            return Self::of(c, &month, b);
        }
        if a.len() == 4 {
            return Self::of(a, b, c);
        }
        let (day_first, month_first) = (Self::of(c, b, a), Self::of(c, a, b));
        match (day_first, month_first) {
            (Some(day), _) if dotted => Some(day),
            (Some(day), None) | (None, Some(day)) => Some(day),
            (Some(one), Some(other)) if one == other => Some(one),
            _ => None,
        }
    }

    fn of(year: &str, month: &str, day: &str) -> Option<Self> {
        let number = |text: &str, most: usize| {
            let digits = text.len() <= most && text.bytes().all(|b| b.is_ascii_digit());
            digits.then(|| text.parse::<u32>().ok()).flatten()
        };
        let read = Self {
            year: number(year, 4)?,
            month: number(month, 2)?,
            day: number(day, 2)?,
        };
        let leap = read.year.is_multiple_of(4)
            && (!read.year.is_multiple_of(100) || read.year.is_multiple_of(400));
        let days = match read.month {
            2 if leap => 29,
            2 => 28,
            4 | 6 | 9 | 11 => 30,
            1..=12 => 31,
            _ => return None,
        };
        ((1900..2100).contains(&read.year) && (1..=days).contains(&read.day)).then_some(read)
    }

    /// `YYYY-MM`.
    pub(super) fn month(self) -> String {
        format!("{:04}-{:02}", self.year, self.month)
    }

    /// `YYYY-MM-DD`: one writing for one day, for hashing.
    pub(super) fn iso(self) -> String {
        format!("{}-{:02}", self.month(), self.day)
    }
}

/// Digits of a date, or of a count of days or seconds, are no more than this.
const DATE_DIGITS: usize = 10;

/// Whether a day key gives the day away: a date in it, or nothing but a few digits, which may be a
/// date or a count of days in any order.
pub(super) fn tells_the_day(key: &str) -> bool {
    let digits = key.chars().filter(char::is_ascii_digit).count();
    let bare = digits > 0 && digits <= DATE_DIGITS && !key.chars().any(char::is_alphabetic);
    bare || has_date(key) || Day::read(key).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_read_in_the_usual_writings_and_never_guessed() {
        let usual = "2025-03-04|2025/3/4|2025.03.04|20250304|2025-03-04T10:22:00Z|4.3.2025|\
                     2025-03-04 10:22|4 Mar 2025|04-MAR-2025|March 4, 2025";
        for text in usual.split('|') {
            let day = Day::read(text).map(Day::iso);
            assert_eq!(day.as_deref(), Some("2025-03-04"), "{text}");
        }
        let one_way = Day::read("25/03/2025").map(Day::iso);
        assert_eq!(one_way.as_deref(), Some("2025-03-25"));
        assert_eq!(Day::read("03/25/2025").map(Day::iso), one_way);
        assert_eq!(
            Day::read("05/05/2025").map(Day::month).as_deref(),
            Some("2025-05")
        );
        for text in [
            "03/04/2025",
            "2025-02-30",
            "2025-03",
            "d41",
            "",
            "Mar",
            "99999999",
            "é-ü-ö",
        ] {
            assert_eq!(Day::read(text), None, "{text}");
        }
    }

    #[test]
    fn keys_that_give_the_day_away_are_told_from_opaque_ones() {
        for key in [
            "2025-03-04",
            "day-2025-03-04",
            "04/03/25",
            "20153",
            "2025-063",
            "4 Mar 2025",
        ] {
            assert!(tells_the_day(key), "{key}");
        }
        for key in ["d41", "3f9a02c4417b", "018273645546", "e1988e5f1e0b77d2"] {
            assert!(!tells_the_day(key), "{key}");
        }
    }
}
