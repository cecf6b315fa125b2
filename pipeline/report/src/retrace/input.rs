//! What the page of one approach is made of: series as stored, and what was made of them elsewhere.

use super::measures::Measures;

/// One approach, ready to be drawn and worded.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Retrace {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Facts shown in the head, label and value, in the order to show them.
    pub facts: Vec<(String, String)>,
    /// Samples of the approach segment.
    pub series: Series,
    /// The checkpoints in the order of the table, passed or not.
    pub checkpoints: Vec<Checkpoint>,
    /// Moves of the flap lever, the gear and the speedbrake, in time.
    pub moves: Vec<LeverMove>,
    /// The approach as a whole.
    pub measures: Measures,
    /// Criteria of the gates, in the order of the rules.
    pub gates: Vec<Gate>,
    /// Events of the approach.
    pub events: Vec<Event>,
    /// Ids of the rules that could not be judged on this approach.
    pub not_evaluable: Vec<String>,
    /// Whether the rules have judged the approach; without that, no event means nothing.
    pub judged: bool,
    /// Energy within this much of the reference is on profile, ft.
    pub band_ft: f64,
    /// A speedbrake above this share of its travel is out.
    pub speedbrake_out: f64,
}

/// The samples, all series as long as `time_s`; `None` is unknown.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    /// Seconds from the start of the record, ascending.
    pub time_s: Vec<f64>,
    /// Distance left to fly along the flown track, NM.
    pub distance_nm: Vec<Option<f64>>,
    /// Height above the threshold, ft: corrected for temperature where that is known.
    pub height_ft: Vec<Option<f64>>,
    /// Height of the glide path, ft.
    pub profile_height_ft: Vec<Option<f64>>,
    /// Height planned for the distance, ft.
    pub planning_height_ft: Vec<Option<f64>>,
    /// Energy height above the reference, ft.
    pub energy_excess_ft: Vec<Option<f64>>,
    /// Calibrated airspeed, kt.
    pub cas_kt: Vec<Option<f64>>,
    /// Airspeed planned for the distance, kt.
    pub target_cas_kt: Vec<Option<f64>>,
    /// Speed limit of the lever position, kt.
    pub limit_kt: Vec<Option<f64>>,
    /// Speed limit of the next lever position, kt.
    pub next_limit_kt: Vec<Option<f64>>,
    /// Lowest manoeuvring speed, kt.
    pub min_manoeuvre_kt: Vec<Option<f64>>,
    /// Position of the flap lever, 0 = clean.
    pub flap_lever: Vec<Option<f64>>,
    /// Gear down and locked, 0 or 1.
    pub gear_down: Vec<Option<f64>>,
    /// Speedbrake, 0 stowed to 1 full.
    pub speedbrake: Vec<Option<f64>>,
    /// Mean thrust of the engines, % N1.
    pub thrust_pct: Vec<Option<f64>>,
    /// Wind along the runway, kt, positive = headwind.
    pub headwind_kt: Vec<Option<f64>>,
    /// Wind across the runway, kt, positive = from the right.
    pub crosswind_kt: Vec<Option<f64>>,
    /// Standard deviation of normal acceleration over 10 s, g.
    pub turbulence_g: Vec<Option<f64>>,
}

