//! From names, ranges and relations to one proposal a parameter.

mod keys;

use std::collections::BTreeMap;

use super::grid::{Grid, median};
use super::judge::{Known, Relation, from_positions, relation};
use super::look::Column;
use super::names::{Name, roles};
use super::{Confidence, Proposal};
use crate::catalogue::{Catalogue, Kind, Parameter};
use crate::fleet::AircraftType;
use crate::load::units;
use keys::{keys, lever, words};

/// What others are held against goes first.
const FIRST: &[&str] = &[
    "latitude_deg",
    "longitude_deg",
    "ground_speed_kt",
    "pressure_altitude_ft",
    "radio_altitude_ft",
    "cas_kt",
    "tas_kt",
    "track_true_deg",
    "heading_true_deg",
    "vertical_speed_fpm",
    "pitch_deg",
];

type Left = Vec<(String, String)>;

/// A proposal for every parameter that a column may be, and the columns that remain.
pub(super) fn all(
    columns: &[Column],
    names: &[Name],
    grid: &Grid,
    taken: &[String],
    aircraft: &BTreeMap<String, AircraftType>,
) -> (Vec<Proposal>, Left) {
    let catalogue = Catalogue::default();
    let mut known = Known::new();
    let (mut proposals, mut left): (Vec<Proposal>, Left) = (Vec::new(), Vec::new());
    let roles: Vec<_> = columns
        .iter()
        .zip(names)
        .map(|(c, n)| {
            if taken.contains(&c.name) {
                Vec::new()
            } else {
                roles(&c.name, n)
            }
        })
        .collect();
    let rest = catalogue
        .parameters()
        .iter()
        .map(|p| p.name.as_str())
        .filter(|p| !FIRST.contains(p));
    for parameter in FIRST.iter().copied().chain(rest) {
        let Some(about) = catalogue.lookup(parameter) else {
            continue;
        };
        let mut found: Vec<(Proposal, usize, f64, f64)> = Vec::new();
        for (i, column) in columns.iter().enumerate() {
            if let Some((_, sure)) = roles[i].iter().find(|(p, _)| *p == parameter) {
                let (proposal, factor, summand) =
                    one(about, column, &names[i], *sure, grid, &known, aircraft);
                found.push((proposal, i, factor, summand));
            }
        }
        found.sort_by_key(|(proposal, ..)| std::cmp::Reverse(proposal.confidence));
        let mut found = found.into_iter();
        let Some((mut best, at, factor, summand)) = found.next() else {
            continue;
        };
        for (other, ..) in found {
            if other.confidence == best.confidence && best.confidence == Confidence::High {
                best.confidence = Confidence::Likely;
                best.reasons
                    .push(format!("`{}` fits as well", other.column));
            }
            left.push((
                other.column.clone(),
                format!(
                    "{parameter} is taken from `{}`; {}",
                    best.column,
                    other.reasons.join("; ")
                ),
            ));
        }
        if best.confidence >= Confidence::Likely {
            let held = about.kind != Kind::Continuous;
            let series = grid.series(&columns[at].values, held);
            known.insert(
                parameter.to_owned(),
                series.iter().map(|v| v * factor + summand).collect(),
            );
        }
        proposals.push(best);
        if parameter == "longitude_deg" {
            positions(&mut proposals, &mut known, grid);
        }
    }
    // A column serves the parameter of which it is surest.
    let mut kept: Vec<Proposal> = Vec::new();
    proposals.sort_by_key(|p| std::cmp::Reverse(p.confidence));
    for proposal in proposals {
        if !kept.iter().any(|k| k.column == proposal.column) {
            kept.push(proposal);
        }
    }
    let order = |p: &Proposal| {
        catalogue
            .parameters()
            .iter()
            .position(|known| known.name == p.parameter)
    };
    kept.sort_by_key(order);
    for column in columns {
        let mapped = kept.iter().any(|p| p.column == column.name) || taken.contains(&column.name);
        if !mapped && !left.iter().any(|(name, _)| *name == column.name) {
            left.push((
                column.name.clone(),
                "its name says nothing that is known here".to_owned(),
            ));
        }
    }
    left.retain(|(name, _)| !kept.iter().any(|p| p.column == *name));
    (kept, left)
}

