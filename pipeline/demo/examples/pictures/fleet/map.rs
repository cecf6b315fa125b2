//! Parameter maps of `fleet.toml`: which column of a recorder is which parameter, in which unit.
//!
//! Only what the maps of a written fleet use; delays and holds are left to the program itself.

use super::table::Table;
use crate::fault::{Fault, read_text};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

/// One kind of recorder: catalogue name to source.
pub(crate) type ParameterMap = BTreeMap<String, Source>;

/// Where a parameter comes from.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Source {
    pub(crate) column: String,
    #[serde(default)]
    pub(crate) optional: bool,
    unit: Option<String>,
    scale: Option<f64>,
    offset: Option<f64>,
    #[serde(default)]
    invert: bool,
    positive: Option<String>,
    #[serde(default)]
    values: BTreeMap<String, f64>,
    #[serde(default)]
    missing: Vec<toml::Value>,
}

#[derive(Deserialize)]
struct FleetFile {
    #[serde(default)]
    map: Vec<ParameterMap>,
}

/// All maps of a fleet file, in its order.
pub(crate) fn read(path: &Path) -> Result<Vec<ParameterMap>, Fault> {
    let text = read_text(path)?;
    let file: FleetFile =
        toml::from_str(&text).map_err(|error| Fault::text(path, error.to_string()))?;
    Ok(file.map)
}

/// The first map whose columns a file has.
pub(crate) fn fitting<'a>(maps: &'a [ParameterMap], table: &Table) -> Option<&'a ParameterMap> {
    maps.iter().find(|map| {
        map.values()
            .all(|source| source.optional || table.has(&source.column))
    })
}

impl Source {
    /// A column that is the parameter already, where a file has it.
    pub(crate) fn optional(column: &str) -> Self {
        Self {
            column: column.to_owned(),
            optional: true,
            ..Self::default()
        }
    }

    /// A recorded number in the catalogue's unit; nothing where it means nothing.
    pub(crate) fn value(&self, name: &str, raw: f64) -> Option<f64> {
        let missing = |value: &toml::Value| {
            value.as_float() == Some(raw)
                || value.as_integer().map(|whole| whole as f64) == Some(raw)
        };
        if self.missing.iter().any(missing) {
            return None;
        }
        let value = if self.values.is_empty() {
            raw
        } else {
            *self.values.get(&format!("{raw}"))?
        };
        let value = value * self.scale.unwrap_or(1.0) + self.offset.unwrap_or(0.0);
        let value = value * factor(name, self.unit.as_deref());
        let turned = matches!(self.positive.as_deref(), Some("below" | "left"));
        let value = if turned { -value } else { value };
        Some(if self.invert { 1.0 - value } else { value })
    }
}

const FT_PER_M: f64 = 1.0 / 0.3048;
const KT_PER_MS: f64 = 3600.0 / 1852.0;

/// From a unit of a map to that of the catalogue name.
fn factor(name: &str, unit: Option<&str>) -> f64 {
    match unit {
        Some("ms") => 0.001,
        Some("m") => FT_PER_M,
        Some("m/s") if name.ends_with("_fpm") => FT_PER_M * 60.0,
        Some("m/s") => KT_PER_MS,
        Some("ft/s") if name.ends_with("_fpm") => 60.0,
        Some("km/h") => 1000.0 / 1852.0,
        Some("µA") => 1.0 / 75.0,
        Some("t") => 1000.0,
        Some("lb") => 0.453_592_37,
        _ => 1.0,
    }
}
