//! `[quality]` of `fleet.toml`: limits of the detectors, per parameter.

use std::collections::BTreeMap;

use toml::Spanned;

use super::extend::Fault;
use crate::catalogue::{Catalogue, did_you_mean, nearest};
use crate::error::RecordsError;
use crate::quality::{Key, Limits, POSITION};

/// `[quality.PARAMETER]` tables as written.
pub(super) type RawLimits = BTreeMap<Spanned<String>, BTreeMap<Spanned<String>, Spanned<f64>>>;

/// Checks them, in the order of the file, and sets them over the program's own.
pub(super) fn check(
    raw: RawLimits,
    catalogue: &Catalogue,
    fault: &Fault,
) -> Result<Limits, RecordsError> {
    let mut limits = Limits::default();
    let mut tables: Vec<_> = raw.into_iter().collect();
    tables.sort_by_key(|(name, _)| name.span().start);
    for (spanned, table) in tables {
        let name = spanned.get_ref().as_str();
        let parameter = catalogue.lookup(name);
        if parameter.is_none() && name != POSITION {
            let names = catalogue.parameters().iter().map(|p| p.name.as_str());
            let near = did_you_mean(&nearest(name, names.chain([POSITION])));
            let message = format!("no parameter `{name}` in the catalogue{near}");
            let help = "expected a parameter, or `position` for latitude and longitude together";
            return Err(fault(spanned.span(), message, help));
        }
        let settable = Key::read_of(parameter);
        let mut entries: Vec<_> = table.into_iter().collect();
        entries.sort_by_key(|(key, _)| key.span().start);
        let mut seen = Vec::new();
        for (written, value) in entries {
            let key = settable.iter().find(|k| k.as_str() == written.get_ref());
            let Some(&key) = key else {
                let (message, help) = unread(name, written.get_ref(), &settable);
                return Err(fault(written.span(), message, &help));
            };
            let limit = *value.get_ref();
            let enough = limit > 0.0 || (limit == 0.0 && key.may_be_zero());
            if !limit.is_finite() || !enough {
                let message = format!("{} of `{name}` is {limit}", key.as_str());
                let help = if key.may_be_zero() {
                    "expected a finite number of 0 or more"
                } else {
                    "expected a finite number above 0"
                };
                return Err(fault(value.span(), message, help));
            }
            limits.set(parameter, key, limit);
            seen.push((key, written.span()));
        }
        for (key, span) in seen {
            if let Some(other) = key.needs().filter(|k| limits.of(name, *k).is_none()) {
                let (key, other) = (key.as_str(), other.as_str());
                let message = format!("{key} of `{name}` says nothing without {other}");
                let help = format!("set {other} too: `{name}` has none of its own");
                return Err(fault(span, message, &help));
            }
        }
    }
    Ok(limits)
}

/// A key that no detector reads: what is wrong, and what could be set.
fn unread(name: &str, key: &str, settable: &[Key]) -> (String, String) {
    let names: Vec<&str> = settable.iter().map(|k| k.as_str()).collect();
    let near = did_you_mean(&nearest(key, names.iter().copied()));
    let message = format!("no detector reads `{key}` of `{name}`{near}");
    let help = if matches!(name, "latitude_deg" | "longitude_deg") {
        "positions are judged as a whole: set [quality.position]".to_owned()
    } else if names.is_empty() {
        format!("`{name}` is a state: nothing can be set for it")
    } else {
        format!("can be set for `{name}`: {}", names.join(", "))
    };
    (message, help)
}

#[cfg(test)]
mod tests;