/// Positions that move as aircraft do.
fn positions(proposals: &mut [Proposal], known: &mut Known, grid: &Grid) {
    let (Some(latitude), Some(longitude)) = (known.get("latitude_deg"), known.get("longitude_deg"))
    else {
        return;
    };
    let (speed, track) = from_positions(grid, latitude, longitude);
    let fast = median(speed.iter().copied().filter(|s| *s > 40.0).collect());
    if fast.is_some_and(|kt| (60.0..650.0).contains(&kt)) {
        for proposal in proposals
            .iter_mut()
            .filter(|p| p.parameter == "latitude_deg" || p.parameter == "longitude_deg")
        {
            proposal.confidence = Confidence::High;
            proposal.reasons.truncate(1);
            proposal
                .reasons
                .push("the positions move as fast as aircraft do".to_owned());
        }
        known.insert("position_speed_kt".to_owned(), speed);
        known.insert("position_track_deg".to_owned(), track);
    }
}

fn one(
    about: &Parameter,
    column: &Column,
    name: &Name,
    sure: bool,
    grid: &Grid,
    known: &Known,
    aircraft: &BTreeMap<String, AircraftType>,
) -> (Proposal, f64, f64) {
    let mut proposal = Proposal {
        parameter: about.name.clone(),
        column: column.name.clone(),
        keys: Vec::new(),
        confidence: Confidence::Guess,
        reasons: Vec::new(),
    };
    let exact = column.name == about.name;
    let by_name = if exact { None } else { name.unit(&about.unit) };
    proposal.reasons.push(match (exact, by_name) {
        (true, _) => "the catalogue's name".to_owned(),
        (_, Some(unit)) => format!("by name, with unit {unit}"),
        _ if sure => "by name".to_owned(),
        _ => "its name may mean it".to_owned(),
    });
    if !name.unknown.is_empty() {
        proposal.reasons.push(format!(
            "`{}` in the name means nothing here",
            name.unknown.join(" ")
        ));
    }
    if column.is_text {
        words(&mut proposal, column, about);
        return (proposal, 1.0, 0.0);
    }
    if about.name == "flap_lever" {
        lever(&mut proposal, column, sure, aircraft);
        return (proposal, 1.0, 0.0);
    }
    let named = by_name
        .and_then(|unit| units::conversion(unit, &about.unit))
        .unwrap_or((1.0, 0.0));
    let unit_known =
        exact || by_name.is_some() || ["0/1", "index", "deg"].contains(&about.unit.as_str());
    let (mut factor, mut summand) = named;
    // Above the lowest airspeed that is measured there is taxiing.
    let low = if about.unit == "kt" { -1.0 } else { about.low };
    // Angles may run from −180° or from 0°.
    let low = if about.kind == Kind::Circular {
        -360.0
    } else {
        low
    };
    let inside = |factor: f64, summand: f64| {
        let ends = [(low - summand) / factor, (about.high - summand) / factor];
        column.share_in(ends[0].min(ends[1]), ends[0].max(ends[1]))
    };
    match relation(&about.name, column, grid, known) {
        Relation::Holds {
            factor: found,
            summand: plus,
            why,
        } => {
            let same = (found.abs() / named.0).ln().abs() < 0.05;
            proposal.reasons.push(why);
            let halved = about.name == "pitch_deg";
            if unit_known && !same && !halved {
                proposal
                    .reasons
                    .push("the unit in the name says otherwise".to_owned());
            } else {
                proposal.confidence = if sure || same {
                    Confidence::High
                } else {
                    Confidence::Likely
                };
            }
            (factor, summand) = (found, plus);
        }
        Relation::Contradicts(why) => proposal.reasons.push(why),
        Relation::Untold => untold(&mut proposal, about, column, exact, sure, unit_known),
    }
    if about.unit == "1"
        && by_name.is_none()
        && !exact
        && column.high.is_some_and(|high| high > 1.5)
    {
        (factor, summand) = (0.01, 0.0);
        proposal
            .reasons
            .push("up to about 100: taken for percent".to_owned());
    }
    let inside = inside(factor, summand);
    if (0.9..0.999).contains(&inside) {
        proposal.reasons.push(format!(
            "{:.1} % of it is outside {} to {} {}",
            100.0 - 100.0 * inside,
            about.low,
            about.high,
            about.unit
        ));
    }
    if inside < 0.9 {
        proposal.confidence = Confidence::Guess;
        proposal.reasons.push(format!(
            "most of it is outside {} to {} {}",
            about.low, about.high, about.unit
        ));
    }
    cap(&mut proposal, about, name, exact, known);
    keys(&mut proposal, about, by_name, factor, summand);
    (proposal, factor, summand)
}

