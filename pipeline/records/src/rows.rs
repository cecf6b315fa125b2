//! The rows that preparing a flight produces, as they stand in the tables.

mod energy;

use serde::{Deserialize, Serialize};

pub use energy::{ArrivalRow, CheckpointRow, LeverMoveRow, LossRow};

/// One approach; the key of every row-level table is (`flight_id`, `approach_no`).
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ApproachRow {
    /// First 63 bits of BLAKE3(flight_id, 0x00, approach_no as decimal text).
    pub approach_key: i64,
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Opaque aircraft id.
    pub tail_id: Option<String>,
    /// Key of a type file.
    pub aircraft_type: Option<String>,
    /// `YYYY-MM`.
    pub month: Option<String>,
    /// Keyed hash of the day.
    pub day_key: Option<String>,
    /// `line`, `training`, `positioning`; null where the flight list does not tell.
    pub flight_purpose: Option<String>,
    /// Airport of the matched runway; null where unknown.
    pub airport: Option<String>,
    /// Runway end, e.g. `26L`.
    pub runway: Option<String>,
    /// `ils`, `localizer`, `rnav`, `visual`, `circling` or `unknown`.
    pub approach_kind: String,
    /// `landing`, `landing_unseen`, `go_around`, `go_around_touched`, `touch_and_go`, `incomplete`.
    pub outcome: String,
    /// Start of the approach, seconds from the start of the record.
    pub start_s: f64,
    /// End of the approach segment: touchdown or go-around initiation.
    pub end_s: f64,
    /// Lowest height above the threshold.
    pub lowest_height_ft: Option<f64>,
    /// `landing_roll`, `last_altitudes`, `other_landing`, `qnh`, `radio_altitude`, `record_end` or
    /// `none`.
    pub height_source: String,
    /// Estimated 1-sigma error of the height.
    pub height_uncertainty_ft: Option<f64>,
    /// Whether profile heights are corrected for temperature.
    pub temperature_corrected: bool,
    /// Gross mass over maximum landing mass at the end of the approach.
    pub mass_ratio: Option<f64>,
    /// Mean along-runway wind component over the last 1,000 ft, positive = headwind.
    pub headwind_kt: Option<f64>,
    /// Nominal path angle of the runway.
    pub path_angle_deg: Option<f64>,
    /// Touchdown point beyond the threshold along the runway.
    pub touchdown_distance_ft: Option<f64>,
    /// Along-track uncertainty of the touchdown point.
    pub touchdown_uncertainty_ft: Option<f64>,
    /// Peak normal acceleration at touchdown, native rate.
    pub touchdown_g: Option<f64>,
    /// Sink at touchdown, positive = descending: slope of radio altitude, native rate.
    pub touchdown_sink_fpm: Option<f64>,
    /// Times the wheels left the runway and came back within 10 s and below 60 ft.
    pub bounces: Option<i32>,
    /// Geometric height over the threshold.
    pub threshold_height_ft: Option<f64>,
    /// Airspeed over the threshold.
    pub threshold_cas_kt: Option<f64>,
    /// Height from which every criterion of the governing gate stayed true; of `earlier`, where following
    /// begins. Filled when tables are written: it depends on the rules.
    #[serde(default)]
    pub stabilised_height_ft: Option<f64>,
    /// `from` that height, `earlier`, `never` or `unknown`; null where no gate governs or none was reached.
    #[serde(default)]
    pub stabilised: Option<String>,
    /// Height at go-around initiation.
    pub go_around_height_ft: Option<f64>,
    /// Energy height above the reference at go-around initiation.
    pub go_around_energy_excess_ft: Option<f64>,
    /// Whether the go-around initiation is only the low point, for want of thrust and TOGA.
    pub go_around_from_low_point: bool,
    /// Track distance at the start of the approach.
    pub start_distance_nm: Option<f64>,
    /// Seconds from one stored sample to the next.
    pub step_s: f64,
    /// Samples stored for the approach.
    pub n_samples: i64,
    /// Stored columns that hold no value anywhere in the approach segment, sorted, comma-separated.
    pub missing_columns: String,
    /// Parameters of which quality made samples unknown that would have changed what is stored, sorted,
    /// comma-separated.
    #[serde(default)]
    pub cleaned: String,
    /// Samples stored a second time, as they were before that; 0 where nothing was cleaned.
    #[serde(default)]
    pub n_uncleaned: i64,
    /// Time well above the planned height with the speedbrake stowed, 20 to 3 NM.
    pub high_stowed_s: Option<f64>,
    /// Greatest height above the planned one in that time; 0 where there was none.
    pub high_stowed_max_ft: Option<f64>,
    /// Largest airspeed gained in one stretch well above the planned height, without speedbrake or gear.
    pub speed_for_drag_kt: Option<f64>,
    /// Time with more than 1,000 ft/min of sink above the planned speed, clean, 20 to 3 NM.
    pub steep_fast_clean_s: Option<f64>,
    /// Time with the speedbrake out and thrust above idle.
    pub speedbrake_against_thrust_s: Option<f64>,
    /// Track distance at which the flap lever left the clean position.
    pub first_flap_nm: Option<f64>,
    /// Track distance at which the gear was down and locked.
    pub gear_down_nm: Option<f64>,
    /// Height above the threshold at which the gear was down and locked.
    pub gear_down_height_aal_ft: Option<f64>,
    /// Height above the threshold at which landing flap was set.
    pub landing_flap_height_aal_ft: Option<f64>,
    /// Length of the level segment that led to the first flap; 0 where none did.
    pub level_before_flap_nm: Option<f64>,
    /// How the glide path was met: `above`, `level` or `descending`.
    pub path_captured: Option<String>,
    /// Track distance at which an energy excess first called for drag.
    pub drag_called_nm: Option<f64>,
    /// Track distance flown from that call until drag came, or the approach ended.
    pub drag_late_nm: Option<f64>,
    /// Track distance of the farthest checkpoint from which, by the type's loss rates, only the gear would
    /// have lost the energy in time; 0 where there was none.
    pub gear_called_nm: Option<f64>,
}

