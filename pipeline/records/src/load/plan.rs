//! Which columns of a file become which parameters.

use std::collections::BTreeSet;

use arrow::datatypes::{DataType, Schema};

use super::{Fault, times};
use crate::catalogue::{Catalogue, Kind, did_you_mean, nearest};
use crate::fleet::{Entry, Fleet, ParameterMap};

/// One parameter and its source.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Channel {
    pub(crate) name: String,
    pub(crate) kind: Kind,
    pub(crate) entry: Entry,
}

/// What to read from files of one schema.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Plan {
    pub(crate) time: Entry,
    pub(crate) flight_id: Option<String>,
    /// In name order.
    pub(crate) channels: Vec<Channel>,
    /// Columns nobody asked for.
    pub(crate) left_out: Vec<String>,
    /// Parameters that the map has and whose optional column the file lacks, in name order.
    pub(crate) absent: Vec<String>,
}

/// The first map of `fleet.toml` that the columns fit; catalogue names where there is no map.
pub(crate) fn plan(schema: &Schema, fleet: &Fleet) -> Result<Plan, Fault> {
    let present: BTreeSet<&str> = schema.fields().iter().map(|f| f.name().as_str()).collect();
    let plan = if fleet.maps.is_empty() {
        by_catalogue_name(&present, &fleet.catalogue)?
    } else {
        let map = choose(&fleet.maps, &present)?;
        by_map(map, &present, &fleet.catalogue)
    };
    check_types(&plan, schema)?;
    if let Some(detail) = fleet.privacy.refusal(&plan.left_out) {
        return Err(Fault::new("identifying columns", detail));
    }
    Ok(plan)
}

/// Which map files of these columns get, by its place; none where no map fits or there is none.
pub(crate) fn map_of(schema: &Schema, fleet: &Fleet) -> Option<usize> {
    let present: BTreeSet<&str> = schema.fields().iter().map(|f| f.name().as_str()).collect();
    fit(&fleet.maps, &present)
}

fn fit(maps: &[ParameterMap], present: &BTreeSet<&str>) -> Option<usize> {
    maps.iter()
        .position(|map| map.required().all(|column| present.contains(column)))
}

fn by_catalogue_name(present: &BTreeSet<&str>, catalogue: &Catalogue) -> Result<Plan, Fault> {
    if !present.contains("time_s") {
        let near = did_you_mean(&nearest("time_s", present.iter().copied()));
        let detail = format!("no column `time_s`{near}; map one in fleet.toml");
        return Err(Fault::new("no time column", detail));
    }
    let channels: Vec<Channel> = present
        .iter()
        .filter_map(|name| catalogue.lookup(name))
        .map(|p| Channel {
            name: p.name.clone(),
            kind: p.kind,
            entry: Entry::as_is(&p.name),
        })
        .collect();
    if channels.is_empty() {
        let known = present
            .iter()
            .map(|name| format!("`{name}`"))
            .collect::<Vec<_>>()
            .join(", ");
        let detail = format!(
            "none of the columns {known} has a catalogue name; map them in fleet.toml \
             (the names are in docs/fleet-folder.md)"
        );
        return Err(Fault::new("no known columns", detail));
    }
    let flight_id = present
        .contains("flight_id")
        .then(|| "flight_id".to_owned());
    Ok(finish(Entry::as_is("time_s"), flight_id, channels, present))
}

fn choose<'a>(
    maps: &'a [ParameterMap],
    present: &BTreeSet<&str>,
) -> Result<&'a ParameterMap, Fault> {
    let missing = |map: &'a ParameterMap| -> Vec<&'a str> {
        map.required()
            .filter(|column| !present.contains(column))
            .collect()
    };
    if let Some(place) = fit(maps, present) {
        return Ok(&maps[place]);
    }
    let nearly = maps.iter().enumerate().map(|(i, map)| (i, missing(map)));
    let (i, mut columns) = nearly
        .min_by_key(|(_, columns)| columns.len())
        .unwrap_or_default();
    columns.sort_unstable();
    columns.dedup();
    let named: Vec<String> = columns
        .iter()
        .map(|c| {
            format!(
                "`{c}`{}",
                did_you_mean(&nearest(c, present.iter().copied()))
            )
        })
        .collect();
    let detail = format!(
        "no [[map]] fits; the nearest, number {}, lacks {}; correct the column, or mark it \
         optional = true",
        i + 1,
        named.join(", ")
    );
    Err(Fault::new("no parameter map fits", detail))
}

