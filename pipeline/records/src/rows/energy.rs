//! Rows of the energy story: an approach at its checkpoints, its lever moves, its losses.

use serde::{Deserialize, Serialize};

/// One approach at one checkpoint that it passed; null where a quantity is not known there.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct CheckpointRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// `20nm` … `3nm` by track distance, `1000ft`, `500ft` by height above the threshold.
    pub checkpoint: String,
    /// Moment of the last inward or downward crossing, seconds from the start of the record.
    pub time_s: f64,
    /// Track distance left.
    pub distance_nm: Option<f64>,
    /// Straight distance to the threshold.
    pub direct_nm: Option<f64>,
    /// Track less direct distance.
    pub detour_nm: Option<f64>,
    /// Height above the threshold by altimeter.
    pub height_aal_ft: Option<f64>,
    /// The same corrected for temperature.
    pub height_geometric_ft: Option<f64>,
    /// Height planned for the distance.
    pub planning_height_ft: Option<f64>,
    /// Height of the glide path there.
    pub profile_height_ft: Option<f64>,
    /// Geometric height above the glide path.
    pub height_over_profile_ft: Option<f64>,
    /// Geometric height above the planned one.
    pub height_over_plan_ft: Option<f64>,
    /// Energy height above the reference.
    pub energy_excess_ft: Option<f64>,
    /// Airspeed.
    pub cas_kt: Option<f64>,
    /// Planned airspeed.
    pub target_cas_kt: Option<f64>,
    /// Position of the flap lever.
    pub flap_lever: Option<f64>,
    /// Gear down and locked, 0 or 1.
    pub gear_down: Option<f64>,
    /// Speedbrake, 0 stowed to 1 full.
    pub speedbrake: Option<f64>,
    /// Mean thrust of the engines.
    pub thrust_pct: Option<f64>,
    /// Airspeed lost over the last air mile.
    pub decel_kt_per_nm: Option<f64>,
    /// Gross mass over maximum landing mass.
    pub mass_ratio: Option<f64>,
    /// Wind along the runway, positive = headwind.
    pub headwind_kt: Option<f64>,
    /// Standard deviation of normal acceleration over 10 s.
    pub turbulence_g: Option<f64>,
    /// Strongest drag in use: `none`, `speedbrake`, `flap` or `gear`.
    pub drag_in_use: Option<String>,
    /// Air distance left to where the glide path is 1,000 ft above the threshold.
    pub air_distance_to_gate_nm: Option<f64>,
    /// Loss of energy height per air mile that leads to VAPP at 1,000 ft on the path.
    pub loss_needed_ft_per_nm: Option<f64>,
    /// What the type loses with the drag in use, by its table.
    pub loss_available_ft_per_nm: Option<f64>,
    /// `low`, `on_profile`, `clean`, `drag`, `gear` or `beyond`.
    pub energy_class: Option<String>,
    /// The least drag whose loss suffices: `clean`, `flap`, `speedbrake`, `gear`; null where none does or
    /// nothing is to be lost.
    pub cheapest_drag: Option<String>,
}

/// One change of the flap lever, the gear lever (the gear itself, where its lever is not recorded) or of
/// whether the speedbrake is out.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct LeverMoveRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// First sample with the new position, seconds from the start of the record.
    pub time_s: f64,
    /// `flap_lever`, `gear_lever`, `gear_down` or `speedbrake`.
    pub channel: String,
    /// Position before; of the speedbrake, 0 = stowed.
    pub from: f64,
    /// Position after; of the speedbrake, 1 = out.
    pub to: f64,
    /// Airspeed then.
    pub cas_kt: Option<f64>,
    /// Limit of the new position, for a flap lever, or for moving the gear.
    pub limit_kt: Option<f64>,
    /// Limit less airspeed, negative = above it.
    pub margin_kt: Option<f64>,
    /// Lowest manoeuvring speed of the position before.
    pub min_manoeuvre_kt: Option<f64>,
    /// Height above the threshold then.
    pub height_aal_ft: Option<f64>,
    /// Track distance then.
    pub distance_nm: Option<f64>,
    /// Energy height above the reference then.
    pub energy_excess_ft: Option<f64>,
}

/// What one approach lost in one configuration, over all its stretches at low thrust.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct LossRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// `clean`, `speedbrake`, `flap` or `gear`, as in the type file.
    pub configuration: String,
    /// Flown through the air in it.
    pub air_nm: f64,
    /// Energy height lost per air mile.
    pub loss_ft_per_nm: f64,
    /// Mean thrust meanwhile.
    pub thrust_pct: f64,
    /// Mean airspeed meanwhile.
    pub cas_kt: f64,
}

/// How one approach came in: where from, over how many track miles, at which held speed.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ArrivalRow {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// True bearing from the threshold to where it came within 20 NM of it in a straight line, for good.
    pub from_bearing_deg: Option<f64>,
    /// The same as one of eight directions: `north`, `north_east`, …
    pub from_direction: Option<String>,
    /// Track distance left there.
    pub track_nm: Option<f64>,
    /// Longest stretch between 20 and 5 NM of track over which the airspeed stayed within 3 kt of its middle.
    pub held_speed_nm: Option<f64>,
    /// Mean airspeed of that stretch.
    pub held_speed_kt: Option<f64>,
}
