//! How crews fly, as styles and never as persons: a style is drawn anew for every flight.

use crate::dice::Dice;

/// A way of managing drag and configuration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Style {
    /// By the plan.
    Planned,
    /// Slows and configures ahead of the plan.
    EarlyDrag,
    /// Carries speed, uses the speedbrake late and little.
    LateDrag,
    /// On speed, but flap and gear come late.
    LateConfiguration,
    /// High and fast: an arrival that got away.
    Rushed,
}

/// How the final path is reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Intercept {
    /// By a descent that meets it.
    Descending,
    /// From a level segment below it, flown to slow down.
    Level,
    /// From above.
    Above,
}

impl Style {
    /// Draws one.
    pub(crate) fn draw(dice: &mut Dice) -> Self {
        match dice.weighted(&[58.0, 14.0, 13.0, 12.0, 3.0]) {
            0 => Self::Planned,
            1 => Self::EarlyDrag,
            2 => Self::LateDrag,
            3 => Self::LateConfiguration,
            _ => Self::Rushed,
        }
    }

    /// Its name in truth.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::EarlyDrag => "early_drag",
            Self::LateDrag => "late_drag",
            Self::LateConfiguration => "late_configuration",
            Self::Rushed => "rushed",
        }
    }

    /// How much later than planned the speed comes back, NM.
    pub(crate) fn late_nm(self) -> f64 {
        match self {
            Self::Planned => -0.75,
            Self::EarlyDrag => -1.5,
            Self::LateDrag => -0.25,
            Self::LateConfiguration => -0.6,
            Self::Rushed => 0.7,
        }
    }

    /// Speed carried above the plan, kt.
    pub(crate) fn fast_kt(self) -> f64 {
        match self {
            Self::Planned | Self::LateConfiguration => 0.0,
            Self::EarlyDrag => -4.0,
            Self::LateDrag => 4.0,
            Self::Rushed => 10.0,
        }
    }

    /// Shift of the height at which gear and landing flap come, ft.
    pub(crate) fn configuration_ft(self) -> f64 {
        match self {
            Self::Planned => 0.0,
            Self::EarlyDrag => 250.0,
            Self::LateDrag => -60.0,
            Self::LateConfiguration => -170.0,
            Self::Rushed => -80.0,
        }
    }

    /// Shift of the speed at which flap is selected, kt.
    pub(crate) fn selection_kt(self) -> f64 {
        match self {
            Self::Planned => 0.0,
            Self::EarlyDrag => 3.0,
            Self::LateDrag | Self::Rushed => 1.5,
            Self::LateConfiguration => -4.0,
        }
    }

    /// Least and greatest readiness for the speedbrake, 0…1.
    pub(crate) fn brake_habit(self) -> (f64, f64) {
        match self {
            Self::LateDrag => (0.0, 0.45),
            _ => (0.2, 1.0),
        }
    }
}

impl Intercept {
    /// Draws one; heavy aircraft slow down level before they configure more often than others.
    pub(crate) fn draw(dice: &mut Dice, mass_ratio: f64) -> Self {
        let level = if mass_ratio >= 0.95 { 5.0 } else { 2.0 };
        match dice.weighted(&[7.0, level, 0.7]) {
            0 => Self::Descending,
            1 => Self::Level,
            _ => Self::Above,
        }
    }

    /// Its name in truth.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Descending => "descending",
            Self::Level => "level",
            Self::Above => "above",
        }
    }
}