fn by_map(map: &ParameterMap, present: &BTreeSet<&str>, catalogue: &Catalogue) -> Plan {
    let channels = map
        .entries
        .iter()
        .filter(|(_, entry)| present.contains(entry.column.as_str()))
        .filter_map(|(name, entry)| catalogue.lookup(name).map(|p| (p, entry)))
        .map(|(p, entry)| Channel {
            name: p.name.clone(),
            kind: p.kind,
            entry: entry.clone(),
        })
        .collect();
    // Where the id's column is optional and absent, the file's name is the id.
    let entry = map.flight_id.as_ref();
    let named = entry
        .map(|entry| entry.column.clone())
        .filter(|column| present.contains(column.as_str()));
    let flight_id = named.or_else(|| present.contains("flight_id").then(|| "flight_id".into()));
    let absent = map.entries.iter();
    let absent = absent.filter(|(_, entry)| !present.contains(entry.column.as_str()));
    let absent = absent.map(|(name, _)| name.clone()).collect();
    Plan {
        absent,
        ..finish(map.time.clone(), flight_id, channels, present)
    }
}

fn finish(
    time: Entry,
    flight_id: Option<String>,
    channels: Vec<Channel>,
    present: &BTreeSet<&str>,
) -> Plan {
    let mut used: BTreeSet<&str> = channels.iter().map(|c| c.entry.column.as_str()).collect();
    used.insert(&time.column);
    used.extend(flight_id.as_deref());
    let left_out = present
        .difference(&used)
        .map(|name| (*name).to_owned())
        .collect();
    Plan {
        time,
        flight_id,
        channels,
        left_out,
        absent: Vec::new(),
    }
}

/// Columns must hold numbers, truth values or texts; the time also times, and never truth values.
fn check_types(plan: &Plan, schema: &Schema) -> Result<(), Fault> {
    let data_type = |column: &str| schema.field_with_name(column).ok().map(|f| f.data_type());
    let wrong = |column: &str, found: &DataType, expected: &str| {
        let detail = format!(
            "column `{column}` holds {}, expected {expected}; write it as a column of its own, or \
             take it out of the map",
            in_words(found)
        );
        Err(Fault::new("wrong column type", detail))
    };
    let column = &plan.time.column;
    if let Some(found) = data_type(column) {
        if let Some(unit) = plan
            .time
            .unit
            .as_ref()
            .filter(|_| times::form(found).is_some())
        {
            let detail = format!(
                "column `{column}` holds {}, which need no unit `{unit}`; take the unit out of \
                 the map",
                in_words(found)
            );
            return Err(Fault::new("wrong column type", detail));
        }
        if times::form(found).is_none() && (!is_plain(found) || *found == DataType::Boolean) {
            return wrong(column, found, "numbers, times or text for time_s");
        }
    }
    let id = plan.flight_id.iter().map(|column| (column, "flight_id"));
    let channels = plan.channels.iter();
    for (column, name) in id.chain(channels.map(|c| (&c.entry.column, c.name.as_str()))) {
        if let Some(found) = data_type(column)
            && !is_plain(found)
        {
            let expected = format!("numbers, truth values or text for {name}");
            return wrong(column, found, &expected);
        }
    }
    Ok(())
}

fn is_plain(data_type: &DataType) -> bool {
    match data_type {
        DataType::Dictionary(_, value) => is_plain(value),
        DataType::Boolean | DataType::Null => true,
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => true,
        other => other.is_numeric(),
    }
}

/// What a column holds, for the user.
fn in_words(data_type: &DataType) -> String {
    let kind = match data_type {
        DataType::List(_) | DataType::LargeList(_) | DataType::FixedSizeList(..) => "lists",
        DataType::Struct(_) => "groups of columns",
        DataType::Map(..) => "maps",
        DataType::Binary
        | DataType::LargeBinary
        | DataType::BinaryView
        | DataType::FixedSizeBinary(_) => "bytes",
        DataType::Date32 | DataType::Date64 => "dates",
        DataType::Timestamp(..) => "timestamps",
        DataType::Time32(_) | DataType::Time64(_) => "times of day",
        DataType::Duration(_) => "durations",
        DataType::Boolean => "truth values",
        _ => "values of another kind",
    };
    format!("{kind} ({data_type})")
}
