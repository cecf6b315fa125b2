//! Overrides: known limits, and never two that could both win.

use super::check::Checker;
use super::checked::Override;
use super::raw::{RawOverride, RawRule};
use super::reader::Text;
use crate::expression::nearest;

/// Reads the overrides, in file order.
pub(super) fn overrides(checker: &mut Checker<'_>, raw: &RawRule) -> Vec<Override> {
    let checked: Vec<_> = raw.overrides.iter().map(|one| read(checker, one)).collect();
    for (at, (one, current)) in raw.overrides.iter().zip(&checked).enumerate() {
        if current.specificity() == 0 {
            let message = "the override names no type and no place".to_owned();
            checker.reader.note(one.span.clone(), message, "in here").help = Some(
                "add aircraft_type, airport, or airport and runway; a number for all belongs under \
                 [limits]"
                    .to_owned(),
            );
        } else if current.runway.is_some() && current.airport.is_none() {
            let span = one
                .runway
                .as_ref()
                .map_or(one.span.clone(), |runway| runway.span.clone());
            let message = "a runway without its airport".to_owned();
            checker.reader.note(span, message, "which field?").help =
                Some("add `airport = …`".to_owned());
        } else if let Some((earlier, limit)) = tie(&checked, at) {
            let both = keys(&joined(earlier, current));
            let message = format!(
                "the overrides of `{limit}` for {} and for {} tie",
                keys(earlier),
                keys(current),
            );
            checker
                .reader
                .note(one.span.clone(), message, "equally specific")
                .help = Some(if both == keys(current) {
                "leave one of the two out".to_owned()
            } else {
                format!("add an override for {both}, or name more in one of the two")
            });
        }
    }
    checked
}

fn read(checker: &mut Checker<'_>, raw: &RawOverride) -> Override {
    for (name, _) in &raw.limits {
        if checker.limits.contains_key(&name.value) {
            continue;
        }
        let message = format!("override of an unknown limit `{}`", name.value);
        let help = nearest(&name.value, checker.limits.keys().map(String::as_str)).map_or_else(
            || format!("add `{} = …` under [limits]", name.value),
            |near| format!("did you mean `{near}`?"),
        );
        checker
            .reader
            .note(name.span.clone(), message, "not under [limits]")
            .help = Some(help);
    }
    let value = |text: &Option<Text>| text.as_ref().map(|text| text.value.clone());
    Override {
        aircraft_type: value(&raw.aircraft_type),
        airport: value(&raw.airport),
        runway: value(&raw.runway),
        limits: raw
            .limits
            .iter()
            .map(|(name, number)| (name.value.clone(), number.value))
            .collect(),
        why: value(&raw.why).unwrap_or_default(),
    }
}

/// An earlier override that is as specific as the one at `at`, can match the same approach and
/// sets the same limit, which no more specific override settles.
fn tie(all: &[Override], at: usize) -> Option<(&Override, &str)> {
    let current = &all[at];
    all[..at].iter().find_map(|one| {
        let pairs = || one.keys().into_iter().zip(current.keys());
        let together = pairs().all(|((_, a), (_, b))| a.is_none() || b.is_none() || a == b);
        if !together || one.specificity() != current.specificity() {
            return None;
        }
        let both = joined(one, current);
        let settled = |limit: &str| {
            all.iter().any(|other| {
                other.specificity() > current.specificity()
                    && other.limits.contains_key(limit)
                    && other.matches(
                        both.aircraft_type.as_deref(),
                        both.airport.as_deref(),
                        both.runway.as_deref(),
                    )
            })
        };
        let mut common = current
            .limits
            .keys()
            .filter(|name| one.limits.contains_key(*name));
        common
            .find(|name| !settled(name))
            .map(|name| (one, name.as_str()))
    })
}

/// The approaches both match.
fn joined(one: &Override, two: &Override) -> Override {
    Override {
        aircraft_type: one
            .aircraft_type
            .clone()
            .or_else(|| two.aircraft_type.clone()),
        airport: one.airport.clone().or_else(|| two.airport.clone()),
        runway: one.runway.clone().or_else(|| two.runway.clone()),
        ..one.clone()
    }
}

fn keys(one: &Override) -> String {
    let named = one
        .keys()
        .into_iter()
        .filter_map(|(column, key)| Some(format!("{column} {}", key?)));
    named.collect::<Vec<_>>().join(", ")
}
