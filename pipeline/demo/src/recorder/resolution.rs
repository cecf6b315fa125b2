//! How far a recorder can be from the truth: what truth bands are made of.

use crate::channels::{Channel, Quantity, recorder};
use crate::types::TYPE_COUNT;
use std::sync::LazyLock;

/// How far one stored value of each quantity that truth bands need can be off, in catalogue units,
/// at least a step of it; and how long a state can have changed unseen.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Resolution {
    pub(crate) altitude_ft: f64,
    pub(crate) cas_kt: f64,
    pub(crate) vertical_speed_fpm: f64,
    pub(crate) dots: f64,
    pub(crate) n1_pct: f64,
    pub(crate) roll_deg: f64,
    pub(crate) temperature_k: f64,
    /// Seconds between two samples of the flap, lever or surface, and of the gear.
    pub(crate) flap_s: f64,
    pub(crate) gear_s: f64,
}

static RESOLUTIONS: LazyLock<[Resolution; TYPE_COUNT]> =
    LazyLock::new(|| std::array::from_fn(|index| Resolution::from(recorder(index).channels)));

/// What single precision leaves of each quantity.
static EXACT: Resolution = Resolution {
    altitude_ft: 0.004,
    cas_kt: 0.0001,
    vertical_speed_fpm: 0.001,
    dots: 0.0001,
    n1_pct: 0.0001,
    roll_deg: 0.0001,
    temperature_k: 0.0001,
    flap_s: 1.0,
    gear_s: 1.0,
};

impl Resolution {
    /// Of the recorder of a type.
    pub(crate) fn of(type_index: usize) -> &'static Self {
        &RESOLUTIONS[type_index]
    }

    /// Of a recorder that blurs nothing.
    pub(crate) fn exact() -> &'static Self {
        &EXACT
    }

    fn from(channels: &[Channel]) -> Self {
        let largest = |wanted: &[Quantity], of: fn(&Channel) -> f64| {
            channels
                .iter()
                .filter(|channel| wanted.contains(&channel.quantity))
                .map(of)
                .fold(0.0, f64::max)
        };
        let blur = |wanted: &[Quantity]| largest(wanted, Channel::blur);
        Self {
            altitude_ft: blur(&[Quantity::PressureAltitude]),
            cas_kt: blur(&[Quantity::Cas]),
            vertical_speed_fpm: blur(&[Quantity::VerticalSpeed]),
            dots: blur(&[Quantity::GlidePath, Quantity::Localizer]),
            n1_pct: blur(&[Quantity::N1Left, Quantity::N1Right]),
            roll_deg: blur(&[Quantity::Roll]),
            temperature_k: blur(&[Quantity::Temperature]),
            flap_s: largest(
                &[
                    Quantity::FlapLever,
                    Quantity::FlapLeverAngle,
                    Quantity::FlapAngle,
                ],
                Channel::interval_s,
            ),
            gear_s: largest(
                &[Quantity::GearLever, Quantity::GearDown],
                Channel::interval_s,
            ),
        }
    }
}
