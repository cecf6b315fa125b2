//! What is new, gone or changed since the review before, for the report.

use report::input::{
    Against, AgainstCause, AgainstKind, AgainstLine, AgainstMark, AgainstSide, SettingChange,
};
use rules::against::{AgainstRow, UNCHANGED};
use rules::summarise::{FEW_DAYS, FEW_FLIGHTS, GIVES_AWAY};

use super::since::{family_title, titles};
use super::{FLEET, LEVELS, Subject};

/// The section; none where no review was given to compare with.
pub(super) fn section(subject: &Subject<'_>) -> Option<Against> {
    let compared = subject.against?;
    let given = |value: Option<&serde_json::Value>| {
        value.map_or_else(|| "not set".to_owned(), ToString::to_string)
    };
    let (unchanged, lines): (Vec<&AgainstRow>, Vec<&AgainstRow>) =
        compared.rows.iter().partition(|row| row.mark == UNCHANGED);
    Some(Against {
        run: compared.run,
        month: compared.month.clone(),
        lines: lines.into_iter().map(|row| line(subject, row)).collect(),
        unchanged: unchanged.len() as u64,
        settings: compared
            .settings
            .iter()
            .map(|(name, before, now)| SettingChange {
                name: name.clone(),
                before: given(before.as_ref()),
                now: given(now.as_ref()),
            })
            .collect(),
    })
}

fn line(subject: &Subject<'_>, row: &AgainstRow) -> AgainstLine {
    let level = row.at_least_level.as_deref();
    let side = |flag: &Option<String>, why_not: &Option<String>, rate, slope| AgainstSide {
        flag: flag.clone(),
        why_not: why_not.as_deref().map(reason),
        rate_per_1000: rate,
        slope_pct_per_month: slope,
    };
    AgainstLine {
        mark: match row.mark.as_str() {
            "new" => AgainstMark::New,
            "gone" => AgainstMark::Gone,
            _ => AgainstMark::Changed,
        },
        kind: match row.kind.as_str() {
            "month" => AgainstKind::Month,
            "slope" => AgainstKind::Slope,
            "place" => AgainstKind::Place,
            "topic" => AgainstKind::Topic,
            _ => AgainstKind::Intervention,
        },
        title: title(subject, row),
        level: level.and_then(|level| {
            let mut levels = LEVELS.iter();
            levels
                .find(|(name, _)| *name == level)
                .map(|(_, level)| *level)
        }),
        group: group(row),
        before: side(
            &row.flag_before,
            &row.why_not_before,
            row.rate_per_1000_before,
            row.slope_pct_per_month_before,
        ),
        now: side(
            &row.flag_now,
            &row.why_not_now,
            row.rate_per_1000_now,
            row.slope_pct_per_month_now,
        ),
        causes: causes(row.cause.as_deref()),
    }
}

/// Why there is no flag; a reason to withhold says that it is one.
fn reason(why: &str) -> String {
    match why {
        FEW_FLIGHTS | FEW_DAYS | GIVES_AWAY => format!("withheld, {why}"),
        _ => why.to_owned(),
    }
}

/// Title of the rule, name of the family, or the topic; with the change it is about, if any.
fn title(subject: &Subject<'_>, row: &AgainstRow) -> String {
    let name = match (&row.rule, &row.topic, &row.family) {
        (Some(rule), ..) => titles(subject)
            .get(rule.as_str())
            .map_or_else(|| rule.clone(), |title| (*title).to_owned()),
        (None, Some(topic), _) => topic.clone(),
        (None, None, family) => family_title(family.as_deref().unwrap_or_default()),
    };
    match (&row.intervention, &row.intervention_month) {
        (Some(what), Some(month)) => format!("{name}, {what} ({month})"),
        _ => name,
    }
}

fn group(row: &AgainstRow) -> String {
    match row.group_kind.as_str() {
        FLEET => "whole fleet".to_owned(),
        "aircraft_type" => format!("type {}", row.group),
        "airport" => format!("airport {}", row.group),
        "runway" => format!("runway {}", row.group),
        _ => row.group.clone(),
    }
}

/// The causes that are known.
fn causes(text: Option<&str>) -> Vec<AgainstCause> {
    let named = text.unwrap_or_default().split("; ");
    named
        .filter_map(|name| match name {
            "data" => Some(AgainstCause::Data),
            "rules" => Some(AgainstCause::Rules),
            "flying" => Some(AgainstCause::Flying),
            "program" => Some(AgainstCause::Program),
            _ => None,
        })
        .collect()
}
