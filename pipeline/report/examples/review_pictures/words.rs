//! Figures as words.

/// 1234.56 with one place is "1,234.6"; the sign of a negative one is a minus, not a hyphen.
pub(crate) fn decimals(value: f64, places: usize) -> String {
    let text = format!("{:.places$}", value.abs());
    let (whole, rest) = match text.split_once('.') {
        Some((whole, rest)) => (whole.to_owned(), format!(".{rest}")),
        None => (text.clone(), String::new()),
    };
    let mut grouped = String::new();
    for (k, digit) in whole.chars().enumerate() {
        if k > 0 && (whole.len() - k).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    let zero = text.chars().all(|c| matches!(c, '0' | '.'));
    let sign = if value < 0.0 && !zero { "\u{2212}" } else { "" };
    format!("{sign}{grouped}{rest}")
}

/// "20nm" as "20 NM", "1000ft" as "1,000 ft".
pub(crate) fn checkpoint(name: &str) -> String {
    let number = |text: &str| {
        text.parse()
            .map_or_else(|_| text.to_owned(), |v| decimals(v, 0))
    };
    if let Some(nm) = name.strip_suffix("nm") {
        format!("{} NM", number(nm))
    } else if let Some(ft) = name.strip_suffix("ft") {
        format!("{} ft", number(ft))
    } else {
        name.to_owned()
    }
}
