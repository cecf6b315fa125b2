//! What stands beside the column in a line of the map: unit, scale, values.

use std::collections::BTreeMap;

use crate::catalogue::{Kind, Parameter};
use crate::fleet::AircraftType;
use crate::inspect::look::Column;
use crate::inspect::{Confidence, Proposal};
use crate::load::units;

/// Pairs of words for 0 and 1.
const STATES: &[(&str, &str)] = &[
    ("OFF", "ON"),
    ("UP", "DOWN"),
    ("AIR", "GND"),
    ("AIR", "GROUND"),
    ("NO", "YES"),
];

pub(super) fn keys(
    proposal: &mut Proposal,
    about: &Parameter,
    by_name: Option<&'static str>,
    factor: f64,
    summand: f64,
) {
    if about.kind == Kind::Discrete {
        if factor < 0.0 {
            proposal.keys.push(("invert", "true".to_owned()));
        }
        return;
    }
    let near = |unit: &&str| {
        units::conversion(unit, &about.unit).is_some_and(|(f, s)| {
            (factor.abs() / f - 1.0).abs() < 0.01 && (summand - s).abs() < 0.01
        })
    };
    let listed = units::sources(&about.unit);
    match by_name
        .filter(|u| near(u))
        .or_else(|| listed.iter().copied().find(near))
    {
        Some(unit) if unit != about.unit => proposal.keys.push(("unit", format!("\"{unit}\""))),
        Some(_) => {}
        None => proposal.keys.push(("scale", format!("{:?}", factor.abs()))),
    }
    if factor < 0.0 {
        match about.name.as_str() {
            "localizer_dev_dots" => proposal.keys.push(("positive", "\"left\"".to_owned())),
            "glide_path_dev_dots" | "vertical_path_dev_dots" => {
                proposal.keys.push(("positive", "\"below\"".to_owned()))
            }
            _ => proposal.keys.push(("scale", "-1.0".to_owned())),
        }
    }
}

/// Texts of two states.
pub(super) fn words(proposal: &mut Proposal, column: &Column, about: &Parameter) {
    let upper: Vec<String> = column.distinct.iter().map(|w| w.to_uppercase()).collect();
    let pair = STATES
        .iter()
        .find(|(zero, one)| !upper.is_empty() && upper.iter().all(|w| w == zero || w == one));
    match pair {
        Some((_, one)) if about.unit == "0/1" => {
            let pairs = column.distinct.iter().map(|w| {
                format!(
                    "{} = {}",
                    toml::Value::String(w.clone()),
                    u8::from(w.to_uppercase() == *one)
                )
            });
            proposal.keys.push((
                "values",
                format!("{{ {} }}", pairs.collect::<Vec<_>>().join(", ")),
            ));
            proposal.confidence = Confidence::Likely;
            proposal.reasons.push(format!("`{one}` is taken for 1"));
        }
        _ => proposal
            .reasons
            .push("it holds texts, which need `values`".to_owned()),
    }
}

/// Positions of the flap lever: places, or the angles of the fleet's aircraft types.
pub(super) fn lever(
    proposal: &mut Proposal,
    column: &Column,
    sure: bool,
    aircraft: &BTreeMap<String, AircraftType>,
) {
    let seen: Vec<f64> = column
        .distinct
        .iter()
        .filter_map(|d| d.parse().ok())
        .collect();
    if seen.is_empty() {
        proposal
            .reasons
            .push("many different values: an angle of the surface rather than a lever".to_owned());
        return;
    }
    let places = seen
        .iter()
        .all(|v| v.fract() == 0.0 && (0.0..=9.0).contains(v))
        && seen[0] == 0.0
        && seen.windows(2).all(|w| w[1] - w[0] <= 1.0);
    if places {
        proposal.confidence = if sure {
            Confidence::High
        } else {
            Confidence::Likely
        };
        proposal.reasons.push(format!(
            "the places 0 to {} one after the other",
            seen.len() - 1
        ));
        return;
    }
    let place = |of: &AircraftType| -> Option<Vec<usize>> {
        let at = |v: &f64| of.levers.iter().position(|l| (l.flap_deg - v).abs() < 0.1);
        seen.iter().map(at).collect()
    };
    let fits: Vec<(&String, Vec<usize>)> = aircraft
        .iter()
        .filter_map(|(k, a)| place(a).map(|p| (k, p)))
        .collect();
    let table = |places: &[usize]| {
        let pairs = seen
            .iter()
            .zip(places)
            .map(|(v, p)| format!("\"{v}\" = {p}"));
        format!("{{ {} }}", pairs.collect::<Vec<_>>().join(", "))
    };
    match fits.first() {
        Some((key, places)) if fits.iter().all(|(_, other)| other == places) => {
            proposal.keys.push(("values", table(places)));
            proposal.confidence = if sure {
                Confidence::High
            } else {
                Confidence::Likely
            };
            proposal
                .reasons
                .push(format!("the flap angles of the lever of {key}"));
        }
        _ => {
            proposal
                .keys
                .push(("values", table(&(0..seen.len()).collect::<Vec<_>>())));
            proposal.reasons.push(
                "angles; their places are a guess: give the types with --aircraft, or correct them"
                    .to_owned(),
            );
        }
    }
}
