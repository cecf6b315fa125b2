//! The rows that judging produces, as they stand in the tables.

use serde::{Deserialize, Serialize};

/// One approach × rule: the evidence kept whether or not the rule fired.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeasurementRow {
    /// Key of the approach.
    pub approach_key: i64,
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Rule id.
    pub rule: String,
    /// Version of the rule.
    pub rule_version: u32,
    /// `event`, `clear`, `not_evaluable` or `partial` (seen on too little data to count).
    pub status: String,
    /// Why not evaluable or partial.
    pub reason: Option<String>,
    /// Worst level of the approach's events.
    pub level: Option<String>,
    /// Number of events.
    pub events: i32,
    /// The rule's deciding measure at its extreme; null where nothing was known.
    pub worst: Option<f64>,
    /// When, seconds from the start of the record.
    pub worst_s: Option<f64>,
    /// Of a gate: whether everything was right `from` a height on to where holding ends, `earlier` than
    /// followed, `never` or `unknown`; null for other rules and where the end was not reached.
    #[serde(default)]
    pub stabilised: Option<String>,
    /// That height, or other gate column; of `earlier`, where following begins.
    #[serde(default)]
    pub stabilised_from: Option<f64>,
    /// Hash of the limits that applied here; rates compare only where they agree.
    pub limits_hash: String,
}

/// One event.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EventRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Rule id.
    pub rule: String,
    /// Version of the rule.
    pub rule_version: u32,
    /// Family of the rule.
    pub family: String,
    /// `low`, `medium`, `high`.
    pub level: String,
    /// Start, seconds from the start of the record.
    pub start_s: Option<f64>,
    /// End; a sample covers the time to the next.
    pub end_s: Option<f64>,
    /// Seconds from start to end.
    pub duration_s: Option<f64>,
    /// The deciding measure.
    pub worst: Option<f64>,
    /// Its unit.
    pub worst_unit: String,
    /// When it occurred.
    pub worst_s: Option<f64>,
    /// Height above the threshold then.
    pub height_aal_ft: Option<f64>,
    /// Track distance then.
    pub distance_nm: Option<f64>,
    /// Whether the verdict rests on a lever position that lay between two samples; null where the
    /// rule has no such doubt to resolve.
    pub edge: Option<bool>,
    /// Whether too little was known for the event to count in a rate.
    pub partial: bool,
    /// Share of perturbed judgements that agree; null where not computed.
    pub robustness: Option<f64>,
    /// The other measures, JSON object in the order of the rule file.
    pub measures: String,
}

/// One approach × gate × criterion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GateRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Rule id of the gate.
    pub rule: String,
    /// Column of the gate, e.g. `height_aal_ft`.
    pub gate_column: String,
    /// Value of that column at the gate.
    pub gate_value: f64,
    /// The gate as a height, where it is one.
    pub gate_ft: Option<f64>,
    /// Criterion.
    pub criterion: String,
    /// When the gate was crossed, seconds from the start of the record.
    pub gate_s: Option<f64>,
    /// Value at the crossing.
    pub value: Option<f64>,
    /// Lower limit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
    /// Whether the criterion applies to this approach; null where that is not known.
    pub applies: Option<bool>,
    /// Inside the limits at the crossing; null where unknown or not applicable.
    pub passed: Option<bool>,
    /// Inside from the gate down to the `to` of the rule (50 ft unless the rule says otherwise), each
    /// excursion within its grace time; null where
    /// unknown, not applicable or not asked.
    pub held_to_50ft: Option<bool>,
}

/// One event that samples show which quality made unknown, and that the cleaned approach does not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SuspectRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Rule id.
    pub rule: String,
    /// Version of the rule.
    pub rule_version: u32,
    /// Level that the event would have had.
    pub level: String,
    /// Start, seconds from the start of the record.
    pub start_s: Option<f64>,
    /// Seconds from start to end.
    pub duration_s: Option<f64>,
    /// The deciding measure.
    pub worst: Option<f64>,
    /// Its unit.
    pub worst_unit: String,
    /// The limits that applied here, JSON object in name order.
    pub limits: String,
    /// Cleaned parameters that the rule reads, sorted, comma-separated.
    pub parameters: String,
    /// Airport of the matched runway; null where unknown.
    pub airport: Option<String>,
    /// `YYYY-MM`.
    pub month: Option<String>,
}
