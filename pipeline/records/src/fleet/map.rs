//! Parameter maps: from a file's columns to catalogue names, units and signs.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use serde::Deserialize;
use toml::Spanned;

use crate::catalogue::{Catalogue, Kind, did_you_mean};
use crate::error::RecordsError;
use crate::load::units;

/// One `NAME = { … }` of a `[[map]]`, as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawEntry {
    pub(super) column: String,
    unit: Option<Spanned<String>>,
    #[serde(default = "one")]
    scale: f64,
    #[serde(default)]
    offset: f64,
    #[serde(default)]
    invert: bool,
    positive: Option<Spanned<String>>,
    values: Option<BTreeMap<String, f64>>,
    #[serde(default)]
    missing: Vec<toml::Value>,
    armed_band: Option<[f64; 2]>,
    #[serde(default)]
    on_change: bool,
    hold: Option<Spanned<String>>,
    #[serde(default)]
    delay_s: f64,
    #[serde(default)]
    optional: bool,
}

fn one() -> f64 {
    1.0
}

/// How one source column becomes one parameter.
///
/// Applied in this order: `missing_*`, `values`, `factor` and `summand` (scale, offset, unit and
/// sign in one), `invert`, `armed_band`.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Column of the file.
    pub column: String,
    /// Multiplies the recorded number.
    pub factor: f64,
    /// Added after that.
    pub summand: f64,
    /// Takes 1 less the value, for states recorded the other way round.
    pub invert: bool,
    /// Text, or a number as text, to value.
    pub values: Option<BTreeMap<String, f64>>,
    /// Numbers that mean missing.
    pub missing_numbers: Vec<f64>,
    /// Words that mean missing.
    pub missing_words: BTreeSet<String>,
    /// Values that mean armed and count as zero.
    pub armed_band: Option<[f64; 2]>,
    /// The last value holds without limit.
    pub on_change: bool,
    /// The first value holds for the whole record.
    pub whole_record: bool,
    /// Known lag of the channel, taken off its times.
    pub delay_s: f64,
    /// The file need not have the column.
    pub optional: bool,
    /// Unit as written, for the time column.
    pub unit: Option<String>,
}

impl Entry {
    /// A column that already has its catalogue name and unit.
    pub fn as_is(column: &str) -> Self {
        Self {
            column: column.to_owned(),
            factor: 1.0,
            summand: 0.0,
            invert: false,
            values: None,
            missing_numbers: Vec::new(),
            missing_words: BTreeSet::new(),
            armed_band: None,
            on_change: false,
            whole_record: false,
            delay_s: 0.0,
            optional: false,
            unit: None,
        }
    }
}

/// One `[[map]]`, checked against the catalogue.
#[derive(Debug, Clone, PartialEq)]
pub struct ParameterMap {
    /// Time of the samples.
    pub time: Entry,
    /// Column that says which flight a row belongs to, where a file holds several.
    pub flight_id: Option<Entry>,
    /// Catalogue name to source.
    pub entries: BTreeMap<String, Entry>,
}

impl ParameterMap {
    /// The columns a file must have, all others being optional.
    pub fn required(&self) -> impl Iterator<Item = &str> {
        let all = self
            .entries
            .values()
            .chain([&self.time])
            .chain(&self.flight_id);
        all.filter(|e| !e.optional).map(|e| e.column.as_str())
    }

    /// Every column it reads.
    pub fn columns(&self) -> BTreeSet<&str> {
        let all = self
            .entries
            .values()
            .chain([&self.time])
            .chain(&self.flight_id);
        all.map(|e| e.column.as_str()).collect()
    }
}

