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
    /// `landing`, `go_around`, `go_around_touched`, `touch_and_go`.
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
    /// `line` or `training`.
    pub(crate) flight_purpose: String,
    /// Way of managing drag and configuration.
    pub(crate) style: String,
    /// How the final path is reached: `descending`, `level`, `above`, `circuit`.
    pub(crate) intercept: String,
    /// Where the aircraft came from: `north`, `east`, `south`, `west`.
    pub(crate) arrival: String,
    /// Track miles that a direct routing took away.
    pub(crate) shortcut_nm: f32,
    /// Track miles flown in a holding at 33 NM.
    pub(crate) holding_nm: f32,
    /// Whether a dog-leg was flown.
    pub(crate) vectored: bool,
    /// Gross mass over maximum landing mass, at the end.
    pub(crate) mass_ratio: f32,
    /// Mean wind along the runway at 500 ft, positive = headwind.
    pub(crate) headwind_kt: f32,
    /// Where each came, by track distance and height above the threshold by altimeter; null = never.
    pub(crate) first_flap_nm: Option<f32>,
    pub(crate) gear_down_nm: Option<f32>,
    pub(crate) gear_down_height_aal_ft: Option<f32>,
    pub(crate) landing_flap_height_aal_ft: Option<f32>,
    /// Seconds with the speedbrake out and thrust above idle.
    pub(crate) speedbrake_against_thrust_s: f32,
    /// Over the threshold.
    pub(crate) threshold_height_ft: Option<f32>,
    pub(crate) threshold_cas_kt: Option<f32>,
    /// Where the wheels touched, beyond the threshold, and how.
    pub(crate) touchdown_distance_ft: Option<f32>,
    pub(crate) touchdown_sink_fpm: Option<f32>,
    pub(crate) touchdown_peak_g: Option<f32>,
    /// Height above the threshold by altimeter at which the go-around began.
    pub(crate) go_around_height_aal_ft: Option<f32>,
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

/// `truth/checkpoints.parquet`: one approach at one checkpoint that it passed.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct CheckpointRow {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    /// `20nm` … `3nm`, `1000ft`, `500ft`.
    pub(crate) checkpoint: String,
    pub(crate) time_s: f32,
    /// Track distance to the threshold.
    pub(crate) distance_nm: f32,
    /// Straight distance to the threshold.
    pub(crate) direct_nm: f32,
    /// Still air distance, by the airspeed flown, to the place where the glide path is at 1,000 ft; null within
    /// half a mile of it, and where the approach never came there.
    pub(crate) air_distance_to_gate_nm: Option<f32>,
    /// True height above the threshold.
    pub(crate) height_ft: f32,
    pub(crate) planning_height_ft: f32,
    pub(crate) profile_height_ft: f32,
    pub(crate) energy_excess_ft: f32,
    /// Loss of energy height per air NM that leads to VAPP at 1,000 ft on the path; null as the distance.
    pub(crate) loss_needed_ft_per_nm: Option<f32>,
    /// `low`, `on_profile`, `clean`, `drag`, `gear`, `beyond`; null where the needed loss is not known.
    pub(crate) energy_class: Option<String>,
    pub(crate) cas_kt: f32,
    pub(crate) target_cas_kt: f32,
    pub(crate) lever: i32,
    pub(crate) gear_down: bool,
    pub(crate) speedbrake: f32,
    pub(crate) n1_pct: f32,
    pub(crate) headwind_kt: f32,
    /// Loss of CAS over the last air NM; null where the approach began closer.
    pub(crate) decel_kt_per_nm: Option<f32>,
}

/// `truth/losses.parquet`: what one approach lost in one configuration at idle.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct LossRow {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    /// `clean`, `flap`, `speedbrake`, `gear`.
    pub(crate) configuration: String,
    /// Still air flown in it.
    pub(crate) air_nm: f32,
    /// Mean over that way of what drag took, thrust at idle.
    pub(crate) drag_ft_per_nm: f32,
    /// Mean of what the changing wind took besides, negative = gave.
    pub(crate) shear_ft_per_nm: f32,
}
