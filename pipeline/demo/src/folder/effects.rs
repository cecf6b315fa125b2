//! `truth/effects.json`: what differs between places, months and types on purpose, and what only
//! seems to.

use crate::folder::flown::{CHANGE_RULES, change, lossy};
use crate::plan::plant::{CHANCE_ONLY, RAISED_MONTH, RAISED_SHARE, SLOW_RISE};
use crate::world::airports;
use crate::world::places::FEW;
use crate::{Options, Profile};
use serde_json::{Value, json};

/// The narrow-windowed type, by its place among the types.
const NARROW: usize = 1;

/// The text of the file.
pub(crate) fn effects(options: &Options) -> String {
    let mut effects = vec![high_energy_arrivals(), narrow_windows()];
    let airline = matches!(options.profile, Profile::Airline | Profile::Damaged);
    if airline && options.planted > 0.0 {
        effects.extend(new_procedure(options));
        effects.extend(slow_rise(options));
        effects.push(bad_by_chance(options));
    }
    effects.push(windy_season());
    effects.extend(change_without_effect(options));
    effects.extend(lost_records(options));
    let profile = Profile::ALL
        .iter()
        .find(|(_, profile)| *profile == options.profile)
        .map(|(name, _)| *name);
    let value = json!({
        "seed": options.seed,
        "flights": options.flights,
        "months": options.months,
        "profile": profile,
        "effects": effects,
    });
    format!("{value:#}\n")
}

fn high_energy_arrivals() -> Value {
    let place =
        airports::all().find_map(|airport| airport.high_arrival.map(|high| (airport.ident, high)));
    json!({
        "name": "high_energy_arrivals",
        "kind": "place",
        "real": true,
        "airport": place.map(|(airport, _)| airport),
        "arrival": place.map(|(_, (arrival, _))| arrival.name()),
        "mean_excess_height_ft": place.map(|(_, (_, feet))| feet),
        "rules": ["energy_excess_20nm", "energy_excess_10nm", "high_at_15nm"],
        "why": "a direct routing takes track miles away",
    })
}

fn narrow_windows() -> Value {
    json!({
        "name": "narrow_windows",
        "kind": "type",
        "real": true,
        "aircraft_type": crate::world::types::TYPES[NARROW].aircraft_type,
        "rules": ["flap_selection_margin"],
        "why": "little room between the manoeuvring speed and the limit of the next flap position",
    })
}

fn new_procedure(options: &Options) -> Option<Value> {
    (RAISED_MONTH < options.months).then(|| {
        json!({
            "name": "new_procedure",
            "kind": "month",
            "real": true,
            "month": options.month(RAISED_MONTH),
            "extra_share_of_approaches": RAISED_SHARE,
            "rules": ["unstable_1000", "unstable_500", "unstable_and_landed"],
            "why": "for a month, a new procedure left approaches unstable at the gates",
        })
    })
}

fn slow_rise(options: &Options) -> Option<Value> {
    (options.months > 1).then(|| {
        json!({
            "name": "slow_rise",
            "kind": "trend",
            "real": true,
            "from_share": SLOW_RISE.0,
            "to_share": SLOW_RISE.1,
            "rules": ["flap_selection_margin"],
            "why": "flap is selected ever closer to its limit",
        })
    })
}

fn bad_by_chance(options: &Options) -> Value {
    let written = |number: &&u64| (**number as usize) < options.flights;
    json!({
        "name": "bad_by_chance",
        "kind": "place",
        "real": false,
        "airport": FEW.ident,
        "planted_flights": CHANCE_ONLY.iter().filter(written).count(),
        "rules": ["unstable_1000", "unstable_500", "unstable_and_landed"],
        "why": "a fixed handful of unstable approaches among few; its own rate is that of the fleet",
    })
}

fn windy_season() -> Value {
    json!({
        "name": "windy_season",
        "kind": "season",
        "real": false,
        "months_of_year": [11, 12, 1, 2],
        "rules": ["unstable_1000", "unstable_500", "unstable_and_landed"],
        "why": "winters are windy: a season, and no trend",
    })
}

fn change_without_effect(options: &Options) -> Option<Value> {
    change(options).map(|(kind, month)| {
        json!({
            "name": "leaflet",
            "kind": "intervention",
            "real": false,
            "aircraft_type": kind,
            "month": month,
            "rules": CHANGE_RULES,
            "why": "a leaflet that nobody read: nothing was flown otherwise",
        })
    })
}

fn lost_records(options: &Options) -> Option<Value> {
    lossy(options).map(|(kind, month, lost)| {
        json!({
            "name": "lost_records",
            "kind": "recovery",
            "real": true,
            "aircraft_type": kind,
            "month": month,
            "lost_share": lost,
            "why": "records were overwritten before they were fetched",
        })
    })
}
