//! Which columns a fleet can know at all, found by deriving an approach on which everything that its
//! parameter maps name is recorded.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::{Catalogue, Parameter};
use crate::derive::{Columns, Frame, Segment, derive, look_back};
use crate::fleet::{AircraftType, Fleet};
use crate::timebase::Grid;

/// Long enough for every column that looks back.
const SAMPLES: usize = 400;
/// From before the first checkpoint to beyond the threshold.
const ALONG_NM: (f64, f64) = (20.0, -0.3);

/// What records of one map and one aircraft type can tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Knowable {
    /// Number of the map, from 1.
    pub map: usize,
    /// Type; none where the fleet has no type file.
    pub aircraft_type: Option<String>,
    /// Names of the columns that can hold values.
    pub columns: BTreeSet<String>,
}

/// One entry for each map and aircraft type. Empty where the fleet has no map: what its files hold is
/// then not known before they are read.
#[must_use]
pub fn knowable(fleet: &Fleet) -> Vec<Knowable> {
    let mut all = Vec::new();
    for (map, at) in fleet.maps.iter().zip(1..) {
        let named: BTreeSet<&str> = map.entries.keys().map(String::as_str).collect();
        let types: Vec<Option<&AircraftType>> = if fleet.aircraft.is_empty() {
            vec![None]
        } else {
            fleet.aircraft.values().map(Some).collect()
        };
        for aircraft in types {
            all.push(Knowable {
                map: at,
                aircraft_type: aircraft.map(|aircraft| aircraft.aircraft_type.clone()),
                columns: known(fleet, &named, aircraft),
            });
        }
    }
    all
}

fn known(
    fleet: &Fleet,
    named: &BTreeSet<&str>,
    aircraft: Option<&AircraftType>,
) -> BTreeSet<String> {
    let mut columns = recorded(&fleet.catalogue, named, aircraft);
    let listed_mass = fleet
        .flights
        .values()
        .any(|flight| flight.landing_mass_kg.is_some());
    if let (true, Some(aircraft)) = (listed_mass, aircraft) {
        let mass = aircraft.maximum_landing_mass_kg;
        columns
            .entry("gross_mass_kg".to_owned())
            .or_insert_with(|| vec![mass; SAMPLES]);
    }
    let runway = fleet.runways.ends.first();
    let placed = named.contains("latitude_deg") && named.contains("longitude_deg");
    if named.contains("pressure_altitude_ft") {
        columns.insert("height_aal_ft".to_owned(), ramp(6_000.0, 0.0));
    }
    if runway.is_some() && (placed || named.contains("ground_speed_kt")) {
        columns.insert(
            "distance_to_threshold_nm".to_owned(),
            ramp(ALONG_NM.0, ALONG_NM.1),
        );
        columns.insert("air_distance_nm".to_owned(), ramp(ALONG_NM.0, ALONG_NM.1));
    }
    if runway.is_some() && placed {
        columns.insert("along_nm".to_owned(), ramp(ALONG_NM.0, ALONG_NM.1));
        columns.insert("offset_nm".to_owned(), vec![0.0; SAMPLES]);
    }
    let frame = runway.map_or_else(Frame::default, |end| Frame {
        threshold_elevation_ft: Some(end.elevation_ft),
        runway_bearing_deg: Some(end.bearing_deg),
        runway_length_ft: Some(end.length_ft),
        glide_path_deg: end.glide_path_deg,
        crossing_height_ft: end.crossing_height_ft,
    });
    let mut columns = Columns {
        grid: Grid {
            start_s: 0.0,
            step_s: 1.0,
            n: SAMPLES,
        },
        columns,
        segment: vec![Segment::Approach; SAMPLES],
    };
    derive(&mut columns, aircraft, &frame);
    look_back(&mut columns, fleet.catalogue.windows());
    let holds = |values: &Vec<f64>| values.iter().any(|value| !value.is_nan());
    let mut names: BTreeSet<String> = columns
        .columns
        .into_iter()
        .filter(|(_, values)| holds(values))
        .map(|(name, _)| name)
        .collect();
    names.extend(["approach_key", "k", "time_s", "approach_kind", "segment"].map(str::to_owned));
    if aircraft.is_some() {
        names.insert("aircraft_type".to_owned());
    }
    if runway.is_some() {
        names.extend(["airport", "runway"].map(str::to_owned));
    }
    names
}

/// A plausible value of each parameter that is named, throughout, and its peaks.
fn recorded(
    catalogue: &Catalogue,
    named: &BTreeSet<&str>,
    aircraft: Option<&AircraftType>,
) -> BTreeMap<String, Vec<f64>> {
    let mut columns = BTreeMap::new();
    let here = catalogue.parameters().iter();
    for parameter in here.filter(|parameter| named.contains(parameter.name.as_str())) {
        let values = match parameter.name.as_str() {
            "pressure_altitude_ft" => ramp(6_500.0, 500.0),
            _ => vec![plausible(parameter, aircraft); SAMPLES],
        };
        for ending in ["_max", "_min"] {
            let peak = format!("{}{ending}", parameter.name);
            if catalogue.column(&peak).is_some() {
                columns.insert(peak, values.clone());
            }
        }
        if parameter.name == "flap_lever" {
            columns.insert("flap_uncertain".to_owned(), vec![0.0; SAMPLES]);
        }
        columns.insert(parameter.name.clone(), values);
    }
    columns
}

fn plausible(parameter: &Parameter, aircraft: Option<&AircraftType>) -> f64 {
    let first_flap = aircraft.and_then(|aircraft| aircraft.levers.get(1));
    match (parameter.name.as_str(), first_flap, aircraft) {
        ("flap_lever", ..) => 1.0,
        ("flap_angle_deg", Some(lever), _) => lever.flap_deg,
        ("slat_angle_deg", Some(lever), _) => lever.slat_deg,
        ("gross_mass_kg", _, Some(aircraft)) => aircraft.maximum_landing_mass_kg,
        _ => f64::midpoint(parameter.low, parameter.high),
    }
}

fn ramp(from: f64, to: f64) -> Vec<f64> {
    let last = (SAMPLES - 1) as f64;
    (0..SAMPLES)
        .map(|k| from + (to - from) * k as f64 / last)
        .collect()
}
