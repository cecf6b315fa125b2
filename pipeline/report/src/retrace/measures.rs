//! What was measured on the approach as a whole.

/// Measures of one approach by the definitions of `docs/measurements.md`; `None` is unknown, or that there was no such
/// thing, zero is known to be none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Measures {
    /// From where it came within 20 NM: `north`, `north_east`, …
    pub from_direction: Option<String>,
    /// Track distance left there, NM.
    pub track_nm: Option<f64>,
    /// Longest stretch at one held speed, NM.
    pub held_speed_nm: Option<f64>,
    /// That speed, kt.
    pub held_speed_kt: Option<f64>,
    /// `above`, `level` or `descending`.
    pub path_captured: Option<String>,
    /// Track distance at which energy called for drag, NM.
    pub drag_called_nm: Option<f64>,
    /// Track distance from there until drag came, NM.
    pub drag_late_nm: Option<f64>,
    /// Time high with the speedbrake stowed, s.
    pub high_stowed_s: Option<f64>,
    /// Greatest height above plan in that time, ft.
    pub high_stowed_max_ft: Option<f64>,
    /// Airspeed gained instead of drag, kt.
    pub speed_for_drag_kt: Option<f64>,
    /// Time steep above the planned speed, clean, s.
    pub steep_fast_clean_s: Option<f64>,
    /// Time with the speedbrake out against thrust, s.
    pub speedbrake_against_thrust_s: Option<f64>,
    /// Level segment before the first flap, NM.
    pub level_before_flap_nm: Option<f64>,
    /// Height of the wheels over the threshold, ft.
    pub threshold_height_ft: Option<f64>,
    /// Airspeed there, kt.
    pub threshold_cas_kt: Option<f64>,
    /// Touchdown beyond the threshold, ft.
    pub touchdown_distance_ft: Option<f64>,
    /// How far that may be off, ft.
    pub touchdown_uncertainty_ft: Option<f64>,
    /// Peak normal acceleration there, g.
    pub touchdown_g: Option<f64>,
    /// Sink there, ft/min.
    pub touchdown_sink_fpm: Option<f64>,
    /// Times the wheels came off again.
    pub bounces: Option<i32>,
    /// Height at the initiation of the go-around, ft.
    pub go_around_height_ft: Option<f64>,
    /// Energy above the plan there, ft.
    pub go_around_energy_excess_ft: Option<f64>,
}

impl Measures {
    /// Every number, with its name.
    pub(super) fn numbers(&self) -> [(&'static str, Option<f64>); 19] {
        [
            ("track_nm", self.track_nm),
            ("held_speed_nm", self.held_speed_nm),
            ("held_speed_kt", self.held_speed_kt),
            ("drag_called_nm", self.drag_called_nm),
            ("drag_late_nm", self.drag_late_nm),
            ("high_stowed_s", self.high_stowed_s),
            ("high_stowed_max_ft", self.high_stowed_max_ft),
            ("speed_for_drag_kt", self.speed_for_drag_kt),
            ("steep_fast_clean_s", self.steep_fast_clean_s),
            (
                "speedbrake_against_thrust_s",
                self.speedbrake_against_thrust_s,
            ),
            ("level_before_flap_nm", self.level_before_flap_nm),
            ("threshold_height_ft", self.threshold_height_ft),
            ("threshold_cas_kt", self.threshold_cas_kt),
            ("touchdown_distance_ft", self.touchdown_distance_ft),
            ("touchdown_uncertainty_ft", self.touchdown_uncertainty_ft),
            ("touchdown_g", self.touchdown_g),
            ("touchdown_sink_fpm", self.touchdown_sink_fpm),
            ("go_around_height_ft", self.go_around_height_ft),
            (
                "go_around_energy_excess_ft",
                self.go_around_energy_excess_ft,
            ),
        ]
    }
}
