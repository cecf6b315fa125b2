//! How far a recorder can be from the truth: what truth bands are made of.

use crate::channels::{Channel, Quantity, recorder};
use crate::world::types::TYPE_COUNT;
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
    pub(crate) ground_speed_kt: f64,
    /// Longest time for which a change of the flap, lever or surface, or of the gear is not seen.
    pub(crate) flap_s: f64,
    pub(crate) gear_s: f64,
}

static RESOLUTIONS: LazyLock<[Resolution; TYPE_COUNT]> =
    LazyLock::new(|| std::array::from_fn(|index| Resolution::from(recorder(index).channels)));

/// What single precision leaves of each quantity, and what a straight line from second to second
/// does to heights and to the way that is made of ground speeds.
static EXACT: Resolution = Resolution {
    altitude_ft: 0.5,
    cas_kt: 0.0001,
    vertical_speed_fpm: 0.001,
    dots: 0.0001,
    n1_pct: 0.0001,
    roll_deg: 0.0001,
    temperature_k: 0.0001,
    ground_speed_kt: 0.1,
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
        let unseen_s = |channel: &Channel| channel.interval_s() + channel.jitter_s;
        let blur = |wanted: &[Quantity]| largest(wanted, Channel::blur);
        Self {
            altitude_ft: blur(&[Quantity::PressureAltitude]),
            cas_kt: blur(&[Quantity::Cas]),
            vertical_speed_fpm: blur(&[Quantity::VerticalSpeed]),
            dots: blur(&[Quantity::GlidePath, Quantity::Localizer]),
            n1_pct: blur(&[Quantity::N1Left, Quantity::N1Right]),
            roll_deg: blur(&[Quantity::Roll]),
            temperature_k: blur(&[Quantity::Temperature]),
            ground_speed_kt: blur(&[Quantity::GroundSpeed]),
            flap_s: largest(
                &[
                    Quantity::FlapLever,
                    Quantity::FlapLeverAngle,
                    Quantity::FlapAngle,
                ],
                unseen_s,
            ),
            gear_s: largest(&[Quantity::GearLever, Quantity::GearDown], unseen_s),
        }
    }
}
