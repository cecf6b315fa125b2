//! Rows of the small tables.

use serde::{Deserialize, Serialize};

/// `flights.parquet`: one flight.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct FlightRow {
    pub(crate) flight_id: String,
    pub(crate) tail_id: String,
    pub(crate) aircraft_type: String,
    pub(crate) month: String,
    pub(crate) departure: String,
    pub(crate) destination: String,
    pub(crate) day_key: String,
    pub(crate) flight_purpose: String,
    pub(crate) qnh_hpa: Option<f32>,
    pub(crate) landing_mass_kg: f32,
}

/// `truth/approaches.parquet`: one approach.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct ApproachRow {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) airport: String,
    pub(crate) runway: String,
    pub(crate) aircraft_type: String,
    pub(crate) month: String,
    pub(crate) approach_kind: String,
    /// `landing` or `go_around`.
    pub(crate) outcome: String,
    pub(crate) start_s: f64,
    /// Touchdown or start of the go-around.
    pub(crate) end_s: f64,
    pub(crate) touchdown_s: Option<f64>,
    pub(crate) threshold_crossing_s: Option<f64>,
    pub(crate) end_height_aal_ft: f32,
    pub(crate) temperature_deviation_k: f32,
    pub(crate) threshold_pressure_altitude_ft: f32,
    pub(crate) vref_kt: f32,
    pub(crate) lost_flap: bool,
    pub(crate) lost_gear: bool,
    pub(crate) lost_ils: bool,
    /// Rules at which something planted in this approach aims, separated by spaces.
    pub(crate) planted: String,
}

/// `truth/rules.parquet`: one approach and rule (or gate criterion).
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct RuleRow {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) rule: String,
    pub(crate) evaluable: bool,
    pub(crate) event: bool,
    pub(crate) worst: Option<f32>,
    pub(crate) limit: Option<f32>,
    pub(crate) margin: Option<f32>,
    pub(crate) band: Option<f32>,
}
