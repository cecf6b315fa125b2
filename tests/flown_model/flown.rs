//! What was flown, as `truth.json` tells it.

use std::fs;

use serde::Deserialize;

use crate::fleet::top;

#[derive(Debug, Deserialize)]
pub(super) struct Flown {
    pub(super) flight_id: String,
    pub(super) approach_no: i32,
    pub(super) outcome: String,
    pub(super) airport: String,
    pub(super) runway: String,
    pub(super) touchdown: Option<Touchdown>,
    pub(super) go_around: Option<GoAround>,
    pub(super) checkpoints: Vec<Checkpoint>,
    pub(super) gates: Vec<Gate>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Touchdown {
    pub(super) time_s: f64,
    pub(super) beyond_threshold_ft: f64,
    pub(super) highest_g: f64,
}

#[derive(Debug, Deserialize)]
pub(super) struct GoAround {
    pub(super) time_s: f64,
    pub(super) height_ft: f64,
}

#[derive(Debug, Deserialize)]
pub(super) struct Checkpoint {
    pub(super) distance_nm: f64,
    pub(super) straight_nm: f64,
    pub(super) time_s: f64,
    pub(super) height_by_altimeter_ft: f64,
    pub(super) height_by_tape_ft: f64,
    pub(super) cas_kt: f64,
    pub(super) tas_kt: f64,
    pub(super) energy_height_ft: f64,
    pub(super) loss_ft_per_nm: f64,
    pub(super) flap_lever: f64,
    pub(super) gear_down: f64,
}

#[derive(Debug, Deserialize)]
pub(super) struct Gate {
    pub(super) height_ft: f64,
    pub(super) time_s: f64,
    pub(super) distance_nm: f64,
    pub(super) cas_kt: f64,
    pub(super) tas_kt: f64,
    pub(super) ground_speed_kt: f64,
    pub(super) sink_rate_fpm: f64,
    pub(super) altimeter_sink_rate_fpm: f64,
    pub(super) energy_height_ft: f64,
    pub(super) glide_path_dots: f64,
    pub(super) localizer_dots: f64,
}

impl Flown {
    pub(super) fn key(&self) -> (String, i32) {
        (self.flight_id.clone(), self.approach_no)
    }

    pub(super) fn is_rough(&self) -> bool {
        self.flight_id == "m08-rough"
    }

    /// Touched without coming to rest, or went around beside one that did: heights hang on the last altitudes
    /// before contact, taken in the flare. They are known to be 15 ft too low, and say 30 ft of themselves.
    pub(super) fn is_touch_and_go(&self) -> bool {
        let beside_one = self.flight_id == "m09-three-go-arounds" && self.outcome != "landing";
        self.outcome == "touch_and_go" || beside_one
    }

    /// What it is compared as.
    pub(super) fn class(&self) -> &'static str {
        match (self.is_rough(), self.is_touch_and_go()) {
            (true, _) => " in turbulence",
            (_, true) => " of a touch-and-go",
            _ => "",
        }
    }

    /// In calm air, for a touch-and-go, and in turbulence.
    pub(super) fn tolerance(&self, calm: f64, touched: f64, rough: f64) -> f64 {
        match self.class() {
            "" => calm,
            " of a touch-and-go" => touched,
            _ => rough,
        }
    }

    /// Recorded without true airspeed and vertical speed: both are worked out.
    pub(super) fn lacks_rates(&self) -> bool {
        self.flight_id == "m06-hot" || self.flight_id == "m07-cold"
    }
}

pub(super) fn flown() -> Vec<Flown> {
    let path = top().join("tests/data/flown-model/truth.json");
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}
