//! Rule by rule: what was found of what happened, and what was found that did not.

use serde::Serialize;

use super::compare::criterion_unit;
use super::grid::{Cell, Column, Grid, Judged, Known};
use super::judged::Beyond;
use super::share::{Share, ratio};
use super::spread::Spread;

/// One rule, or one criterion of a gate.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RuleScore {
    /// Rule, or `GATE.CRITERION`.
    pub rule: String,
    /// Whether the review has any row for it; without one nothing below says anything.
    pub in_review: bool,
    /// Flights without damage.
    pub undamaged: Verdicts,
    /// Flights with damage.
    pub damaged: Verdicts,
    /// Measured values against true ones, on flights without damage; null where the two are
    /// different things, or nothing was measured.
    pub values: Option<Values>,
}

/// Verdicts against the truth. Events are those outside the band, unless said otherwise.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Verdicts {
    /// Approaches flown of which the truth speaks.
    pub approaches: u64,
    /// Those on which the rule could have fired, by the truth.
    pub evaluable: u64,
    /// The same by the review.
    pub evaluable_in_review: u64,
    /// Approaches on which the two agree on that.
    pub evaluability_agrees: u64,
    /// Of those evaluable by the truth: so close to the limit that a recorder may blur the
    /// verdict. Their verdicts are not compared.
    pub in_band: u64,
    /// `in_band` over `evaluable`.
    pub in_band_share: Option<f64>,
    /// Approaches with an event by the truth.
    pub events: u64,
    /// Those on which the review has it.
    pub found: u64,
    /// Of those found: only as edge events, which its rates leave out.
    pub found_as_edge_only: u64,
    /// Those that the review calls clear.
    pub missed_as_clear: u64,
    /// Those that the review did not judge: approach not found, or rule not evaluable.
    pub missed_unjudged: u64,
    /// Approaches with an event by the review and none by the truth.
    pub false_events: u64,
    /// Of those: where the truth says that the rule could not have fired.
    pub false_where_not_evaluable: u64,
    /// Of those: on approaches that were not flown.
    pub false_where_not_flown: u64,
    /// `found` over `events`.
    pub recall: Option<Share>,
    /// `found` over `found` and `false_events`.
    pub precision: Option<Share>,
}

/// Measured values against true ones.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Values {
    /// Unit of the differences.
    pub unit: Option<String>,
    /// Absolute differences.
    #[serde(flatten)]
    pub spread: Spread,
    /// Share of differences no larger than the approach's own band.
    pub within_band: Option<f64>,
}

/// What differs from the truth on a damaged flight, outside the band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum OneSided {
    /// A rule that could have fired was not judged, though the approach was found.
    Unjudged,
    Caused,
    LostAsClear,
    LostUnjudged,
    LostNotFound,
}

/// What is needed to tell damaged flights from others.
pub(super) struct Sides<'a> {
    /// Flight of each flown approach.
    pub(super) flight_of: &'a [u32],
    /// Whether the review found each flown approach.
    pub(super) is_found: &'a [bool],
    pub(super) is_damaged: &'a dyn Fn(u32) -> bool,
    /// Called for every difference on a damaged flight.
    pub(super) one_sided: &'a mut dyn FnMut(u32, &str, OneSided),
}

/// Scores every rule and criterion: rules first, each gate's criteria after all rules.
pub(super) fn score(grid: &Grid, beyond: &Beyond, sides: &mut Sides<'_>) -> Vec<RuleScore> {
    let mut scores: Vec<RuleScore> = (0..grid.names.len() as u32)
        .map(|number| rule(grid, number, beyond, sides))
        .collect();
    scores.sort_by_key(|score| score.rule.contains('.'));
    scores
}