impl ApproachRow {
    /// Whether the approach counts in rates: those of training and positioning flights do not. Where nobody
    /// tells, it counts: lists that leave the purpose out are lists of line flights.
    #[must_use]
    pub fn is_line(&self) -> bool {
        self.flight_purpose
            .as_deref()
            .is_none_or(|purpose| purpose == "line")
    }
}

/// What was found and done to one parameter of one flight.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct QualityRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// Catalogue name.
    pub parameter: String,
    /// Share of its own expected samples that are known, after cleaning.
    pub coverage: f64,
    /// Samples that left and returned faster than physics allows.
    pub spikes: i64,
    /// Seconds held while related parameters moved.
    pub stuck_s: f64,
    /// Holes longer than 2.5 of its own intervals.
    pub gaps: i64,
    /// Samples outside the plausible range.
    pub out_of_range: i64,
    /// Samples in stale blocks: an earlier level or position repeated.
    pub stale: i64,
    /// What was done, in words.
    pub action: String,
}

/// One disagreement between the flight list and a record.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct HeaderRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// Column of the flight list.
    pub column: String,
    /// What the list says; null where it says nothing.
    pub listed: Option<String>,
    /// What the record says; null where it says nothing.
    pub recorded: Option<String>,
    /// What follows, in words.
    pub action: String,
}

/// One refused input.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct QuarantineRow {
    /// File relative to the fleet folder.
    pub file: String,
    /// Flight, where it got that far.
    pub flight_id: Option<String>,
    /// `read`, `map`, `time`, `prepare`, `load`.
    pub stage: String,
    /// A few words, the same for the same fault: can be counted.
    pub reason: String,
    /// Which column, row or value, what was expected, what to do.
    pub detail: String,
}
