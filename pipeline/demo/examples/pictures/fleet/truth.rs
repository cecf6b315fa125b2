//! The fleet's own truth: what each approach was, and what each rule must say of it.

use super::table::Table;
use crate::fault::Fault;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// One approach as it really was.
#[derive(Clone, Debug)]
pub(crate) struct Approach {
    pub(crate) flight_id: String,
    pub(crate) number: i32,
    pub(crate) airport: String,
    pub(crate) runway: String,
    pub(crate) aircraft_type: String,
    pub(crate) month: String,
    pub(crate) outcome: String,
    pub(crate) start_s: f64,
    pub(crate) end_s: f64,
    pub(crate) threshold_crossing_s: Option<f64>,
    pub(crate) temperature_deviation_k: f64,
    pub(crate) threshold_pressure_altitude_ft: f64,
    pub(crate) vref_kt: f64,
    /// Whether the recorder lost a channel.
    pub(crate) lost: bool,
    pub(crate) planted: String,
    pub(crate) style: String,
    pub(crate) intercept: String,
    pub(crate) shortcut_nm: f64,
    pub(crate) holding_nm: f64,
    pub(crate) vectored: bool,
    /// A flight of the line, not of training.
    pub(crate) line: bool,
    pub(crate) rules: BTreeMap<String, Verdict>,
}

/// What a rule or gate criterion must say.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Verdict {
    pub(crate) evaluable: bool,
    pub(crate) event: bool,
    pub(crate) worst: Option<f64>,
    pub(crate) margin: Option<f64>,
}

impl Approach {
    /// Whether a rule's event is there; unknown where the rule cannot be answered.
    pub(crate) fn event(&self, rule: &str) -> Option<bool> {
        let verdict = self.rules.get(rule)?;
        verdict.evaluable.then_some(verdict.event)
    }

    /// A rule's deciding quantity.
    pub(crate) fn worst(&self, rule: &str) -> Option<f64> {
        self.rules.get(rule)?.worst
    }

    /// Whether it ended in a landing.
    pub(crate) fn landed(&self) -> bool {
        self.outcome == "landing"
    }

    /// Whether it was broken off, with or without touching the runway.
    pub(crate) fn went_around(&self) -> bool {
        self.outcome.starts_with("go_around")
    }

    /// The criteria that a gate did not meet.
    pub(crate) fn unmet(&self, gate: &str) -> Vec<&str> {
        let prefix = format!("{gate}.");
        self.rules
            .iter()
            .filter(|(_, verdict)| verdict.event)
            .filter_map(|(rule, _)| rule.strip_prefix(prefix.as_str()))
            .collect()
    }
}

/// Approaches by flight, in their order, with their verdicts.
pub(crate) fn read(truth: &Path) -> Result<BTreeMap<String, Vec<Approach>>, Fault> {
    let mut verdicts = verdicts(&truth.join("rules.parquet"))?;
    let table = Table::read(&truth.join("approaches.parquet"))?;
    let text = |name: &str| table.texts(name);
    let number = |name: &str| table.whole_numbers(name);
    let (ids, numbers) = (text("flight_id")?, number("approach_no")?);
    let (airports, runways) = (text("airport")?, text("runway")?);
    let (types, months) = (text("aircraft_type")?, text("month")?);
    let (outcomes, planted) = (text("outcome")?, text("planted")?);
    let (starts, ends) = (number("start_s")?, number("end_s")?);
    let crossings = table.numbers("threshold_crossing_s")?;
    let deviations = number("temperature_deviation_k")?;
    let fields = number("threshold_pressure_altitude_ft")?;
    let vrefs = number("vref_kt")?;
    let lost = [
        number("lost_flap")?,
        number("lost_gear")?,
        number("lost_ils")?,
    ];
    let styles = table.optional_texts("style")?;
    let intercepts = table.optional_texts("intercept")?;
    let purposes = table.optional_texts("flight_purpose")?;
    let [shortcuts, holdings, vectored] = [
        table.optional_numbers("shortcut_nm")?,
        table.optional_numbers("holding_nm")?,
        table.optional_numbers("vectored")?,
    ];
    let mut flights: BTreeMap<String, Vec<Approach>> = BTreeMap::new();
    for row in 0..table.rows() {
        let approach = Approach {
            flight_id: ids[row].clone(),
            number: numbers[row] as i32,
            airport: airports[row].clone(),
            runway: runways[row].clone(),
            aircraft_type: types[row].clone(),
            month: months[row].clone(),
            outcome: outcomes[row].clone(),
            start_s: starts[row],
            end_s: ends[row],
            threshold_crossing_s: crossings[row],
            temperature_deviation_k: deviations[row],
            threshold_pressure_altitude_ft: fields[row],
            vref_kt: vrefs[row],
            lost: lost.iter().any(|channel| channel[row] > 0.0),
            planted: planted[row].clone(),
            style: styles[row].clone(),
            intercept: intercepts[row].clone(),
            shortcut_nm: shortcuts[row].unwrap_or(0.0),
            holding_nm: holdings[row].unwrap_or(0.0),
            vectored: vectored[row].is_some_and(|value| value > 0.0),
            line: purposes[row] != "training",
            rules: verdicts
                .remove(&(ids[row].clone(), numbers[row] as i32))
                .unwrap_or_default(),
        };
        flights.entry(ids[row].clone()).or_default().push(approach);
    }
    Ok(flights)
}

type ByRule = BTreeMap<String, Verdict>;

fn verdicts(path: &Path) -> Result<BTreeMap<(String, i32), ByRule>, Fault> {
    let table = Table::read(path)?;
    let (ids, numbers) = (
        table.texts("flight_id")?,
        table.whole_numbers("approach_no")?,
    );
    let rules = table.texts("rule")?;
    let (evaluable, events) = (
        table.whole_numbers("evaluable")?,
        table.whole_numbers("event")?,
    );
    let (worst, margins) = (table.numbers("worst")?, table.numbers("margin")?);
    let mut found: BTreeMap<(String, i32), ByRule> = BTreeMap::new();
    for row in 0..table.rows() {
        let verdict = Verdict {
            evaluable: evaluable[row] > 0.0,
            event: events[row] > 0.0,
            worst: worst[row],
            margin: margins[row],
        };
        found
            .entry((ids[row].clone(), numbers[row] as i32))
            .or_default()
            .insert(rules[row].clone(), verdict);
    }
    Ok(found)
}

/// Landing mass by flight.
pub(crate) fn landing_masses(path: &Path) -> Result<BTreeMap<String, f64>, Fault> {
    let table = Table::read(path)?;
    let (ids, masses) = (table.texts("flight_id")?, table.numbers("landing_mass_kg")?);
    Ok(ids
        .into_iter()
        .zip(masses)
        .filter_map(|(id, mass)| Some((id, mass?)))
        .collect())
}

/// Flights that were damaged; none where the folder says nothing about damage.
pub(crate) fn damaged(path: &Path) -> Result<BTreeSet<String>, Fault> {
    if !path.exists() {
        return Ok(BTreeSet::new());
    }
    Ok(Table::read(path)?.texts("flight_id")?.into_iter().collect())
}
