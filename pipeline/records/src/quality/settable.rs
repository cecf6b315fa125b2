//! The limits that a fleet may set, per parameter; those of this program where it sets none.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::{Kind, Parameter};
use crate::series::turn_deg;

use super::limits::{
    ALTITUDE_RATE_FT_S, ALTITUDE_SLACK_FT, EXCURSION, HELD, HOLD_JUMP_FT, HOLD_S,
    POSITION_SLACK_NM, POSITION_SPEED_KT, SPIKE_DEPARTURE,
};

/// Latitude and longitude, which are judged together.
pub(crate) const POSITION: &str = "position";
pub(super) const ALTITUDE: &str = "pressure_altitude_ft";

/// What can be set of a parameter, each in the parameter's own unit but for times and positions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Key {
    /// Up to three samples farther than this from both neighbours are a spike.
    Spike,
    /// A stretch of equal values entered and left by more than this is no reading …
    Leap,
    /// … in a channel that meanwhile went on by no more than this a second.
    DriftPerS,
    /// A channel that stood for this long …
    HeldS,
    /// … and then moves by more than this a second, was stuck.
    HeldRatePerS,
    /// No flight path changes it faster …
    RatePerS,
    /// … nor by more than this on top.
    Slack,
    /// Positions cannot move faster, kt …
    SpeedKt,
    /// … nor by more than this on top, NM.
    SlackNm,
}

impl Key {
    const ALL: [Self; 9] = [
        Self::Spike,
        Self::Leap,
        Self::DriftPerS,
        Self::HeldS,
        Self::HeldRatePerS,
        Self::RatePerS,
        Self::Slack,
        Self::SpeedKt,
        Self::SlackNm,
    ];

    /// As written in `fleet.toml`.
    pub(crate) fn as_str(self) -> &'static str {
        match self {
            Self::Spike => "spike",
            Self::Leap => "leap",
            Self::DriftPerS => "drift_per_s",
            Self::HeldS => "held_s",
            Self::HeldRatePerS => "held_rate_per_s",
            Self::RatePerS => "rate_per_s",
            Self::Slack => "slack",
            Self::SpeedKt => "speed_kt",
            Self::SlackNm => "slack_nm",
        }
    }

    /// Whether zero is a limit too: it leaves nothing on top.
    pub(crate) fn may_be_zero(self) -> bool {
        matches!(self, Self::DriftPerS | Self::Slack | Self::SlackNm)
    }

    /// The key without which this one says nothing.
    pub(crate) fn needs(self) -> Option<Self> {
        match self {
            Self::DriftPerS => Some(Self::Leap),
            Self::HeldS => Some(Self::HeldRatePerS),
            Self::HeldRatePerS => Some(Self::HeldS),
            _ => None,
        }
    }

    /// What the detectors read of a parameter; of positions where there is none.
    pub(crate) fn read_of(parameter: Option<&Parameter>) -> Vec<Self> {
        let reads = |key: &Self| match parameter {
            None => matches!(key, Self::SpeedKt | Self::SlackNm),
            Some(p) if p.kind == Kind::Discrete || p.kind == Kind::Longitude => false,
            Some(p) => match (p.name.as_str(), key) {
                ("latitude_deg", _) | (_, Self::SpeedKt | Self::SlackNm) => false,
                (ALTITUDE, Self::Leap | Self::DriftPerS) => false,
                (ALTITUDE, _) => true,
                // Its peaks are what touchdown is measured by: jolts have a check of their own.
                ("normal_accel_g", Self::Spike) => false,
                (_, Self::RatePerS | Self::Slack) => false,
                _ => true,
            },
        };
        Self::ALL.into_iter().filter(reads).collect()
    }
}

/// The limits of one fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    by_name: BTreeMap<String, BTreeMap<Key, f64>>,
    /// Parameters that are measured along the shorter arc.
    angles: BTreeSet<String>,
}

impl Default for Limits {
    fn default() -> Self {
        let angles = ["heading_true_deg", "track_true_deg"].map(str::to_owned);
        let mut limits = Self {
            by_name: BTreeMap::new(),
            angles: angles.into(),
        };
        for &(name, departure) in SPIKE_DEPARTURE {
            limits.insert(name, Key::Spike, departure);
        }
        for &(name, leap, drift_per_s) in EXCURSION {
            limits.insert(name, Key::Leap, leap);
            limits.insert(name, Key::DriftPerS, drift_per_s);
        }
        for &(name, held_s, rate_per_s) in HELD.iter().chain(&[(ALTITUDE, HOLD_S, HOLD_JUMP_FT)]) {
            limits.insert(name, Key::HeldS, held_s);
            limits.insert(name, Key::HeldRatePerS, rate_per_s);
        }
        limits.insert(ALTITUDE, Key::RatePerS, ALTITUDE_RATE_FT_S);
        limits.insert(ALTITUDE, Key::Slack, ALTITUDE_SLACK_FT);
        limits.insert(POSITION, Key::SpeedKt, POSITION_SPEED_KT);
        limits.insert(POSITION, Key::SlackNm, POSITION_SLACK_NM);
        limits
    }
}

impl Limits {
    fn insert(&mut self, name: &str, key: Key, limit: f64) {
        let of = self.by_name.entry(name.to_owned()).or_default();
        of.insert(key, limit);
    }

    /// Sets a limit of a parameter, or of positions where there is none.
    pub(crate) fn set(&mut self, parameter: Option<&Parameter>, key: Key, limit: f64) {
        let name = parameter.map_or(POSITION, |p| p.name.as_str());
        self.insert(name, key, limit);
        if parameter.is_some_and(|p| p.kind == Kind::Circular) {
            self.angles.insert(name.to_owned());
        }
    }

    /// The limit; none where the parameter is not looked at for it.
    pub(crate) fn of(&self, name: &str, key: Key) -> Option<f64> {
        self.by_name.get(name)?.get(&key).copied()
    }

    /// `(name, held for s, leap a second)` of every channel but altitude, in name order.
    pub(super) fn held(&self) -> impl Iterator<Item = (&str, f64, f64)> {
        let channels = self.by_name.iter().filter(|(name, _)| *name != ALTITUDE);
        channels.filter_map(|(name, of)| {
            let rate_per_s = *of.get(&Key::HeldRatePerS)?;
            Some((name.as_str(), *of.get(&Key::HeldS)?, rate_per_s))
        })
    }

    /// How far the second of two values of a channel is from the first; angles by the shorter arc.
    pub(super) fn away(&self, name: &str) -> fn(f64, f64) -> f64 {
        if self.angles.contains(name) {
            turn_deg
        } else {
            |a, b| b - a
        }
    }
}