/// Checks one `[[map]]`; names, units and signs must fit the catalogue.
pub(super) fn check(
    raw: BTreeMap<Spanned<String>, Spanned<RawEntry>>,
    catalogue: &Catalogue,
    path: &Path,
    text: &str,
) -> Result<ParameterMap, RecordsError> {
    let mut map = ParameterMap {
        time: Entry::as_is("time_s"),
        flight_id: None,
        entries: BTreeMap::new(),
    };
    for (name, entry) in raw {
        let (span, name) = (name.span(), name.into_inner());
        let column = entry.get_ref().column.clone();
        match name.as_str() {
            "time_s" => map.time = checked(entry, "s", None, path, text)?,
            "flight_id" => {
                map.flight_id = Some(Entry {
                    optional: entry.get_ref().optional,
                    ..Entry::as_is(&column)
                });
            }
            _ => {
                let Some(parameter) = catalogue.lookup(&name) else {
                    let near = did_you_mean(&catalogue.nearest_parameters(&name));
                    let message = format!("no parameter `{name}` in the catalogue{near}");
                    let help = "map to a catalogue name, or add a [[parameter]] of that name";
                    return Err(RecordsError::at(
                        path,
                        text,
                        span,
                        message,
                        Some(help.into()),
                    ));
                };
                let kind = Some((name.as_str(), parameter.kind));
                let entry = checked(entry, &parameter.unit, kind, path, text)?;
                map.entries.insert(name, entry);
            }
        }
    }
    Ok(map)
}

fn checked(
    raw: Spanned<RawEntry>,
    unit: &str,
    parameter: Option<(&str, Kind)>,
    path: &Path,
    text: &str,
) -> Result<Entry, RecordsError> {
    let span = raw.span();
    let raw = raw.into_inner();
    let fault = |span, message: String, help: &str| {
        RecordsError::at(path, text, span, message, Some(help.to_owned()))
    };
    let (mut factor, mut summand) = (raw.scale, raw.offset);
    if let Some(from) = &raw.unit {
        let Some((times, plus)) = units::conversion(from.get_ref(), unit) else {
            let message = format!(
                "column `{}`: unit `{}` cannot become {unit}",
                raw.column,
                from.get_ref()
            );
            let help = format!("expected one of {}", units::sources(unit).join(", "));
            return Err(fault(from.span(), message, &help));
        };
        (factor, summand) = (factor * times, summand * times + plus);
    }
    let name = parameter.map_or("", |(name, _)| name);
    let opposite = match name {
        "localizer_dev_dots" => Some(["right", "left"]),
        "glide_path_dev_dots" | "vertical_path_dev_dots" => Some(["above", "below"]),
        _ => None,
    };
    if let Some(positive) = &raw.positive {
        match opposite {
            Some([same, _]) if positive.get_ref() == same => {}
            Some([_, other]) if positive.get_ref() == other => {
                (factor, summand) = (-factor, -summand);
            }
            Some([same, other]) => {
                let message = format!("positive is `{}`", positive.get_ref());
                let help =
                    format!("where the aircraft is when the number is positive: {same} or {other}");
                return Err(fault(positive.span(), message, &help));
            }
            None => {
                let message = "`positive` belongs to path and localizer deviations".to_owned();
                let help = "turn other signs round with scale = -1";
                return Err(fault(positive.span(), message, help));
            }
        }
    }
    if raw.invert && !matches!(parameter, Some((_, Kind::Discrete))) {
        let message = "`invert` belongs to 0/1 parameters".to_owned();
        return Err(fault(span, message, "turn signs round with scale = -1"));
    }
    if let Some(hold) = &raw.hold
        && hold.get_ref() != "record"
    {
        let message = format!("hold is `{}`", hold.get_ref());
        return Err(fault(
            hold.span(),
            message,
            "expected \"record\", or on_change = true",
        ));
    }
    let mut entry = Entry {
        factor,
        summand,
        invert: raw.invert,
        values: raw.values,
        armed_band: raw.armed_band,
        on_change: raw.on_change || raw.hold.is_some(),
        whole_record: raw.hold.is_some(),
        delay_s: raw.delay_s,
        optional: raw.optional,
        unit: raw.unit.map(Spanned::into_inner),
        ..Entry::as_is(&raw.column)
    };
    for missing in raw.missing {
        match missing {
            toml::Value::Integer(number) => entry.missing_numbers.push(number as f64),
            toml::Value::Float(number) => entry.missing_numbers.push(number),
            toml::Value::String(word) => {
                entry.missing_words.insert(word);
            }
            other => {
                let message = format!("missing holds {other}");
                return Err(fault(span, message, "expected numbers and texts"));
            }
        }
    }
    Ok(entry)
}
