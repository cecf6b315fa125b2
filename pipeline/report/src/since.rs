//! Changes made on purpose, second looks, and figures that are no longer what they were.

use crate::input::{ChangeLine, RecoveryLine, ReportInput, Restated, RestatedLine, Signal};
use crate::words;
use serde::Serialize;

/// The section.
#[derive(Debug, Serialize)]
pub(crate) struct SinceView<'a> {
    changes: Vec<ChangeRow<'a>>,
    second_look: String,
    restated: String,
    restated_rows: Vec<RestatedRow<'a>>,
}

#[derive(Debug, Serialize)]
struct ChangeRow<'a> {
    change: &'a str,
    month: &'a str,
    title: &'a str,
    planned: bool,
    /// Why nothing is shown; empty where something is.
    hidden: String,
    before: String,
    after: String,
    counts_before: String,
    counts_after: String,
    ratio: String,
    signal: &'static str,
    flagged: bool,
    remark: String,
}

#[derive(Debug, Serialize)]
struct RestatedRow<'a> {
    month: &'a str,
    title: &'a str,
    /// Why nothing is shown; empty where something is.
    hidden: String,
    evaluable: String,
    with_event: String,
    rate: String,
    cause: &'a str,
}

/// One month of flights flown and received.
#[derive(Debug, Serialize)]
pub(crate) struct RecoveryRow<'a> {
    month: &'a str,
    /// Why nothing is shown; empty where something is.
    hidden: String,
    flown: String,
    received: String,
    usable: String,
    share: String,
    usable_share: String,
    note: &'a str,
}

/// Builds the section.
pub(crate) fn build(input: &ReportInput) -> SinceView<'_> {
    let look = &input.second_look;
    let second_look = match (look.listed, look.looked_at) {
        (0, _) => "No event asks for a second look.".to_owned(),
        (listed, looked_at) => format!(
            "{} to be looked at by a person, {}: every event of the highest level, and examples \
             of what is flagged. They are in restricted/tables/second_look; what is made of them goes into \
             verdicts.csv.",
            if listed == 1 {
                "One event is".to_owned()
            } else {
                format!("{} events are", words::count(listed))
            },
            match looked_at {
                0 => "none so far".to_owned(),
                some => format!("{} of them done", words::count(some)),
            },
        ),
    };
    let (restated, restated_rows) = restated(&input.restated);
    SinceView {
        changes: input.changes.iter().map(change).collect(),
        second_look,
        restated,
        restated_rows,
    }
}

fn change(line: &ChangeLine) -> ChangeRow<'_> {
    let number = |value: Option<f64>, words: fn(f64) -> String| {
        value.map_or_else(|| words::NOT_KNOWN.to_owned(), words)
    };
    let between = line.ratio_low.zip(line.ratio_high).map(|(low, high)| {
        format!(
            " ({} to {})",
            words::decimals(low, 2),
            words::decimals(high, 2)
        )
    });
    let of = |counts: Option<(u64, u64)>| match counts {
        Some((part, whole)) => format!("{} of {}", words::count(part), words::count(whole)),
        None => String::new(),
    };
    let rise = line.detectable_rise_pct.map(|rise| {
        format!(
            "a rise of {} % would probably have been seen",
            words::decimals(rise, 0)
        )
    });
    let is_flagged = matches!(line.signal, Signal::Higher | Signal::Lower);
    let remark = [line.why.clone(), rise.filter(|_| !is_flagged)];
    ChangeRow {
        change: &line.change,
        month: &line.month,
        title: &line.title,
        planned: line.planned,
        hidden: line
            .suppressed
            .as_ref()
            .map(words::suppression)
            .unwrap_or_default(),
        counts_before: of(line.counts_before),
        counts_after: of(line.counts_after),
        before: number(line.before, words::rate),
        after: number(line.after, words::rate),
        ratio: match line.ratio {
            Some(ratio) => words::decimals(ratio, 2) + &between.unwrap_or_default(),
            None => words::NOT_KNOWN.to_owned(),
        },
        signal: words::signal(line.signal),
        flagged: is_flagged,
        remark: remark.into_iter().flatten().collect::<Vec<_>>().join("; "),
    }
}

fn restated(input: &Restated) -> (String, Vec<RestatedRow<'_>>) {
    match input {
        Restated::NothingBefore => (
            "There is no review of an earlier month to compare with.".to_owned(),
            Vec::new(),
        ),
        Restated::Unreadable => (
            "The review before can no longer be read: what changed since cannot be told."
                .to_owned(),
            Vec::new(),
        ),
        Restated::Since { run, month, lines } => {
            let review = match month {
                Some(month) => format!("the review of {month} (run {run})"),
                None => format!("the review before (run {run})"),
            };
            let text = if lines.is_empty() {
                format!("No figure of {review} has changed.")
            } else {
                format!("Figures of {review} that are others now:")
            };
            (text, lines.iter().map(restated_row).collect())
        }
    }
}

fn restated_row(line: &RestatedLine) -> RestatedRow<'_> {
    let counts = |pair: Option<(u64, u64)>| match pair {
        Some((before, now)) => format!("{} → {}", words::count(before), words::count(now)),
        None => words::NOT_KNOWN.to_owned(),
    };
    let rate = |value: Option<f64>| value.map_or_else(|| words::NOT_KNOWN.to_owned(), words::rate);
    RestatedRow {
        month: &line.month,
        title: &line.title,
        hidden: line
            .suppressed
            .as_ref()
            .map(words::suppression)
            .unwrap_or_default(),
        evaluable: counts(line.evaluable),
        with_event: counts(line.with_event),
        rate: format!("{} → {}", rate(line.rate.0), rate(line.rate.1)),
        cause: &line.cause,
    }
}

/// Builds the months of flights flown and received.
pub(crate) fn recovery(lines: &[RecoveryLine]) -> Vec<RecoveryRow<'_>> {
    lines.iter().map(recovery_row).collect()
}

fn recovery_row(line: &RecoveryLine) -> RecoveryRow<'_> {
    let percent =
        |share: Option<f64>| share.map_or_else(|| words::NOT_KNOWN.to_owned(), words::percent);
    RecoveryRow {
        month: &line.month,
        hidden: line
            .suppressed
            .as_ref()
            .map(words::suppression)
            .unwrap_or_default(),
        flown: words::count_or_unknown(line.flown),
        received: words::count_or_unknown(line.received),
        usable: words::count_or_unknown(line.usable),
        share: percent(line.share),
        usable_share: percent(line.usable_share),
        note: line.note.as_deref().unwrap_or_default(),
    }
}
