//! What is planted: deviations whose size is chosen so that a rule's deciding quantity lands at a
//! wanted distance from its limit, on either side of it.

use crate::dice::Dice;
use crate::plan::Plan;
use crate::{Options, Profile};

/// A kind of deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Kind {
    /// High at 20 NM.
    Energy20,
    /// High at 15 NM.
    High15,
    /// High at 10 NM.
    Energy10,
    /// A flap position selected at a chosen speed.
    Selection(usize),
    /// A gust after a flap position was selected.
    Gust(usize),
    SpeedHigh(Gate),
    SpeedLow(Gate),
    Sink(Gate),
    /// Above (+1) or below (−1) the glide path.
    GlidePath(Gate, f64),
    /// Right (+1) or left (−1) of the centreline.
    Localizer(Gate, f64),
    FlapLate(Gate),
    GearLate(Gate),
    ThrustLow(Gate),
    Bank(Gate, f64),
}

/// A gate height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Gate(pub(crate) f64);

/// A planted deviation: its size in its own unit, and where the deciding quantity shall end up.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plant {
    pub(crate) kind: Kind,
    /// Size: ft, kt, ft/min, dots, s, percent or degrees, by kind.
    pub(crate) size: f64,
    /// Wanted margin of the deciding quantity, positive = over the limit.
    pub(crate) wanted: f64,
}

impl Kind {
    /// The truth row that this kind aims at.
    pub(crate) fn rule(self) -> String {
        let gate = |gate: Gate, criterion: &str| format!("unstable_{}.{criterion}", gate.0);
        match self {
            Self::Energy20 => "energy_excess_20nm".into(),
            Self::High15 => "high_at_15nm".into(),
            Self::Energy10 => "energy_excess_10nm".into(),
            Self::Selection(_) => "flap_selection_margin".into(),
            Self::Gust(_) => "flap_limit_exceeded".into(),
            Self::SpeedHigh(at) | Self::SpeedLow(at) => gate(at, "speed"),
            Self::Sink(at) => gate(at, "sink"),
            Self::GlidePath(at, _) => gate(at, "glide_path"),
            Self::Localizer(at, _) => gate(at, "localizer"),
            Self::FlapLate(at) => gate(at, "flap"),
            Self::GearLate(at) => gate(at, "gear"),
            Self::ThrustLow(at) => gate(at, "thrust"),
            Self::Bank(at, _) => gate(at, "bank"),
        }
    }

    /// First guess of the size for a wanted margin, change of the margin with the size, and half the
    /// width over which margins are spread (about two measuring bands).
    pub(crate) fn shape(self, wanted: f64, plan: &Plan) -> (f64, f64, f64) {
        let min_thrust = plan.aircraft().approach.min_thrust_pct;
        match self {
            Self::Energy20 => (900.0 + wanted, 1.0, 100.0),
            Self::High15 => (900.0 + wanted, 1.0, 30.0),
            Self::Energy10 => (650.0 + wanted, 1.0, 90.0),
            Self::Selection(_) => (wanted, 1.0, 4.0),
            Self::Gust(_) => (8.0 + wanted, 0.7, 4.0),
            Self::SpeedHigh(_) => (20.0 + wanted, 1.0, 3.0),
            Self::SpeedLow(_) => (-wanted, -1.0, 3.0),
            Self::Sink(_) => (260.0 + wanted, 0.8, 80.0),
            Self::GlidePath(..) | Self::Localizer(..) => (1.0 + wanted, 0.9, 0.05),
            Self::FlapLate(_) => (wanted, 1.0, 4.0),
            Self::GearLate(_) => (wanted, 1.0, 8.0),
            Self::ThrustLow(_) => (min_thrust - wanted, -1.0, 0.8),
            Self::Bank(..) => (30.0 + wanted, 1.0, 1.6),
        }
    }
}

/// The flights at the airport that looks bad by chance only.
pub(crate) const CHANCE_ONLY: [u64; 4] = [92, 333, 572, 814];

/// Flights at the airport that looks bad by chance only: a handful at the beginning of every fleet,
/// whatever its size, and no more likely afterwards than anywhere else.
pub(crate) fn chance_only_flight(number: u64) -> bool {
    CHANCE_ONLY.contains(&number)
}

// How large the effects are, and how rare deviations: invented, so that an airline's shares of
// unstable approaches come out at published orders of magnitude (docs/demo-fleet.md).

/// Month (from the first, 0) in which a new procedure makes unstable gates more frequent.
pub(crate) const RAISED_MONTH: usize = 9;
/// Extra share of approaches with a planted unstable gate in that month.
pub(crate) const RAISED_SHARE: f64 = 0.07;
/// Share of flights whose flaps are selected close to the limit on purpose: in the first month, and
/// in the last.
pub(crate) const SLOW_RISE: (f64, f64) = (0.01, 0.07);
/// Shares of flights in which an airline sees a deviation at a gate, and one of flap limits.
const AIRLINE_GATE: f64 = 0.034;
const AIRLINE_FLAP: f64 = 0.008;

