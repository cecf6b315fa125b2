//! The noise-free history of one flight, at four steps a second.

/// Step of the history, s.
pub(crate) const STEP_S: f64 = 0.25;

/// Which part of an approach a state belongs to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Phase {
    Approach,
    Roll,
    Missed,
}

/// One moment, free of any recorder.
#[derive(Clone, Copy, Debug)]
pub(crate) struct State {
    pub(crate) time_s: f64,
    pub(crate) phase: Phase,
    /// Track distance to the threshold; negative beyond it.
    pub(crate) to_go_nm: f64,
    /// Wheels above the threshold, true height, ft.
    pub(crate) height_ft: f64,
    pub(crate) pressure_altitude_ft: f64,
    pub(crate) cas_kt: f64,
    pub(crate) tas_kt: f64,
    pub(crate) ground_speed_kt: f64,
    pub(crate) vertical_speed_fpm: f64,
    pub(crate) pitch_deg: f64,
    pub(crate) roll_deg: f64,
    pub(crate) heading_deg: f64,
    pub(crate) track_deg: f64,
    /// Position in the runway frame: out from the threshold, right of the centreline, NM.
    pub(crate) out_nm: f64,
    pub(crate) right_nm: f64,
    /// Normal acceleration at this moment and half a step later.
    pub(crate) normal_g: [f64; 2],
    pub(crate) lever: usize,
    pub(crate) flap_deg: f64,
    pub(crate) gear_lever: bool,
    pub(crate) gear_down: bool,
    pub(crate) speedbrake: f64,
    pub(crate) n1_pct: f64,
    /// Energy height that drag takes per NM of air.
    pub(crate) drag_ft_per_nm: f64,
    /// Airspeed that the change of the wind gave since the last step, kt.
    pub(crate) shear_kt: f64,
    pub(crate) glide_dots: f64,
    pub(crate) localizer_dots: f64,
    pub(crate) toga: bool,
    pub(crate) mass_kg: f64,
    pub(crate) wind_kt: f64,
    pub(crate) wind_from_deg: f64,
    pub(crate) on_ground: bool,
    /// On the runway to stay: spoilers and reversers out.
    pub(crate) braking: bool,
}

/// One approach inside a history.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Span {
    /// First state, and one past the last state before touchdown or go-around initiation.
    pub(crate) first: usize,
    pub(crate) end: usize,
    pub(crate) ending: Ending,
    /// When the threshold was crossed, where it was.
    pub(crate) crossing_s: Option<f64>,
}

/// How an approach ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ending {
    Landing,
    GoAround,
    /// A go-around that touched the runway.
    GoAroundTouched,
    TouchAndGo,
}

impl Ending {
    /// Its name in truth.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Landing => "landing",
            Self::GoAround => "go_around",
            Self::GoAroundTouched => "go_around_touched",
            Self::TouchAndGo => "touch_and_go",
        }
    }

    /// Whether the wheels touched.
    pub(crate) fn touched(self) -> bool {
        self != Self::GoAround
    }
}

/// A flown flight.
pub(crate) struct History {
    pub(crate) states: Vec<State>,
    pub(crate) spans: Vec<Span>,
    /// Pressure altitude of the threshold, ft.
    pub(crate) field_ft: f64,
    pub(crate) vref_kt: f64,
}