impl Series {
    /// Every series that may be unknown, with its name.
    pub(super) fn all(&self) -> [(&'static str, &[Option<f64>]); 17] {
        [
            ("distance_nm", &self.distance_nm),
            ("height_ft", &self.height_ft),
            ("profile_height_ft", &self.profile_height_ft),
            ("planning_height_ft", &self.planning_height_ft),
            ("energy_excess_ft", &self.energy_excess_ft),
            ("cas_kt", &self.cas_kt),
            ("target_cas_kt", &self.target_cas_kt),
            ("limit_kt", &self.limit_kt),
            ("next_limit_kt", &self.next_limit_kt),
            ("min_manoeuvre_kt", &self.min_manoeuvre_kt),
            ("flap_lever", &self.flap_lever),
            ("gear_down", &self.gear_down),
            ("speedbrake", &self.speedbrake),
            ("thrust_pct", &self.thrust_pct),
            ("headwind_kt", &self.headwind_kt),
            ("crosswind_kt", &self.crosswind_kt),
            ("turbulence_g", &self.turbulence_g),
        ]
    }
}

/// The approach at one checkpoint; `None` is unknown.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Checkpoint {
    /// `10 NM`, `1,000 ft`.
    pub name: String,
    /// Moment of the last crossing, seconds from the start of the record; `None` = not passed, or nothing
    /// is known there.
    pub time_s: Option<f64>,
    /// Track distance left, NM.
    pub distance_nm: Option<f64>,
    /// Height above the threshold, ft.
    pub height_ft: Option<f64>,
    /// Height above the glide path, ft.
    pub over_profile_ft: Option<f64>,
    /// Energy height above the reference, ft.
    pub energy_excess_ft: Option<f64>,
    /// Airspeed, kt.
    pub cas_kt: Option<f64>,
    /// Planned airspeed, kt.
    pub target_cas_kt: Option<f64>,
    /// Position of the flap lever.
    pub flap_lever: Option<f64>,
    /// Gear down and locked, 0 or 1.
    pub gear_down: Option<f64>,
    /// Speedbrake, 0 to 1.
    pub speedbrake: Option<f64>,
    /// Mean thrust, % N1.
    pub thrust_pct: Option<f64>,
    /// Headwind, kt.
    pub headwind_kt: Option<f64>,
    /// Loss of energy height per air mile that leads to approach speed at 1,000 ft on the path.
    pub loss_needed_ft_per_nm: Option<f64>,
    /// `low`, `on_profile`, `clean`, `drag`, `gear` or `beyond`.
    pub energy_class: Option<String>,
    /// The least drag whose loss suffices by the type's table.
    pub cheapest_drag: Option<String>,
}

/// One move of the flap lever, the gear or the speedbrake.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LeverMove {
    /// First sample with the new position, seconds from the start of the record.
    pub time_s: f64,
    /// What moved.
    pub lever: Lever,
    /// Position after.
    pub to: f64,
    /// Airspeed then, kt.
    pub cas_kt: Option<f64>,
    /// Limit less airspeed, kt, negative = above it.
    pub margin_kt: Option<f64>,
    /// Height above the threshold then, ft.
    pub height_ft: Option<f64>,
}

/// What moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Lever {
    /// The flap lever, by position.
    #[default]
    Flap,
    /// The gear lever, 1 = down.
    Gear,
    /// The gear itself, 1 = down and locked.
    GearItself,
    /// The speedbrake, 1 = out.
    Speedbrake,
}

/// One criterion of one gate.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Gate {
    /// The gate in words: `1,000 ft`.
    pub name: String,
    /// Rule id.
    pub rule: String,
    /// Criterion.
    pub criterion: String,
    /// When the gate was crossed, seconds from the start of the record.
    pub time_s: Option<f64>,
    /// Value at the crossing.
    pub value: Option<f64>,
    /// Lower limit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
    /// Inside the limits at the crossing; `None` where unknown or not applicable.
    pub passed: Option<bool>,
}

/// One event.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Event {
    /// Rule id.
    pub rule: String,
    /// `low`, `medium`, `high`.
    pub level: String,
    /// Start, seconds from the start of the record.
    pub start_s: Option<f64>,
    /// End.
    pub end_s: Option<f64>,
    /// When the deciding measure was at its worst.
    pub worst_s: Option<f64>,
    /// The deciding measure.
    pub worst: Option<f64>,
    /// Its unit.
    pub unit: String,
    /// Whether too little was known for the event to count in a rate.
    pub partial: bool,
}

impl Event {
    /// The moment to mark: the worst, else the start, else the end.
    pub(super) fn moment_s(&self) -> Option<f64> {
        self.worst_s.or(self.start_s).or(self.end_s)
    }
}