/// Chooses what to plant in a flight.
pub(crate) fn choose(options: &Options, plan: &Plan, dice: &mut Dice) -> Vec<Plant> {
    let leaves_early = plan.go_around_ft.is_some() || plan.touch.is_some();
    if leaves_early || options.planted <= 0.0 {
        return Vec::new();
    }
    let mut plants = match options.profile {
        Profile::Airline | Profile::Damaged => airline(options, plan, dice),
        Profile::Proving | Profile::Exact => proving(options, plan, dice),
    };
    // Deviations from a beam need a beam.
    plants.retain(|plant| {
        plan.end.ils || !matches!(plant.kind, Kind::GlidePath(..) | Kind::Localizer(..))
    });
    plants
}

/// Deviations as rare as an airline's, and what differs between months on purpose.
fn airline(options: &Options, plan: &Plan, dice: &mut Dice) -> Vec<Plant> {
    let mut plants = Vec::new();
    let [gate, procedure, flap, rise] = [0; 4].map(|_| dice.uniform(0.0, 1.0));
    let kinds = gate_kinds(if dice.chance(0.5) { 1.0 } else { -1.0 });
    // The first kinds of the list are the frequent ones: speed, sink, late flap, glide path.
    let pick = (dice.uniform(0.0, 1.0).powi(2) * kinds.len() as f64) as usize;
    if chance_only_flight(plan.number) {
        plants.push(sized(Kind::SpeedHigh(Gate(500.0)), plan, dice, true));
    } else if gate < AIRLINE_GATE || (plan.month_index == RAISED_MONTH && procedure < RAISED_SHARE)
    {
        plants.push(sized(kinds[pick.min(kinds.len() - 1)], plan, dice, true));
    }
    let part = plan.month_index as f64 / (options.months - 1).max(1) as f64;
    let lever = 1 + dice.uniform(0.0, 3.0) as usize;
    if rise < SLOW_RISE.0 + part * (SLOW_RISE.1 - SLOW_RISE.0) {
        plants.push(sized(Kind::Selection(lever), plan, dice, true));
    } else if flap < AIRLINE_FLAP {
        plants.push(sized(Kind::Gust(lever), plan, dice, true));
    }
    plants
}

/// Deviations on both sides of every limit, in a known share of the flights.
fn proving(options: &Options, plan: &Plan, dice: &mut Dice) -> Vec<Plant> {
    let mut plants = Vec::new();
    let kinds = gate_kinds(if dice.chance(0.5) { 1.0 } else { -1.0 });
    let every = (1.0 / options.planted.max(1e-9)).round().max(1.0) as u64;
    let turn_number = (plan.number / every) as usize;
    if plan.number.is_multiple_of(every) {
        let (kind, over) = turn_of(&kinds, turn_number);
        plants.push(sized(kind, plan, dice, over));
    }
    if plan.number % every == 1 % every {
        let (kind, over) = turn_of(&outer_kinds(), turn_number);
        plants.push(sized(kind, plan, dice, over));
    }
    plants
}

/// Kinds take turns; which side of the limit changes from round to round, and from kind to kind
/// within a round, so that no month gets more of one side.
fn turn_of(kinds: &[Kind], turn: usize) -> (Kind, bool) {
    let (round, index) = (turn / kinds.len(), turn % kinds.len());
    (kinds[index], (round + index).is_multiple_of(2))
}

fn gate_kinds(side: f64) -> [Kind; 18] {
    let (high, low) = (Gate(1000.0), Gate(500.0));
    [
        Kind::SpeedHigh(high),
        Kind::SpeedHigh(low),
        Kind::Sink(high),
        Kind::Sink(low),
        Kind::FlapLate(high),
        Kind::GlidePath(low, side),
        Kind::GlidePath(high, side),
        Kind::Localizer(high, side),
        Kind::Localizer(low, side),
        Kind::SpeedLow(high),
        Kind::SpeedLow(low),
        Kind::FlapLate(low),
        Kind::GearLate(high),
        Kind::GearLate(low),
        Kind::ThrustLow(high),
        Kind::ThrustLow(low),
        Kind::Bank(high, side),
        Kind::Bank(low, side),
    ]
}

fn outer_kinds() -> [Kind; 8] {
    [
        Kind::Energy20,
        Kind::High15,
        Kind::Energy10,
        Kind::Selection(1),
        Kind::Gust(2),
        Kind::Selection(2),
        Kind::Gust(1),
        Kind::Selection(3),
    ]
}

fn sized(kind: Kind, plan: &Plan, dice: &mut Dice, over: bool) -> Plant {
    let (_, _, half) = kind.shape(0.0, plan);
    let size = if dice.chance(0.7) {
        dice.uniform(0.05, 1.0) * half
    } else {
        dice.uniform(0.8, 3.0) * half
    };
    // Far below the limit is what ordinary flights show; only the near side is planted there.
    let wanted = if over { size } else { -size.min(half) };
    Plant {
        kind,
        size: kind.shape(wanted, plan).0,
        wanted,
    }
}
