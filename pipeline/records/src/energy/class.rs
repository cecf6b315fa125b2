//! What an energy excess means: how much drag it takes to be rid of it in time.

use crate::fleet::LossRates;

/// Within this much of the reference energy an approach is on profile.
pub const ON_PROFILE_FT: f64 = 300.0;
/// A speedbrake handle above this is out: judgement; armed and stowed positions read lower. Between two
/// whole percents, so that no rounding of a recorded one decides.
pub const SPEEDBRAKE_OUT: f64 = 0.105;

/// A way of losing energy, as the type file lists them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Drag {
    /// Idle thrust alone.
    Clean,
    /// Approach flap.
    Flap,
    /// Speedbrake.
    Speedbrake,
    /// Gear with flap.
    Gear,
}

impl Drag {
    /// From the least intervention to the most.
    pub const ALL: [Self; 4] = [Self::Clean, Self::Flap, Self::Speedbrake, Self::Gear];

    /// As stored.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Flap => "flap",
            Self::Speedbrake => "speedbrake",
            Self::Gear => "gear",
        }
    }

    /// What it loses by the type's table, ft per air NM.
    #[must_use]
    pub fn loss_ft_per_nm(self, rates: &LossRates) -> f64 {
        match self {
            Self::Clean => rates.clean,
            Self::Flap => rates.flap,
            Self::Speedbrake => rates.speedbrake,
            Self::Gear => rates.gear,
        }
    }
}

/// Where an approach stands with its energy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum EnergyClass {
    /// Below the reference: it takes thrust, not drag.
    Low,
    /// Within [`ON_PROFILE_FT`].
    OnProfile,
    /// Idle thrust alone brings it back in time.
    Clean,
    /// Flap or speedbrake does.
    Drag,
    /// Only the gear does.
    Gear,
    /// Nothing in the type's table does.
    Beyond,
}

impl EnergyClass {
    /// From the least energy to the most.
    pub const ALL: [Self; 6] = [
        Self::Low,
        Self::OnProfile,
        Self::Clean,
        Self::Drag,
        Self::Gear,
        Self::Beyond,
    ];

    /// As stored.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::OnProfile => "on_profile",
            Self::Clean => "clean",
            Self::Drag => "drag",
            Self::Gear => "gear",
            Self::Beyond => "beyond",
        }
    }
}

/// The least drag whose median loss is enough, by loss and not by name; none where none is.
#[must_use]
pub fn cheapest_drag(needed_ft_per_nm: f64, rates: &LossRates) -> Option<Drag> {
    let suffices = |drag: &Drag| drag.loss_ft_per_nm(rates) >= needed_ft_per_nm;
    let by_loss = |a: &Drag, b: &Drag| a.loss_ft_per_nm(rates).total_cmp(&b.loss_ft_per_nm(rates));
    Drag::ALL.into_iter().filter(suffices).min_by(by_loss)
}

/// The class of an energy excess.
///
/// `needed_ft_per_nm` is none inside the gate, where no way is left to lose anything; without loss rates
/// only excesses within [`ON_PROFILE_FT`] and below have a class.
#[must_use]
pub fn energy_class(
    excess_ft: f64,
    needed_ft_per_nm: Option<f64>,
    rates: Option<&LossRates>,
) -> Option<EnergyClass> {
    if excess_ft < -ON_PROFILE_FT {
        return Some(EnergyClass::Low);
    }
    if excess_ft <= ON_PROFILE_FT {
        return Some(EnergyClass::OnProfile);
    }
    let Some(needed) = needed_ft_per_nm else {
        return (!excess_ft.is_nan()).then_some(EnergyClass::Beyond);
    };
    Some(match cheapest_drag(needed, rates?) {
        Some(Drag::Clean) => EnergyClass::Clean,
        Some(Drag::Flap | Drag::Speedbrake) => EnergyClass::Drag,
        Some(Drag::Gear) => EnergyClass::Gear,
        None => EnergyClass::Beyond,
    })
}
