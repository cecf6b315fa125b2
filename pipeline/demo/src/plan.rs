//! What one flight will be: place, weather, mass, habits, and what is planted in it.

use crate::airports::{self, Airport, LandingEnd};
use crate::dice::Dice;
use crate::path::Track;
use crate::plant::{self, Plant};
use crate::types::{AircraftType, HANDLING, Handling, TYPES};
use crate::wind::{Wander, Wind};
use crate::{Options, Profile};

/// Everything that decides a flight before it is flown.
#[derive(Clone)]
pub(crate) struct Plan {
    pub(crate) number: u64,
    pub(crate) seed: u64,
    /// Whether its recorder blurs nothing.
    pub(crate) exact: bool,
    pub(crate) type_index: usize,
    pub(crate) airport: &'static str,
    pub(crate) departure: &'static str,
    pub(crate) end: LandingEnd,
    pub(crate) month_index: usize,
    pub(crate) day: u64,
    pub(crate) tail: u64,
    pub(crate) mass_kg: f64,
    pub(crate) deviation_k: f64,
    pub(crate) qnh_hpa: f64,
    pub(crate) qnh_known: bool,
    pub(crate) wind: Wind,
    pub(crate) track: Track,
    pub(crate) start_nm: f64,
    /// Heights over the threshold by track distance, rising distance, outside the final path.
    pub(crate) heights: [(f64, f64); 4],
    /// How much later than planned the speed comes back, NM.
    pub(crate) late_nm: f64,
    /// Speed carried above the plan outside 8 NM, kt.
    pub(crate) fast_kt: f64,
    /// CAS at which each lever position is selected.
    pub(crate) selection_kt: [f64; 5],
    pub(crate) gear_ft: f64,
    pub(crate) full_flap_ft: f64,
    pub(crate) landing_lever: usize,
    /// How readily the speedbrake is used, 0…1.
    pub(crate) brake_habit: f64,
    pub(crate) glide_wander: Wander,
    pub(crate) localizer_wander: Wander,
    pub(crate) plants: Vec<Plant>,
    /// Height at which a go-around is started.
    pub(crate) go_around_ft: Option<f64>,
    pub(crate) second_approach: bool,
    pub(crate) circuit_right: bool,
    pub(crate) touchdown_g: f64,
    /// Channels the recorder lost.
    pub(crate) lost: Lost,
}

/// Which channels a recorder lost for a whole flight.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Lost {
    pub(crate) flap: bool,
    pub(crate) gear: bool,
    pub(crate) ils: bool,
}

impl Plan {
    /// The aircraft type.
    pub(crate) fn aircraft(&self) -> &'static AircraftType {
        &TYPES[self.type_index]
    }

    /// How the type handles.
    pub(crate) fn handling(&self) -> &'static Handling {
        &HANDLING[self.type_index]
    }

    /// Draws flight `number` of the fleet.
    pub(crate) fn draw(options: &Options, number: u64) -> Self {
        let dice = &mut Dice::new(options.seed, number, "plan");
        let month_index =
            (number as usize * options.months / options.flights.max(1)).min(options.months - 1);
        let chance_only = plant::chance_only_flight(number);
        let (airport, departure) = draw_places(dice, chance_only);
        let type_index = dice.weighted(&[62.0, 26.0, 12.0]);
        let (aircraft, handling) = (&TYPES[type_index], &HANDLING[type_index]);
        let mass_kg = dice
            .uniform(handling.mass_kg.0, handling.mass_kg.1)
            .max(dice.uniform(handling.mass_kg.0, handling.mass_kg.1));
        let (end, wind) = draw_runway(dice, airport);
        let calendar = (options.first_month.1 as usize + month_index - 1) % 12;
        let season = (std::f64::consts::TAU * (calendar as f64 - 6.3) / 12.0).cos();
        let season = if end.threshold.latitude_deg < 0.0 {
            -season
        } else {
            season
        };
        let deviation_k =
            airport.climate_k.0 + airport.climate_k.1 * season + dice.normal(0.0, 3.5);

        let rushed = dice.chance(0.03);
        // A steep path leaves no room to slow down on it: everything comes earlier there.
        let steep = end.glide_path_deg > 4.0;
        let high = airport.high_arrival_ft;
        let common = dice.normal(if rushed { 650.0 } else { 0.0 }, 240.0);
        let offsets = [
            common - 120.0 + high + dice.normal(0.0, 150.0),
            0.75 * common + high * 1.1 + dice.normal(0.0, 130.0),
            0.25 * common.max(-300.0) + high * 0.8 + dice.normal(0.0, 90.0),
        ];
        let mut plan = Self {
            number,
            seed: options.seed,
            exact: options.profile == Profile::Exact,
            type_index,
            airport: airport.ident,
            departure,
            month_index,
            day: dice.uniform(1.0, 29.0) as u64,
            tail: dice.uniform(0.0, if type_index == 0 { 23.0 } else { 9.0 }) as u64,
            mass_kg,
            deviation_k,
            qnh_hpa: (dice.normal(1014.0, 9.0)).clamp(975.0, 1043.0).round(),
            qnh_known: dice.chance(0.9),
            track: draw_track(dice),
            start_nm: dice.uniform(25.0, 26.5),
            heights: heights(&end, offsets),
            late_nm: dice.normal(
                if rushed {
                    0.7
                } else {
                    -0.75 - 0.55 * type_index as f64 - if steep { 0.9 } else { 0.0 }
                },
                0.3,
            ),
            fast_kt: dice.normal(if rushed { 10.0 } else { 0.0 } + high / 80.0, 4.0),
            selection_kt: std::array::from_fn(|lever| {
                (handling.selection_kt[lever] + dice.normal(0.0, 2.2))
                    .min(aircraft.lever[lever].limit_kt - 2.0)
            }),
            gear_ft: dice.normal(2250.0, 130.0).clamp(1850.0, 2700.0)
                + 150.0 * type_index as f64
                + if steep { 1000.0 } else { 0.0 },
            full_flap_ft: dice.normal(1750.0, 90.0).clamp(1480.0, 2000.0)
                + if steep { 700.0 } else { 0.0 },
            landing_lever: if type_index == 0 && end.glide_path_deg < 4.0 && dice.chance(0.35) {
                3
            } else {
                4
            },
            // The slippery type is not flown without it.
            brake_habit: dice.uniform(0.0, 1.0).max(0.55 * type_index as f64),
            glide_wander: Wander::new(dice, 0.085),
            localizer_wander: Wander::new(dice, 0.08),
            plants: Vec::new(),
            go_around_ft: None,
            second_approach: dice.chance(0.55),
            circuit_right: dice.chance(0.5),
            touchdown_g: dice.normal(1.27, 0.1).clamp(1.08, 1.75),
            lost: Lost {
                flap: dice.chance(0.012),
                gear: dice.chance(0.01),
                ils: dice.chance(0.012),
            },
            end,
            wind,
        };
        if dice.chance(0.016) {
            plan.go_around_ft = Some(draw_go_around_height(dice));
        }
        plan.plants = plant::choose(options, &plan, dice);
        plan
    }
}

