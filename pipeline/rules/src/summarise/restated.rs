//! `restated`: what is different now in the months that the review before showed.
//!
//! Flights come in late, are replaced or go; rules change. Whoever remembers last month's figures finds here
//! which of them are others now, and why.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use serde::{Deserialize, Serialize};
use stats::Counted;

use ::records::rows::ApproachRow;

use super::{FEW_FLIGHTS, SummaryInput, SummaryOptions};
use crate::rows::EventRow;

/// Rows that are in one state of the store and not in the other.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Part {
    /// Approaches.
    pub approaches: Vec<ApproachRow>,
    /// By rule: the keys of the approaches it has a verdict on, and whether it could have fired there.
    pub judged: BTreeMap<String, Vec<(i64, bool)>>,
    /// Events.
    pub events: Vec<EventRow>,
}

/// How the state of the review before differs from the present one.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Earlier {
    /// Latest month that the review before showed.
    pub last_month: String,
    /// Rows that were there and are no more.
    pub gone: Part,
    /// Rows that are there now and were not.
    pub come: Part,
    /// Rules whose meaning has changed since.
    pub rules_changed: BTreeSet<String>,
}

/// Month × rule of which a figure has changed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RestatedRow {
    /// `YYYY-MM`.
    pub month: String,
    /// Rule id.
    pub rule: String,
    /// Flights that came, went or are judged otherwise.
    pub flights_changed: Option<i64>,
    /// Approaches on which the rule could have fired, in the review before.
    pub evaluable_before: Option<i64>,
    /// The same now.
    pub evaluable_now: Option<i64>,
    /// Those with an event of any level, in the review before.
    pub approaches_with_event_before: Option<i64>,
    /// The same now.
    pub approaches_with_event_now: Option<i64>,
    /// Rate per 1,000 in the review before.
    pub rate_per_1000_before: Option<f64>,
    /// The same now.
    pub rate_per_1000_now: Option<f64>,
    /// `late flights`, `flights removed`, `judged again`, `rule changed`; several separated by semicolons.
    pub cause: String,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// Whether a rule could have fired on an approach, and did.
type Said = (bool, bool);
type Key<'a> = (&'a str, &'a str);
/// Verdicts of one rule by month, then by flight and approach.
type Verdicts<'a> = BTreeMap<&'a str, BTreeMap<(&'a str, i32), Said>>;
/// Approaches with an event that counts.
type Fired<'a> = BTreeSet<(&'a str, i32, &'a str)>;

/// The rows, by month and rule; only what has changed has one.
#[must_use]
pub fn restated(
    earlier: &Earlier,
    now: &SummaryInput<'_>,
    options: &SummaryOptions,
) -> Vec<RestatedRow> {
    let (gone, come) = (&earlier.gone, &earlier.come);
    if gone.judged.is_empty() && come.judged.is_empty() {
        return Vec::new();
    }
    let present: HashMap<i64, &ApproachRow> = by_key(now.approaches);
    let mut past = present.clone();
    past.extend(by_key(&gone.approaches));
    let (fired_then, fired_since) = (fired(&gone.events), fired(&come.events));
    let fired_now = fired(now.events);
    let rules: BTreeSet<&String> = gone.judged.keys().chain(come.judged.keys()).collect();
    let none = BTreeMap::new();
    let mut rows = Vec::new();
    // Rule by rule: of all of them together there may be many times as many verdicts as approaches.
    for rule in rules {
        let gone = verdicts(&past, gone, rule, &fired_then, earlier);
        let come = verdicts(&present, come, rule, &fired_since, earlier);
        let totals = totals(now, rule, &fired_now);
        let months: BTreeSet<&str> = gone.keys().chain(come.keys()).copied().collect();
        rows.extend(months.into_iter().filter_map(|month| {
            let gone = gone.get(month).unwrap_or(&none);
            let come = come.get(month).unwrap_or(&none);
            let total = totals.get(month).copied().unwrap_or_default();
            row((month, rule), gone, come, total, earlier, options)
        }));
    }
    rows.sort_by(|a, b| (&a.month, &a.rule).cmp(&(&b.month, &b.rule)));
    rows
}

fn by_key(rows: &[ApproachRow]) -> HashMap<i64, &ApproachRow> {
    let line = rows.iter().filter(|row| row.is_line());
    line.map(|row| (row.approach_key, row)).collect()
}

fn fired(events: &[EventRow]) -> Fired<'_> {
    let counts = |event: &&EventRow| !event.partial && event.edge != Some(true);
    events
        .iter()
        .filter(counts)
        .map(|event| {
            (
                event.flight_id.as_str(),
                event.approach_no,
                event.rule.as_str(),
            )
        })
        .collect()
}