fn rule(grid: &Grid, number: u32, beyond: &Beyond, sides: &mut Sides<'_>) -> RuleScore {
    let name = grid.names.word(number);
    let column = &grid.columns[number as usize];
    let (mut undamaged, mut damaged) = (Verdicts::default(), Verdicts::default());
    let mut differences = Vec::new();
    let mut within = 0;
    for (place, cell) in column.cells.iter().enumerate() {
        let flight = sides.flight_of[place];
        if !(sides.is_damaged)(flight) {
            undamaged.add(*cell);
            if let Some(difference) = difference(*cell) {
                differences.push(difference);
                within += u64::from(difference <= cell.band);
            }
            continue;
        }
        damaged.add(*cell);
        if cell.is_evaluable() && !cell.is_judged() && sides.is_found[place] {
            (sides.one_sided)(flight, name, OneSided::Unjudged);
        }
        if let Some(what) = one_sided(*cell, sides.is_found[place]) {
            (sides.one_sided)(flight, name, what);
        }
    }
    for (flight, _) in beyond.not_flown.iter().filter(|(_, rule)| *rule == number) {
        let is_damaged = (sides.is_damaged)(*flight);
        let verdicts = if is_damaged {
            &mut damaged
        } else {
            &mut undamaged
        };
        verdicts.false_events += 1;
        verdicts.false_where_not_flown += 1;
        if is_damaged {
            (sides.one_sided)(*flight, name, OneSided::Caused);
        }
    }
    RuleScore {
        rule: name.to_owned(),
        in_review: column.reviewed,
        undamaged: undamaged.finished(column.reviewed),
        damaged: damaged.finished(column.reviewed),
        values: values(name, column, differences, within),
    }
}

fn values(name: &str, column: &Column, differences: Vec<f32>, within: u64) -> Option<Values> {
    let spread = Spread::of(differences)?;
    Some(Values {
        unit: column
            .unit
            .clone()
            .or_else(|| criterion_unit(name).map(str::to_owned)),
        spread,
        within_band: ratio(within, spread.compared),
    })
}

/// How far the review's value is from the true one, where both judged and both have one.
fn difference(cell: Cell) -> Option<f32> {
    let difference = (cell.stated - cell.worst).abs();
    (cell.is_evaluable() && cell.is_judged() && !difference.is_nan()).then_some(difference)
}

fn one_sided(cell: Cell, is_found: bool) -> Option<OneSided> {
    match (cell.known, cell.judged) {
        _ if cell.in_band() => None,
        (Known::Event, Judged::Event) | (Known::Absent, _) => None,
        (Known::Event, Judged::Clear) => Some(OneSided::LostAsClear),
        (Known::Event, _) if is_found => Some(OneSided::LostUnjudged),
        (Known::Event, _) => Some(OneSided::LostNotFound),
        (_, Judged::Event) => Some(OneSided::Caused),
        _ => None,
    }
}

impl Verdicts {
    fn add(&mut self, cell: Cell) {
        if cell.known == Known::Absent {
            return;
        }
        let (evaluable, judged) = (cell.is_evaluable(), cell.is_judged());
        self.approaches += 1;
        self.evaluable += u64::from(evaluable);
        self.evaluable_in_review += u64::from(judged);
        self.evaluability_agrees += u64::from(evaluable == judged);
        if cell.in_band() {
            self.in_band += 1;
            return;
        }
        match (cell.known, cell.judged) {
            (Known::Event, seen) => {
                self.events += 1;
                match seen {
                    Judged::Event => {
                        self.found += 1;
                        self.found_as_edge_only += u64::from(!cell.counts);
                    }
                    Judged::Clear => self.missed_as_clear += 1,
                    Judged::NotEvaluable | Judged::Absent => self.missed_unjudged += 1,
                }
            }
            (known, Judged::Event) => {
                self.false_events += 1;
                self.false_where_not_evaluable += u64::from(known != Known::Clear);
            }
            _ => {}
        }
    }

    /// With the shares, which say something only where the review has the rule at all.
    fn finished(mut self, reviewed: bool) -> Self {
        self.in_band_share = ratio(self.in_band, self.evaluable);
        if reviewed {
            self.recall = Share::of(self.found, self.events);
            self.precision = Share::of(self.found, self.found + self.false_events);
        }
        self
    }
}
