//! What an operator adds to the catalogue in `fleet.toml`: parameters, and columns that look back.

use std::ops::Range;

use serde::Deserialize;
use toml::Spanned;

use crate::catalogue::{Catalogue, Kind, Parameter, Storage, Take, Window, did_you_mean};
use crate::error::RecordsError;
use crate::load::units;

/// Makes an error of a place in `fleet.toml`, what is wrong there, and what to do.
pub(super) type Fault<'a> = dyn Fn(Range<usize>, String, &str) -> RecordsError + 'a;

/// A `[[parameter]]` as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawParameter {
    pub(super) name: Spanned<String>,
    unit: Spanned<String>,
    kind: Spanned<String>,
    low: f64,
    high: f64,
    interval_s: Option<f64>,
    #[serde(default)]
    meaning: String,
}

/// A `NAME = { … }` of `[derived]` as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawWindow {
    column: Spanned<String>,
    take: Spanned<String>,
    seconds: Spanned<f64>,
}

impl RawWindow {
    /// Checks it against the catalogue as it stands.
    pub(super) fn check(
        self,
        name: &Spanned<String>,
        catalogue: &Catalogue,
        fault: &Fault,
    ) -> Result<Window, RecordsError> {
        new_name(name, catalogue, fault)?;
        let of = self.column.get_ref();
        let number = |storage| matches!(storage, Storage::Float32 | Storage::Int8);
        if !catalogue
            .column(of)
            .is_some_and(|column| number(column.storage))
        {
            let near = did_you_mean(&catalogue.nearest_columns(of));
            let message = format!("no column `{of}` to look back over{near}");
            let help = "expected a recorded or computed column, or one defined above this one";
            return Err(fault(self.column.span(), message, help));
        }
        let take = match self.take.get_ref().as_str() {
            "min" => Take::Min,
            "max" => Take::Max,
            "mean" => Take::Mean,
            "change" => Take::Change,
            other => {
                let message = format!("take is `{other}`");
                return Err(fault(
                    self.take.span(),
                    message,
                    "expected min, max, mean or change",
                ));
            }
        };
        let seconds = *self.seconds.get_ref();
        if !(1.0..=600.0).contains(&seconds) {
            let message = format!("seconds is {seconds}");
            return Err(fault(self.seconds.span(), message, "expected 1 to 600"));
        }
        Ok(Window {
            name: name.get_ref().clone(),
            of: of.clone(),
            take,
            seconds,
        })
    }
}

/// A new column's name must be usable in SQL and not yet taken.
fn new_name(
    spanned: &Spanned<String>,
    catalogue: &Catalogue,
    fault: &Fault,
) -> Result<(), RecordsError> {
    let name = spanned.get_ref();
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    if !name.starts_with(|c: char| c.is_ascii_lowercase()) || !name.chars().all(plain) {
        let help = "expected lower-case letters, digits and _, a letter first";
        return Err(fault(
            spanned.span(),
            format!("`{name}` is no column name"),
            help,
        ));
    }
    if catalogue.column(name).is_some() {
        let help = "choose another name: the built-in ones keep their meaning";
        return Err(fault(
            spanned.span(),
            format!("`{name}` exists already"),
            help,
        ));
    }
    Ok(())
}

/// Checks a `[[parameter]]`.
pub(super) fn parameter(raw: &RawParameter, fault: &Fault) -> Result<Parameter, RecordsError> {
    let kind = match raw.kind.get_ref().as_str() {
        "continuous" => Kind::Continuous,
        "circular" => Kind::Circular,
        "slow" => Kind::Slow,
        "discrete" => Kind::Discrete,
        other => {
            let help = "expected continuous, circular, slow or discrete";
            return Err(fault(raw.kind.span(), format!("kind is `{other}`"), help));
        }
    };
    let name = raw.name.get_ref();
    new_name(&raw.name, &Catalogue::default(), fault)?;
    if !units::known(raw.unit.get_ref()) {
        let help = format!("expected one of {}", units::targets().join(", "));
        return Err(fault(
            raw.unit.span(),
            format!("unknown unit `{}`", raw.unit.get_ref()),
            &help,
        ));
    }
    if raw.low.is_nan() || raw.high.is_nan() || raw.low >= raw.high {
        let message = format!("`{name}`: low is not below high");
        return Err(fault(
            raw.name.span(),
            message,
            "give the plausible range, lowest first",
        ));
    }
    Ok(Parameter {
        name: name.clone(),
        unit: raw.unit.get_ref().clone(),
        kind,
        low: raw.low,
        high: raw.high,
        nominal_interval_s: raw.interval_s,
        meaning: raw.meaning.clone(),
    })
}
