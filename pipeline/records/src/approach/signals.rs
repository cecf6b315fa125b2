//! The channels that segmentation reads, known samples only.

use crate::airfield::Track;
use crate::flight::RawFlight;
use crate::series::Series;

/// Cleaned channels of one flight; empty where not recorded.
#[derive(Debug, Clone, Default)]
pub(crate) struct Signals {
    pub(crate) altitude: Series,
    pub(crate) radio: Series,
    pub(crate) cas: Series,
    pub(crate) ground_speed: Series,
    pub(crate) on_ground: Series,
    pub(crate) normal_accel: Series,
    pub(crate) toga: Series,
    pub(crate) thrust: Series,
    pub(crate) track: Track,
    pub(crate) glide_path: Series,
    pub(crate) temperature: Series,
    qnh: Series,
    header_qnh_hpa: Option<f64>,
}

/// A recorded setting this close to 1013.25 hPa may be the standard one, not the field's.
const STANDARD_HPA: std::ops::Range<f64> = 1_012.9..1_013.6;

impl Signals {
    pub(crate) fn of(flight: &RawFlight) -> Self {
        let series = |name: &str| Series::of(flight.channels.get(name));
        Self {
            altitude: series("pressure_altitude_ft"),
            radio: series("radio_altitude_ft"),
            cas: series("cas_kt"),
            ground_speed: series("ground_speed_kt"),
            on_ground: series("on_ground"),
            normal_accel: series("normal_accel_g"),
            toga: series("toga"),
            thrust: thrust(flight),
            track: Track::of(flight),
            glide_path: series("glide_path_dev_dots"),
            temperature: series("static_air_temp_c"),
            qnh: series("qnh_hpa"),
            header_qnh_hpa: flight.header.qnh_hpa,
        }
    }

    /// Field pressure at a moment: the flight list's, else the last setting recorded before.
    pub(crate) fn qnh_hpa(&self, t: f64) -> Option<f64> {
        let set = || self.qnh.upto(t).checked_sub(1).map(|i| self.qnh.value[i]);
        let field = |hpa: &f64| !STANDARD_HPA.contains(hpa);
        self.header_qnh_hpa.or_else(|| set().filter(field))
    }

    /// The flight list's, whether it is believed or not.
    pub(crate) fn header_qnh_hpa(&self) -> Option<f64> {
        self.header_qnh_hpa
    }

    /// Speed at a moment: over ground, else through the air.
    pub(crate) fn speed_kt(&self, t: f64) -> Option<f64> {
        self.ground_speed.held(t).or_else(|| self.cas.held(t))
    }

    /// Last moment of the record as altitude knows it.
    pub(crate) fn end_s(&self) -> f64 {
        self.altitude
            .time_s
            .last()
            .copied()
            .unwrap_or(f64::NEG_INFINITY)
    }
}

/// Mean of the engines at the samples of the first one.
fn thrust(flight: &RawFlight) -> Series {
    let engines: Vec<Series> = ["n1_1_pct", "n1_2_pct", "n1_3_pct", "n1_4_pct"]
        .iter()
        .map(|name| Series::of(flight.channels.get(*name)))
        .filter(|s| !s.is_empty())
        .collect();
    let Some(first) = engines.first() else {
        return Series::default();
    };
    let value = first
        .time_s
        .iter()
        .map(|&t| {
            let known: Vec<f64> = engines.iter().filter_map(|e| e.held(t)).collect();
            known.iter().sum::<f64>() / known.len() as f64
        })
        .collect();
    Series {
        value,
        ..first.clone()
    }
}
