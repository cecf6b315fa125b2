//! Track miles that direct routings took away, by where the arrival came from, and what that did.
//!
//! A shortcut makes a well-planned descent high through no habit of the crew.

use std::collections::{BTreeMap, BTreeSet};

use records::rows::{ApproachRow, ArrivalRow};
use stats::{Counted, quantile, wilson};

use super::super::facts::Checkpoints;
use super::super::{FEW_FLIGHTS, SummaryOptions};
use super::verdict::Ended;
use super::{CHECKPOINTS, ShortcutRow};

/// So many track miles more or fewer than usual count: judgement.
const COUNTS_NM: f64 = 1.5;
/// A speed held over so much of the way was most likely asked for: judgement.
const HELD_NM: f64 = 5.0;
/// The checkpoint at which the energy is compared.
const COMPARED_AT: &str = "10nm";

/// How the track of an approach compares with the usual one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Routing {
    /// Fewer miles than usual.
    Shortened,
    /// As usual.
    Usual,
    /// More miles than usual.
    Extended,
}

impl Routing {
    /// As stored.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Shortened => "shortened",
            Self::Usual => "usual",
            Self::Extended => "extended",
        }
    }
}

/// Runway end and direction of an arrival.
type Route<'a> = (&'a str, &'a str, &'a str);

/// The ledger of a fleet.
pub(super) struct Ledger<'a> {
    /// Usual track miles from the circle, by route.
    usual: BTreeMap<Route<'a>, f64>,
    own: BTreeMap<(&'a str, i32), (Route<'a>, &'a ArrivalRow)>,
}

impl<'a> Ledger<'a> {
    /// Usual is the median of a route that enough flights took.
    pub(super) fn of(
        approaches: &'a [ApproachRow],
        arrivals: &'a [ArrivalRow],
        options: &SummaryOptions,
    ) -> Self {
        let places: BTreeMap<(&str, i32), &ApproachRow> = approaches
            .iter()
            .filter(|row| row.is_line())
            .map(|row| ((row.flight_id.as_str(), row.approach_no), row))
            .collect();
        let mut own = BTreeMap::new();
        let mut tracks: BTreeMap<Route<'_>, Vec<(f64, &str)>> = BTreeMap::new();
        for arrival in arrivals {
            let key = (arrival.flight_id.as_str(), arrival.approach_no);
            let route = places.get(&key).and_then(|row| {
                Some((
                    row.airport.as_deref()?,
                    row.runway.as_deref()?,
                    arrival.from_direction.as_deref()?,
                ))
            });
            if let (Some(route), Some(nm)) = (route, arrival.track_nm) {
                tracks.entry(route).or_default().push((nm, key.0));
                own.insert(key, (route, arrival));
            }
        }
        let usual = tracks.into_iter().filter_map(|(route, tracks)| {
            let flights: BTreeSet<&str> = tracks.iter().map(|track| track.1).collect();
            let mut miles: Vec<f64> = tracks.iter().map(|track| track.0).collect();
            miles.sort_by(f64::total_cmp);
            let median = quantile(&miles, 0.5)?;
            (flights.len() >= options.min_flights).then_some((route, median))
        });
        Self {
            usual: usual.collect(),
            own,
        }
    }

    /// Miles that an approach flew less than usual; none where the usual way is not known.
    fn taken_nm(&self, key: (&str, i32)) -> Option<f64> {
        let (route, arrival) = self.own.get(&key)?;
        Some(self.usual.get(route)? - arrival.track_nm?)
    }

    /// How an approach was routed.
    pub(super) fn routing(&self, row: &ApproachRow) -> Option<Routing> {
        let taken = self.taken_nm((&row.flight_id, row.approach_no))?;
        Some(if taken >= COUNTS_NM {
            Routing::Shortened
        } else if taken <= -COUNTS_NM {
            Routing::Extended
        } else {
            Routing::Usual
        })
    }

    /// Whether one speed was held over most of the way.
    fn held_speed(&self, row: &ApproachRow) -> bool {
        let own = self.own.get(&(row.flight_id.as_str(), row.approach_no));
        own.and_then(|(_, arrival)| arrival.held_speed_nm)
            .is_some_and(|nm| nm >= HELD_NM)
    }
}

