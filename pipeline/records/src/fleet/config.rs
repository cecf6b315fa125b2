//! `fleet.toml` as it is written, and as it is after checking.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Deserialize;
use toml::Spanned;

use super::detectors::{self, RawLimits};
use super::extend::{Fault, RawParameter, RawWindow, parameter};
use super::flags::{self, Flags, RawFlags};
use super::flights::COLUMNS;
use super::identifying::{Identifying, by_name};
use super::map::{self, ParameterMap, RawEntry};
use super::parts::{self, Parts};
use super::privacy::Rekey;
use crate::catalogue::Catalogue;
use crate::error::{RecordsError, parse_toml, read_text};
use crate::quality::Limits;

/// Smallest cell that is shown where `fleet.toml` does not say.
pub(super) const MIN_FLIGHTS: u32 = 10;

/// Defaults of the review, for the stages after this crate.
#[derive(Debug, Clone, PartialEq)]
pub struct Review {
    /// Height of the gate that decides whether an approach was stable.
    pub governing_gate_ft: f64,
    /// What energy classes go by.
    pub loss_rates: LossSource,
    /// What makes a change worth a flag.
    pub flags: Flags,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawReview {
    governing_gate_ft: Option<f64>,
    loss_rates: LossSource,
    flags: RawFlags,
}

/// Where the losses of each configuration come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LossSource {
    /// The type's table.
    #[default]
    Table,
    /// The fleet's own approaches, where enough of them show a configuration; else the table.
    Measured,
}

