//! Draws the plan of a flight: every choice from the flight's own stream.

use crate::dice::Dice;
use crate::plan::arrival::{self, Wish};
use crate::plan::descent::{Bend, Descent};
use crate::plan::plant;
use crate::plan::shares::Shares;
use crate::plan::speeds::Speeds;
use crate::plan::style::{Intercept, Style};
use crate::plan::{Flare, Lost, Plan, Touch};
use crate::steady::Steady as _;
use crate::world::airports::{self, Airport, Arrival, LandingEnd};
use crate::world::places;
use crate::world::types::{HANDLING, TYPES};
use crate::world::wind::{Wander, Wind};
use crate::{Options, Profile};

/// Share of each type, in the order of [`TYPES`].
const TYPE_WEIGHTS: [f64; 3] = [62.0, 26.0, 12.0];
/// Tails of each type.
const TAILS: [f64; 3] = [23.0, 9.0, 6.0];
/// The long-range type stays off shorter runways and steep paths.
const LONG_RANGE_NEEDS_FT: f64 = 7500.0;

/// Draws flight `number` of the fleet.
pub(crate) fn draw(options: &Options, number: u64) -> Plan {
    let dice = &mut Dice::new(options.seed, number, "plan");
    let shares = Shares::of(options);
    let month_index =
        (number as usize * options.months / options.flights.max(1)).min(options.months - 1);
    let chance_only = plant::chance_only_flight(number);
    let (airport, departure) = draw_places(dice, chance_only);
    let calendar = (options.first_month.1 as usize + month_index - 1) % 12;
    let summer = summer(airport, calendar);
    let (end, wind) = draw_runway(dice, airport, summer);
    let type_index = draw_type(dice, &end);
    let (aircraft, handling) = (&TYPES[type_index], &HANDLING[type_index]);
    let mass_kg = dice
        .uniform(handling.mass_kg.0, handling.mass_kg.1)
        .max(dice.uniform(handling.mass_kg.0, handling.mass_kg.1));
    let deviation_k = airport.climate_k.0 + airport.climate_k.1 * summer + dice.normal(0.0, 3.5);

    let arrival = Arrival::ALL[dice.weighted(&airport.arrivals)];
    let wish = Wish {
        shortcut: dice.chance(shares.shortcut),
        holding: dice.chance(shares.holding),
        vectored: dice.chance(shares.vectors),
    };
    let routing = arrival::draw(dice, arrival, &end, wish);
    let style = Style::draw(dice);
    let steep = end.glide_path_deg > 4.0;
    let high = match airport.high_arrival {
        Some((from, feet)) if from == arrival => feet,
        _ => 0.0,
    };
    let bend = Bend {
        offsets_ft: draw_offsets(dice, style, high, routing.shortcut_nm),
        intercept: Intercept::draw(dice, mass_kg / aircraft.maximum_landing_mass_kg),
        hold_nm: routing.hold_nm,
    };
    let (headwind, _) = wind.components(33.0, end.bearing_deg);
    let (least_brake, most_brake) = style.brake_habit();
    let mut plan = Plan {
        number,
        seed: options.seed,
        shares,
        exact: options.profile == Profile::Exact,
        type_index,
        airport: airport.ident,
        departure,
        arrival,
        month_index,
        day: dice.uniform(1.0, 29.0) as u64,
        tail: dice.uniform(0.0, TAILS[type_index]) as u64,
        mass_kg,
        deviation_k,
        qnh_hpa: (dice.normal(1014.0, 9.0)).clamp(975.0, 1043.0).round(),
        qnh_known: dice.chance(0.9),
        start_nm: dice.uniform(39.5, 41.5) + routing.hold_nm,
        routing,
        style,
        descent: Descent::new(&end, &bend),
        descent_wander: Wander::new(dice, 40.0),
        speeds: Speeds::draw(dice, aircraft),
        bend,
        late_nm: dice.normal(
            style.late_nm() - handling.early_nm - if steep { 1.6 } else { 0.0 },
            0.3,
        ),
        fast_kt: dice.normal(style.fast_kt() + high / 130.0, 4.0),
        // Half the headwind and the gusts, up to a limit: common practice, no source.
        wind_additive_kt: (headwind / 2.0 + 0.15 * wind.surface_kt).clamp(0.0, 15.0),
        selection_kt: std::array::from_fn(|lever| {
            (handling.selection_kt[lever] + style.selection_kt() + dice.normal(0.0, 2.2))
                .min(aircraft.lever[lever].limit_kt - 2.0)
        }),
        gear_ft: (dice.normal(2250.0, 130.0) + style.configuration_ft()).clamp(1850.0, 2800.0)
            + handling.gear_above_ft
            + if steep { 1000.0 } else { 0.0 },
        full_flap_ft: (dice.normal(1750.0, 90.0) + style.configuration_ft()).clamp(1480.0, 2100.0)
            + if steep { 700.0 } else { 0.0 },
        landing_lever: if type_index == 0 && !steep && dice.chance(0.35) {
            3
        } else {
            4
        },
        // The slippery type is not flown without it.
        brake_habit: dice
            .uniform(least_brake, most_brake)
            .max(handling.least_brake_habit),
        brake_forgotten_s: if dice.chance(0.12) {
            dice.uniform(8.0, 35.0)
        } else {
            0.0
        },
        glide_wander: Wander::new(dice, 0.085),
        localizer_wander: Wander::new(dice, 0.08),
        plants: Vec::new(),
        go_around_ft: None,
        touch: None,
        second_approach: dice.chance(0.55),
        circuit_right: dice.chance(0.5),
        flare: Flare {
            decay_s: dice.normal(5.4, 0.6).clamp(4.3, 7.0) + if steep { 1.5 } else { 0.0 },
            settle_fps: dice.normal(2.1, 0.6).clamp(0.7, 4.2),
        },
        firmness_g: dice.normal(0.0, 0.05).clamp(-0.12, 0.15),
        lost: Lost {
            flap: dice.chance(shares.lost),
            gear: dice.chance(shares.lost),
            ils: dice.chance(shares.lost),
        },
        end,
        wind,
    };
    draw_ending(dice, &mut plan);
    plan.plants = plant::choose(options, &plan, dice);
    plan
}