fn draw_places(dice: &mut Dice, chance_only: bool) -> (&'static Airport, &'static str) {
    let places: Vec<&'static Airport> = airports::all().collect();
    let weights: Vec<f64> = places.iter().map(|place| place.weight).collect();
    let arrival = dice.weighted(&weights);
    let departure = dice.weighted(&weights);
    let departure = if departure == arrival {
        (arrival + 1) % places.len()
    } else {
        departure
    };
    let arrival = if chance_only {
        places.len() - 1
    } else {
        arrival
    };
    (places[arrival], places[departure].ident)
}

fn draw_runway(dice: &mut Dice, airport: &Airport) -> (LandingEnd, Wind) {
    let ends = airport.ends();
    let wind_kt = dice.normal(0.0, 1.0).abs() * 7.0 + 2.0;
    let wind = Wind {
        surface_kt: wind_kt.min(27.0),
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

fn draw_track(dice: &mut Dice) -> Track {
    let side = if dice.chance(0.5) { 1.0 } else { -1.0 };
    let final_nm = dice.uniform(9.5, 13.0);
    match dice.weighted(&[4.0, 3.0, 2.0]) {
        0 => Track::new(final_nm, &[(side * dice.uniform(25.0, 90.0), 2.2, 40.0)]),
        1 => Track::new(
            final_nm,
            &[
                (side * 90.0, 2.0, dice.uniform(1.0, 3.0)),
                (side * dice.uniform(60.0, 90.0), 2.5, 40.0),
            ],
        ),
        _ => Track::new(
            final_nm,
            &[
                (side * dice.uniform(15.0, 40.0), 2.4, dice.uniform(3.0, 6.0)),
                (-side * dice.uniform(20.0, 60.0), 2.6, 40.0),
            ],
        ),
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

/// Planned height by the practice of the trade: 300 ft per NM less 1,000 ft beyond 15 NM, linear to
/// the glide path at 8 NM, the glide path inside.
pub(crate) fn planning_height_ft(end: &LandingEnd, distance_nm: f64) -> f64 {
    if distance_nm >= 15.0 {
        300.0 * distance_nm - 1000.0
    } else if distance_nm >= 8.0 {
        let near = end.profile_height_ft(8.0);
        near + (distance_nm - 8.0) / 7.0 * (3500.0 - near)
    } else {
        end.profile_height_ft(distance_nm)
    }
}

/// Heights at 10, 15, 20 and 32 NM for offsets at 20, 15 and 10 NM. A steep path is joined from a
/// higher platform than the plan's, or the aircraft would have to climb to it.
pub(crate) fn heights(end: &LandingEnd, offsets: [f64; 3]) -> [(f64, f64); 4] {
    let base = if end.glide_path_deg > 4.0 {
        [3800.0, 4050.0, 5350.0, 8900.0]
    } else {
        [10.0, 15.0, 20.0, 32.0].map(|distance| planning_height_ft(end, distance))
    };
    [
        (10.0, base[0] + offsets[2]),
        (
            15.0,
            (base[1] + offsets[1]).max(base[0] + offsets[2] + 50.0),
        ),
        (20.0, base[2] + offsets[0]),
        (32.0, base[3] - 400.0 + offsets[0]),
    ]
}
