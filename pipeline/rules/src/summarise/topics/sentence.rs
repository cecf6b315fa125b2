//! A topic in words that an instructor can read out.

use super::TopicRow;
use super::list::Topic;

/// The sentence; none where there is no rate.
pub(super) fn sentence(
    row: &TopicRow,
    topic: Option<&Topic>,
    rules: &[String],
    checkpoint_tells: bool,
) -> Option<String> {
    let (n, x) = (row.evaluable?, row.approaches_with_event?);
    let (rate, low, high) = (row.rate_per_1000?, row.ci_low?, row.ci_high?);
    let who = if row.group_kind == "fleet" {
        "the fleet".to_owned()
    } else {
        row.group.clone()
    };
    let when = match (&row.from_month, &row.to_month) {
        (Some(from), Some(to)) if from == to => format!("in {to}"),
        (Some(from), Some(to)) => format!("from {from} to {to}"),
        _ => "in all months".to_owned(),
    };
    let mut text = format!(
        "{}: {} of {} approaches of {who} {when}, {} in 1,000 (95 % interval {} to {}).",
        capital(&row.topic),
        grouped(x),
        grouped(n),
        number(rate),
        number(low),
        number(high)
    );
    if let [first, others @ ..] = rules {
        let more = if others.is_empty() {
            String::new()
        } else {
            format!(", then {}", others.join(", then "))
        };
        text.push_str(&format!(" Most often: {first}{more}."));
    }
    match (&row.change, row.ratio, row.detectable_rise_pct) {
        (Some(change), Some(ratio), _) => {
            let month = row.to_month.as_deref().unwrap_or("The latest month");
            text.push_str(&format!(
                " {month} was {change} than the months before, {ratio:.1} times their rate."
            ));
        }
        (None, _, Some(rise)) => text.push_str(&format!(
            " No change is shown for the latest month; a rise of {rise:.0} % would probably have been seen."
        )),
        _ => text.push_str(" Whether the latest month differs cannot be told."),
    }
    if let (Some(checkpoint), true) = (&row.decisive_checkpoint, checkpoint_tells) {
        text.push_str(&format!(
            " Of the checkpoints on the way in, {} is the earliest that tells the end as well as any.",
            place(checkpoint)
        ));
    }
    match row.airports.as_deref() {
        Some("") | None => {}
        Some(airports) => text.push_str(&format!(
            " It stands out at {}.",
            airports.split(' ').collect::<Vec<_>>().join(", ")
        )),
    }
    if let Some(topic) = topic {
        text.push_str(&format!(" Talk about {}.", topic.talk));
    }
    Some(text)
}

/// `10nm` as it is spoken.
fn place(checkpoint: &str) -> String {
    match (checkpoint.strip_suffix("nm"), checkpoint.strip_suffix("ft")) {
        (Some(miles), _) => format!("{miles} NM"),
        (_, Some(feet)) => format!("{feet} ft"),
        _ => checkpoint.to_owned(),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

/// 1234567 → "1,234,567", as the report writes counts.
fn grouped(count: i64) -> String {
    let digits = count.to_string();
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// Two digits that count: more would not be heard.
fn number(value: f64) -> String {
    match value {
        value if value >= 10.0 => format!("{value:.0}"),
        value => format!("{value:.1}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_checkpoint_is_named_only_where_it_tells_the_end() {
        let row = TopicRow {
            topic: "use of drag".to_owned(),
            group_kind: "fleet".to_owned(),
            evaluable: Some(1_200),
            approaches_with_event: Some(30),
            rate_per_1000: Some(25.0),
            ci_low: Some(17.0),
            ci_high: Some(36.0),
            decisive_checkpoint: Some("10nm".to_owned()),
            ..TopicRow::default()
        };
        let said = |tells| sentence(&row, None, &[], tells).unwrap();
        assert!(said(true).contains("10 NM is the earliest that tells the end as well as any."));
        assert!(!said(false).contains("10 NM"));
    }

    #[test]
    fn numbers_and_places_are_spoken_short() {
        assert_eq!(
            (number(12.34), number(2.345)),
            ("12".to_owned(), "2.3".to_owned())
        );
        assert_eq!(
            (place("10nm"), place("500ft")),
            ("10 NM".to_owned(), "500 ft".to_owned())
        );
        assert_eq!(grouped(1_234_567), "1,234,567");
        assert_eq!(grouped(12), "12");
        assert_eq!(capital("not stable"), "Not stable");
    }
}
