//! Texts that identify by their form: names, dates, registrations, flight numbers.

use super::identifying::Identity;

/// What a text, or a part of it, looks like; none where it looks opaque.
pub(super) fn form(text: &str) -> Option<Identity> {
    let parts: Vec<&str> = text
        .split([' ', '_', '.', ',', '/', '|'])
        .filter(|p| !p.is_empty())
        .collect();
    let word = |p: &&str| {
        p.len() > 1 && p.starts_with(char::is_uppercase) && p.chars().all(char::is_alphabetic)
    };
    if parts.iter().filter(|p| word(p)).count() >= 2 {
        Some(Identity::Person)
    } else if has_date(text) {
        Some(Identity::Date)
    } else if parts.iter().any(|p| is_registration(p)) {
        Some(Identity::Registration)
    } else if parts.iter().any(|p| is_flight_number(p)) {
        Some(Identity::FlightNumber)
    } else {
        None
    }
}

/// Nationality mark, hyphen, three to five characters; or N and up to five digits or letters.
fn is_registration(part: &str) -> bool {
    let part = part.to_ascii_uppercase();
    if let Some((mark, rest)) = part.split_once('-') {
        let nationality = (1..=2).contains(&mark.len())
            && mark.chars().all(|c| c.is_ascii_alphanumeric())
            && mark.chars().any(|c| c.is_ascii_uppercase());
        return nationality
            && (3..=5).contains(&rest.len())
            && rest.chars().all(|c| c.is_ascii_alphanumeric());
    }
    part.strip_prefix('N').is_some_and(|rest| {
        let digits = rest.chars().take_while(char::is_ascii_digit).count();
        let letters = rest.len() - digits;
        (1..=5).contains(&rest.len())
            && digits >= 1
            && letters <= 2
            && rest[digits..].chars().all(|c| c.is_ascii_uppercase())
    })
}

/// Two or three capitals, one to four digits, up to two capitals.
fn is_flight_number(part: &str) -> bool {
    let capitals = part.chars().take_while(char::is_ascii_uppercase).count();
    let digits = part
        .chars()
        .skip(capitals)
        .take_while(char::is_ascii_digit)
        .count();
    let rest = part.chars().skip(capitals + digits);
    (2..=3).contains(&capitals)
        && (1..=4).contains(&digits)
        && rest.clone().count() <= 2
        && rest.clone().all(|c| c.is_ascii_uppercase())
}

/// A day of this or the last century, with or without separators. Letters are none: opaque ids in
/// hexadecimal digits would be full of dates.
pub(super) fn has_date(id: &str) -> bool {
    id.split(char::is_alphabetic).any(is_dated)
}

fn is_dated(part: &str) -> bool {
    let runs: Vec<&str> = part.split(|c: char| !c.is_ascii_digit()).collect();
    let in_range =
        |text: &str, high: u32| text.parse::<u32>().is_ok_and(|n| (1..=high).contains(&n));
    let year = |text: &str| text.len() == 4 && (text.starts_with("19") || text.starts_with("20"));
    let packed = |run: &&str| {
        run.len() == 8 && year(&run[..4]) && in_range(&run[4..6], 12) && in_range(&run[6..], 31)
    };
    let spread = |three: &[&str]| {
        let (a, b, c) = (three[0], three[1], three[2]);
        let short = |text: &str| (1..=2).contains(&text.len());
        (year(a) && short(b) && short(c) && in_range(b, 12) && in_range(c, 31))
            || (year(c) && short(a) && short(b) && in_range(a, 31) && in_range(b, 31))
    };
    runs.iter().any(packed) || runs.windows(3).any(spread)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn opaque_ids_are_kept_and_identifying_ones_are_not() {
        for id in [
            "021b709f90",
            "flight-000123",
            "f000017",
            "tail-03",
            "x81",
            "7c9e-11",
            "e1988e5f1e0b77d2",
            "891c8b5f1960ee48",
        ] {
            assert!(form(id).is_none(), "{id}");
        }
        for id in [
            "F-ABCD",
            "N123AB",
            "d-aibc",
            "QX1234",
            "20210304",
            "2021-03-04",
            "4.3.2021",
        ] {
            assert!(form(id).is_some(), "{id}");
        }
        for id in ["Jane Doe", "rec_N12345_7", "QXA12T_a81f"] {
            assert!(form(id).is_some(), "{id}");
        }
    }
}