/// What may be said where there is nothing to hold a column against.
fn untold(
    proposal: &mut Proposal,
    about: &Parameter,
    column: &Column,
    exact: bool,
    sure: bool,
    unit_known: bool,
) {
    let states = about.unit == "0/1";
    let two =
        !column.distinct.is_empty() && column.share_in(0.0, 0.0) + column.share_in(1.0, 1.0) > 0.99;
    let sided = about.unit == "dots"
        || about.name == "lateral_accel_g"
        || about.name == "longitudinal_accel_g";
    let seldom = (0.0..0.2).contains(&column.share_in(1.0, 1.0)) && two;
    let thrust = about.name.starts_with("n1_")
        && column.quantile(0.99).is_some_and(|q| q > 40.0)
        && column.low.is_some_and(|low| low >= 0.0);
    proposal.confidence = if sure && thrust {
        proposal.reasons.push("its range is that of N1".to_owned());
        Confidence::High
    } else if exact {
        proposal
            .reasons
            .push("no other column to hold it against".to_owned());
        Confidence::Likely
    } else if sided && !exact {
        proposal
            .reasons
            .push("nothing tells its sign: that is a guess".to_owned());
        Confidence::Guess
    } else if states && !two {
        proposal
            .reasons
            .push("it does not hold 0 and 1 alone".to_owned());
        Confidence::Guess
    } else if states
        && !seldom
        && ["gear_down", "gear_lever", "on_ground"].contains(&about.name.as_str())
    {
        proposal
            .reasons
            .push("nothing tells which way round it is: that is a guess".to_owned());
        Confidence::Guess
    } else if sure && (unit_known || about.unit == "%" || about.unit == "1") {
        proposal
            .reasons
            .push("the range fits; no other column to hold it against".to_owned());
        Confidence::Likely
    } else {
        proposal
            .reasons
            .push(format!("its unit is not known; {} is a guess", about.unit));
        Confidence::Guess
    };
}

/// What no relation can tell.
fn cap(proposal: &mut Proposal, about: &Parameter, name: &Name, exact: bool, known: &Known) {
    let caution = match about.name.as_str() {
        "pressure_altitude_ft" if !name.has("pressure") => {
            "whether it is above 1013.25 hPa or as set by the crew is not told"
        }
        "heading_true_deg" if !name.has("true") => "whether it is true or magnetic is not told",
        "track_true_deg" if !name.has("true") && !known.contains_key("position_track_deg") => {
            "whether it is true or magnetic is not told"
        }
        _ => return,
    };
    if !exact && proposal.confidence == Confidence::High {
        proposal.confidence = Confidence::Likely;
        proposal.reasons.push(caution.to_owned());
    }
}