/// One row a route and routing, and one a routing over all routes.
pub(super) fn shortcuts(
    ledger: &Ledger<'_>,
    ended: &[Ended<'_>],
    checkpoints: &Checkpoints,
    options: &SummaryOptions,
) -> Vec<ShortcutRow> {
    let compared_at = CHECKPOINTS.iter().position(|name| *name == COMPARED_AT);
    let excess_ft = |one: &Ended<'_>| checkpoints.excess_ft(compared_at?, one.place);
    let mut cells: BTreeMap<(Option<Route<'_>>, Routing), Vec<&Ended<'_>>> = BTreeMap::new();
    for one in ended {
        let key = (one.row.flight_id.as_str(), one.row.approach_no);
        let (Some(routing), Some((route, _))) = (ledger.routing(one.row), ledger.own.get(&key))
        else {
            continue;
        };
        cells.entry((None, routing)).or_default().push(one);
        cells.entry((Some(*route), routing)).or_default().push(one);
    }
    let hidden = hidden(&cells, options);
    cells
        .iter()
        .map(|(cell @ (route, routing), members)| {
            let usual_nm = route.and_then(|route| ledger.usual.get(&route).copied());
            let row = ShortcutRow {
                airport: route.map(|route| route.0.to_owned()),
                runway: route.map(|route| route.1.to_owned()),
                from_direction: route.map(|route| route.2.to_owned()),
                routing: routing.as_str().to_owned(),
                usual_track_nm: usual_nm,
                ..ShortcutRow::default()
            };
            if hidden.contains(cell) {
                return ShortcutRow {
                    suppressed: Some(FEW_FLIGHTS.to_owned()),
                    ..row
                };
            }
            filled(row, members, ledger, &excess_ft, options)
        })
        .collect()
}

type Cell<'a> = (Option<Route<'a>>, Routing);

/// Cells of too few flights; where one of a route is, the whole route: three cells and a total would give
/// it away.
fn hidden<'a>(
    cells: &BTreeMap<Cell<'a>, Vec<&Ended<'_>>>,
    options: &SummaryOptions,
) -> BTreeSet<Cell<'a>> {
    let small = |members: &Vec<&Ended<'_>>| {
        let flights: BTreeSet<&str> = members
            .iter()
            .map(|one| one.row.flight_id.as_str())
            .collect();
        flights.len() < options.min_flights
    };
    let routes: BTreeSet<Option<Route<'a>>> = cells
        .iter()
        .filter(|(_, members)| small(members))
        .map(|((route, _), _)| *route)
        .collect();
    let mut hidden: BTreeSet<Cell<'a>> = cells
        .keys()
        .filter(|(route, _)| routes.contains(route))
        .copied()
        .collect();
    // The sum over all routes less those that are shown is what the hidden ones have together.
    let gives_away = [Routing::Shortened, Routing::Usual, Routing::Extended]
        .iter()
        .any(|routing| {
            let inside = cells.iter().filter(|((route, own), _)| {
                own == routing && route.is_some() && routes.contains(route)
            });
            let sizes: Vec<usize> = inside.map(|(_, members)| members.len()).collect();
            let all: usize = sizes.iter().sum();
            !sizes.is_empty() && (sizes.len() < 2 || all < options.min_flights)
        });
    if gives_away {
        hidden.extend(cells.keys().filter(|(route, _)| route.is_none()));
    }
    hidden
}

fn filled(
    row: ShortcutRow,
    members: &[&Ended<'_>],
    ledger: &Ledger<'_>,
    excess_ft: &dyn Fn(&Ended<'_>) -> Option<f64>,
    options: &SummaryOptions,
) -> ShortcutRow {
    let key = |one: &&Ended<'_>| (one.row.flight_id.clone(), one.row.approach_no);
    let sorted = |values: &mut dyn Iterator<Item = f64>| {
        let mut values: Vec<f64> = values.collect();
        values.sort_by(f64::total_cmp);
        values
    };
    let taken = sorted(&mut members.iter().filter_map(|one| {
        let (flight, number) = key(one);
        ledger.taken_nm((&flight, number))
    }));
    let excess = sorted(&mut members.iter().filter_map(|one| excess_ft(one)));
    let unstable = members.iter().filter(|one| one.unstable).count();
    let held = members
        .iter()
        .filter(|one| ledger.held_speed(one.row))
        .count();
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let (all, events, held) = (members.len() as f64, unstable as f64, held as f64);
    let share = wilson(Counted::new(events, all), options.confidence, None);
    ShortcutRow {
        approaches: i64::try_from(members.len()).ok(),
        miles_taken_median_nm: quantile(&taken, 0.5),
        held_speed_share: Some(held / all),
        energy_excess_10nm_median_ft: quantile(&excess, 0.5),
        unstable: i64::try_from(unstable).ok(),
        unstable_share: share.map(|share| share.share),
        ci_low: share.map(|share| share.low),
        ci_high: share.map(|share| share.high),
        ..row
    }
}