/// Half the yearly swing of temperature and wind: 1 in July, −1 in January, the other way round in
/// the south, nothing to speak of near the equator.
fn summer(airport: &Airport, calendar: usize) -> f64 {
    let swing = (std::f64::consts::TAU * (calendar as f64 - 6.3) / 12.0).cosine();
    let latitude = airport.reference.latitude_deg;
    swing * (latitude / 25.0).clamp(-1.0, 1.0)
}

fn draw_places(dice: &mut Dice, chance_only: bool) -> (&'static Airport, &'static str) {
    let all: Vec<&'static Airport> = airports::all().collect();
    let weights: Vec<f64> = all.iter().map(|place| place.weight).collect();
    let arrival = dice.weighted(&weights);
    let departure = dice.weighted(&weights);
    let departure = if departure == arrival {
        (arrival + 1) % all.len()
    } else {
        departure
    };
    let place = if chance_only {
        &places::FEW
    } else {
        all[arrival]
    };
    (place, all[departure].ident)
}

fn draw_type(dice: &mut Dice, end: &LandingEnd) -> usize {
    let drawn = dice.weighted(&TYPE_WEIGHTS);
    let short = end.available_ft < LONG_RANGE_NEEDS_FT || end.glide_path_deg > 4.0;
    if drawn == 1 && short { 0 } else { drawn }
}

fn draw_runway(dice: &mut Dice, airport: &Airport, summer: f64) -> (LandingEnd, Wind) {
    let ends = airport.ends();
    // Winters are windy: a season, not a trend.
    let wind_kt = dice.normal(0.0, 1.0).abs() * 7.0 * (1.0 - 0.5 * summer) + 2.0;
    let wind = Wind {
        surface_kt: wind_kt.min(32.0),
        from_deg: (dice.normal(255.0, 65.0)).rem_euclid(360.0),
        veer_deg: dice.uniform(1.0, 5.0),
        exponent: dice.uniform(0.12, 0.2),
    };
    let best = ends
        .iter()
        .map(|end| wind.components(33.0, end.bearing_deg).0 + dice.normal(0.0, 1.5))
        .enumerate()
        .fold((0, f64::MIN), |best, (index, headwind)| {
            if headwind > best.1 {
                (index, headwind)
            } else {
                best
            }
        });
    (ends[best.0].clone(), wind)
}

/// Offsets from the plan at 20, 15 and 10 NM.
fn draw_offsets(dice: &mut Dice, style: Style, high_ft: f64, shortcut_nm: f64) -> [f64; 3] {
    let rushed = style == Style::Rushed;
    let common = dice.normal(if rushed { 650.0 } else { 0.0 }, 240.0);
    // Miles that are gone leave the height planned for them, less what was lost since.
    let short_ft = 300.0 * shortcut_nm;
    [
        common - 120.0 + high_ft + 0.6 * short_ft + dice.normal(0.0, 150.0),
        0.75 * common + high_ft * 1.1 + 0.5 * short_ft + dice.normal(0.0, 130.0),
        0.25 * common.max(-300.0) + high_ft * 0.6 + 0.2 * short_ft + dice.normal(0.0, 90.0),
    ]
}

/// How the first approach ends, as far as that is decided beforehand.
fn draw_ending(dice: &mut Dice, plan: &mut Plan) {
    let (go_around, touched, training) = (
        dice.chance(plan.shares.go_around),
        dice.chance(plan.shares.touched),
        dice.chance(plan.shares.training),
    );
    let height_ft = draw_go_around_height(dice);
    if training {
        plan.touch = Some(Touch::Training);
    } else if touched {
        plan.touch = Some(Touch::Rejected);
    } else if go_around {
        plan.go_around_ft = Some(height_ft);
    }
}

fn draw_go_around_height(dice: &mut Dice) -> f64 {
    // Far enough from both gates that nobody can argue about which side the start was on.
    match dice.weighted(&[3.0, 4.0, 1.0]) {
        0 => dice.uniform(110.0, 380.0),
        1 => dice.uniform(650.0, 900.0),
        _ => dice.uniform(1150.0, 1500.0),
    }
}