fn verdicts<'a>(
    approaches: &HashMap<i64, &'a ApproachRow>,
    part: &Part,
    rule: &str,
    fired: &Fired<'_>,
    earlier: &Earlier,
) -> Verdicts<'a> {
    let mut found = Verdicts::new();
    for (approach_key, evaluable) in part.judged.get(rule).into_iter().flatten() {
        let Some(approach) = approaches.get(approach_key) else {
            continue;
        };
        let month = approach.month.as_deref();
        let Some(month) = month.filter(|month| *month <= earlier.last_month.as_str()) else {
            continue;
        };
        let (flight, number) = (approach.flight_id.as_str(), approach.approach_no);
        let said = (
            *evaluable,
            *evaluable && fired.contains(&(flight, number, rule)),
        );
        found
            .entry(month)
            .or_default()
            .insert((flight, number), said);
    }
    found
}

/// Evaluable approaches and those with an event, now, by month.
fn totals<'a>(
    now: &SummaryInput<'a>,
    rule: &str,
    fired: &Fired<'_>,
) -> BTreeMap<&'a str, (i64, i64)> {
    let mut totals: BTreeMap<&str, (i64, i64)> = BTreeMap::new();
    let Some(cells) = now.measured.rule(rule).map(|rule| &rule.cells) else {
        return totals;
    };
    let said = now.approaches.iter().zip(cells);
    for (approach, _) in said.filter(|(row, cell)| row.is_line() && cell.said.is_evaluable()) {
        if let Some(month) = approach.month.as_deref() {
            let total = totals.entry(month).or_default();
            let key = (approach.flight_id.as_str(), approach.approach_no, rule);
            total.0 += 1;
            total.1 += i64::from(fired.contains(&key));
        }
    }
    totals
}

fn row(
    (month, rule): Key<'_>,
    gone: &BTreeMap<(&str, i32), Said>,
    come: &BTreeMap<(&str, i32), Said>,
    (evaluable, with_event): (i64, i64),
    earlier: &Earlier,
    options: &SummaryOptions,
) -> Option<RestatedRow> {
    let mut flights: BTreeSet<&str> = BTreeSet::new();
    let mut causes: BTreeSet<&str> = BTreeSet::new();
    let (mut evaluable_before, mut with_event_before) = (evaluable, with_event);
    let approaches: BTreeSet<&(&str, i32)> = gone.keys().chain(come.keys()).collect();
    for approach in approaches {
        let (was, is) = (gone.get(approach), come.get(approach));
        if was == is {
            continue;
        }
        flights.insert(approach.0);
        causes.insert(match (was, is) {
            (None, _) => "late flights",
            (_, None) => "flights removed",
            _ if earlier.rules_changed.contains(rule) => "rule changed",
            _ => "judged again",
        });
        let count = |said: Option<&Said>| {
            said.map_or((0, 0), |said| (i64::from(said.0), i64::from(said.1)))
        };
        let (was, is) = (count(was), count(is));
        evaluable_before += was.0 - is.0;
        with_event_before += was.1 - is.1;
    }
    if (evaluable_before, with_event_before) == (evaluable, with_event) {
        return None;
    }
    let hidden = (flights.len() < options.min_flights).then_some(FEW_FLIGHTS);
    let shown = |count: i64| hidden.is_none().then_some(count);
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let rate = |x: i64, n: i64| {
        let rate = stats::rate_per_1000(Counted::new(x as f64, n as f64), options.confidence, None);
        rate.filter(|_| hidden.is_none()).map(|rate| rate.per_1000)
    };
    Some(RestatedRow {
        month: month.to_owned(),
        rule: rule.to_owned(),
        flights_changed: i64::try_from(flights.len()).ok().and_then(shown),
        evaluable_before: shown(evaluable_before),
        evaluable_now: shown(evaluable),
        approaches_with_event_before: shown(with_event_before),
        approaches_with_event_now: shown(with_event),
        rate_per_1000_before: rate(with_event_before, evaluable_before),
        rate_per_1000_now: rate(with_event, evaluable),
        cause: causes.into_iter().collect::<Vec<_>>().join("; "),
        suppressed: hidden.map(str::to_owned),
    })
}