impl Default for Review {
    fn default() -> Self {
        Self {
            governing_gate_ft: 500.0,
            loss_rates: LossSource::Table,
            flags: Flags::default(),
        }
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Raw {
    fleet: RawFleet,
    records: RawRecords,
    parameter: Vec<RawParameter>,
    map: Vec<BTreeMap<Spanned<String>, Spanned<RawEntry>>>,
    derived: BTreeMap<Spanned<String>, RawWindow>,
    privacy: RawPrivacy,
    quality: RawLimits,
    review: RawReview,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawFleet {
    title: Option<String>,
    flights: Option<Spanned<String>>,
    runways: Option<Spanned<String>>,
    aircraft: Option<Spanned<String>>,
    rules: Option<Spanned<String>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawRecords {
    path: Option<Spanned<String>>,
    rate_hz: Option<Spanned<u32>>,
    parts: Vec<Spanned<String>>,
    optional_parts: Vec<Spanned<String>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawPrivacy {
    min_flights: Spanned<u32>,
    rekey: Spanned<toml::Value>,
    identifying: Spanned<String>,
    key_file: String,
}

/// No fleet may show cells of fewer flights than this.
const LEAST_MIN_FLIGHTS: u32 = 3;

impl Default for RawPrivacy {
    fn default() -> Self {
        let rekey = Spanned::new(0..0, toml::Value::String("auto".to_owned()));
        Self {
            min_flights: Spanned::new(0..0, MIN_FLIGHTS),
            rekey,
            identifying: Spanned::new(0..0, "drop".to_owned()),
            key_file: "privacy.key".to_owned(),
        }
    }
}

/// `fleet.toml`, checked. Paths are relative to the fleet folder.
#[derive(Debug)]
pub(super) struct Config {
    pub(super) title: Option<String>,
    pub(super) records: Option<String>,
    pub(super) flights: Option<String>,
    pub(super) runways: Option<String>,
    pub(super) aircraft: Option<String>,
    pub(super) rules: Option<String>,
    pub(super) rate_hz: u32,
    pub(super) parts: Parts,
    pub(super) catalogue: Catalogue,
    pub(super) limits: Limits,
    pub(super) maps: Vec<ParameterMap>,
    pub(super) min_flights: u32,
    pub(super) rekey: Rekey,
    pub(super) identifying: Identifying,
    pub(super) key_file: String,
    pub(super) review: Review,
}

/// Reads `fleet.toml`; an empty one where the file does not exist.
pub(super) fn read(root: &Path, path: &Path, exists: bool) -> Result<Config, RecordsError> {
    let text = if exists {
        read_text(path)?
    } else {
        String::new()
    };
    let raw: Raw = parse_toml(path, &text)?;
    let fault: &Fault =
        &|span, message, help| RecordsError::at(path, &text, span, message, Some(help.to_owned()));

    let named = |entry: &Option<Spanned<String>>| match entry {
        Some(name) if !root.join(name.get_ref()).exists() => Err(fault(
            name.span(),
            format!("`{}` does not exist in {}", name.get_ref(), root.display()),
            "give a path relative to the fleet folder, or leave the key out",
        )),
        Some(name) => Ok(Some(name.get_ref().clone())),
        None => Ok(None),
    };
    let rate_hz = raw
        .records
        .rate_hz
        .as_ref()
        .map_or(1, |rate| *rate.get_ref());
    if ![1, 2, 4].contains(&rate_hz) {
        let span = raw.records.rate_hz.as_ref().map_or(0..0, Spanned::span);
        return Err(fault(
            span,
            format!("rate_hz is {rate_hz}"),
            "expected 1, 2 or 4",
        ));
    }
    let parts = parts::check(&raw.records.parts, &raw.records.optional_parts, fault)?;
    let min_flights = *raw.privacy.min_flights.get_ref();
    if min_flights < LEAST_MIN_FLIGHTS {
        return Err(fault(
            raw.privacy.min_flights.span(),
            format!("min_flights is {min_flights}"),
            "expected at least 3: smaller cells point at single flights and crews; 10 is usual",
        ));
    }
    let rekey = match raw.privacy.rekey.get_ref() {
        toml::Value::String(word) if word == "auto" => Rekey::Auto,
        toml::Value::Boolean(true) => Rekey::Always,
        toml::Value::Boolean(false) => Rekey::Never,
        other => {
            let message = format!("rekey is {other}");
            let help = "expected \"auto\", true or false";
            return Err(fault(raw.privacy.rekey.span(), message, help));
        }
    };
    let identifying = match raw.privacy.identifying.get_ref().as_str() {
        "drop" => Identifying::Drop,
        "refuse" => Identifying::Refuse,
        "allow" => Identifying::Allow,
        other => {
            let message = format!("identifying is `{other}`");
            let help = "expected \"drop\", \"refuse\" or \"allow\"";
            return Err(fault(raw.privacy.identifying.span(), message, help));
        }
    };
    if identifying != Identifying::Allow {
        nobody(&raw, fault)?;
    }
    let added = raw
        .parameter
        .iter()
        .map(|p| parameter(p, &fault))
        .collect::<Result<_, _>>()?;
    let mut catalogue = Catalogue::with_parameters(added);
    let mut wanted: Vec<_> = raw.derived.into_iter().collect();
    wanted.sort_by_key(|(name, _)| name.span().start);
    for (name, window) in wanted {
        let window = window.check(&name, &catalogue, &fault)?;
        catalogue.add_window(window);
    }
    let limits = detectors::check(raw.quality, &catalogue, fault)?;
    let usual = Review::default();
    let review = Review {
        governing_gate_ft: raw
            .review
            .governing_gate_ft
            .unwrap_or(usual.governing_gate_ft),
        loss_rates: raw.review.loss_rates,
        flags: flags::check(raw.review.flags, fault)?,
    };
    let maps = raw
        .map
        .into_iter()
        .map(|entries| map::check(entries, &catalogue, path, &text))
        .collect::<Result<_, _>>()?;
    Ok(Config {
        records: named(&raw.records.path)?,
        flights: named(&raw.fleet.flights)?,
        runways: named(&raw.fleet.runways)?,
        aircraft: named(&raw.fleet.aircraft)?,
        rules: named(&raw.fleet.rules)?,
        title: raw.fleet.title,
        rate_hz,
        parts,
        catalogue,
        limits,
        maps,
        min_flights,
        rekey,
        identifying,
        key_file: raw.privacy.key_file,
        review,
    })
}

/// No parameter may carry who flew, in what, or when. Time and flight id are other matters: the
/// first is counted from the start of the record, the second is replaced.
fn nobody(raw: &Raw, fault: &Fault) -> Result<(), RecordsError> {
    let help = "leave it out; identifying = \"allow\" in [privacy] takes such columns all the same";
    for parameter in &raw.parameter {
        let name = &parameter.name;
        if let Some(identity) = by_name(name.get_ref()) {
            let message = format!(
                "parameter `{}` identifies {}",
                name.get_ref(),
                identity.as_str()
            );
            return Err(fault(name.span(), message, help));
        }
    }
    let entries = raw.map.iter().flatten();
    let mut entries: Vec<_> = entries
        .filter(|(name, _)| !["time_s", "flight_id"].contains(&name.get_ref().as_str()))
        .map(|(_, entry)| (entry.span(), &entry.get_ref().column))
        .collect();
    entries.sort_by_key(|(span, _)| span.start);
    for (span, column) in entries {
        let listed = COLUMNS.contains(&column.as_str());
        if let Some(identity) = by_name(column).filter(|_| !listed) {
            let message = format!("column `{column}` identifies {}", identity.as_str());
            return Err(fault(span, message, help));
        }
    }
    Ok(())
}
