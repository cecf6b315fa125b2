//! Summarise: verdicts to rates, trends, places and topics, per rule, family, level, month and group, fit to
//! be passed round.
//!
//! Every rate divides by the approaches on which that rule could have fired. Small cells are
//! suppressed here, before anything leaves. Nothing here reads a file, and only `second_look` and `examples`,
//! which stay restricted, can name a flight: everything else is counts.

mod calendar;
mod chart;
mod conduct;
mod core_events;
mod count;
mod dispersion;
mod energy;
mod examples;
mod facts;
mod frame;
mod funnel;
mod group;
mod hotspots;
mod interventions;
mod mix;
mod months;
mod precision;
mod recovery;
mod restated;
mod robustness;
mod rows;
mod scene;
mod second_look;
mod slope;
mod subject;
mod suppress;
mod topics;
mod trend;
mod verdicts;
mod window;

use std::collections::BTreeMap;

use ::records::fleet::{Flags, InterventionRow, VerdictRow};
use ::records::rows::ApproachRow;
use rayon::prelude::*;
use stats::Counted;

pub use conduct::{Conduct, CriterionRow, DecisionRow, SpreadRow, conduct};
pub use energy::{
    CHECKPOINTS, DecisiveRow, Energy, EnergyInput, LossRateRow, LossTable, OutcomeRow,
    RecoverabilityRow, Routing, ShortcutRow, calibrate, energy, loss_rates, reclassify,
    settle_approaches,
};
pub use examples::ExampleRow;
pub use facts::{Checkpoints, Gates, Losses, Measured, Moves, ParameterFacts, Places, Qualities};
pub(crate) use facts::{Fold, add_rows, fold};
pub use funnel::{FunnelPoint, funnel};
pub use interventions::BeforeAfterRow;
pub use precision::PrecisionRow;
pub use recovery::{FlownCounts, RecoveryRow, flown_counts, recovery};
pub use restated::{Earlier, Part, RestatedRow, restated};
pub use robustness::{RuleRobustnessRow, robustness};
pub use rows::{CoverageRow, HotspotRow, RateRow, SlopeRow, TrendRow};
pub use second_look::SecondLookRow;
pub use topics::{CLEARLY_AUC, TopicRow};

use crate::rows::EventRow;
use count::{LEVELS, Tally};
use frame::Frame;
use group::Group;
use scene::{FLEET, Scene};
use subject::{Coverage, Name, Status, Subject};
use verdicts::Verdicts;
use window::Window;

/// How to summarise; printed in every report.
#[derive(Debug, Clone, PartialEq)]
pub struct SummaryOptions {
    /// Cells with fewer distinct flights in the denominator are suppressed.
    pub min_flights: usize,
    /// Cells with fewer distinct tail-days are suppressed, where days are known. At most 8: more are not told
    /// apart, and no cell would be shown.
    pub min_tail_days: usize,
    /// Confidence of every interval.
    pub confidence: f64,
    /// Height of the gate that decides whether an approach was stable.
    pub governing_gate_ft: f64,
    /// What makes a change, a trend or a place worth a flag.
    pub flags: Flags,
}

impl Default for SummaryOptions {
    fn default() -> Self {
        Self {
            min_flights: 10,
            min_tail_days: 3,
            confidence: 0.95,
            governing_gate_ft: 500.0,
            flags: Flags::default(),
        }
    }
}

/// What is known of a rule besides its verdicts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RuleNote {
    /// What it finds, in words.
    pub title: String,
    /// Family it belongs to.
    pub family: String,
    /// Training topics it is evidence for.
    pub topics: Vec<String>,
    /// On trial: measured and shown, never classed, ranked or flagged.
    pub trial: bool,
}

/// Everything a summary is made of.
#[derive(Debug, Clone, Copy)]
pub struct SummaryInput<'a> {
    /// In the order of the tables.
    pub approaches: &'a [ApproachRow],
    /// What every rule says of each.
    pub measured: &'a Measured,
    /// In the order of the tables.
    pub events: &'a [EventRow],
    /// Every rule that judged, by id.
    pub rules: &'a BTreeMap<String, RuleNote>,
    /// Which checkpoint decides, by group.
    pub decisive: &'a [DecisiveRow],
    /// What the operator changed.
    pub interventions: &'a [InterventionRow],
    /// What people who looked at events say of them.
    pub verdicts: &'a [VerdictRow],
}

/// The tables, all but `second_look` and `examples` fit to be passed round.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Summary {
    /// Rule or family × level × group over all months.
    pub rates: Vec<RateRow>,
    /// Rule or family × level × month × group.
    pub trend_monthly: Vec<TrendRow>,
    /// Rule or family × level × group.
    pub trend_slope: Vec<SlopeRow>,
    /// Airport (× runway) × rule or family.
    pub hotspots: Vec<HotspotRow>,
    /// Rule × month × group: on how much could the rule be judged.
    pub coverage: Vec<CoverageRow>,
    /// Topic × group.
    pub training_topics: Vec<TopicRow>,
    /// Intervention × rule or family.
    pub interventions: Vec<BeforeAfterRow>,
    /// Rule × level.
    pub precision: Vec<PrecisionRow>,
    /// One row an approach and rule that a person should look at. Names flights.
    pub second_look: Vec<SecondLookRow>,
    /// Topic × place: approaches to talk it over with. Names flights.
    pub examples: Vec<ExampleRow>,
    /// Verdicts of people that are about no event of this review.
    pub verdicts_without_event: usize,
}

/// Why a cell is suppressed: fewer distinct flights than a shown cell must have.
pub const FEW_FLIGHTS: &str = "too few flights";
/// Why a cell is suppressed: fewer distinct tail-days than a shown cell must have.
pub const FEW_DAYS: &str = "too few tail-days";
/// Why a cell is suppressed: with it, the size of another could be found by subtraction.
pub const GIVES_AWAY: &str = "would give another cell away";

/// Summarises verdicts over all months that are given.
///
/// Only line flights count; training and positioning flights stay in the row-level tables.
#[must_use]
pub fn summarise(input: &SummaryInput<'_>, options: &SummaryOptions) -> Summary {
    let scene = Scene::new(Frame::new(input.approaches), options);
    let by_rule = verdicts::by_rule(&scene.frame, input.measured, input.events);
    let window = Window::new(&scene.frame);
    let topics = topics::counted(&scene, &by_rule, input.rules);
    let subjects = subjects(&scene, by_rule, input.rules);
    let mut summary = Summary {
        trend_monthly: trend::rows(&scene, &subjects),
        trend_slope: slope::rows(&scene, &subjects),
        interventions: interventions::rows(&scene, &subjects, input.interventions),
        ..Summary::default()
    };
    let of_subjects: Vec<OfSubject> = subjects
        .par_iter()
        .map(|subject| OfSubject::new(&scene, subject, &window))
        .collect();
    for one in of_subjects {
        summary.rates.extend(one.rates);
        summary.coverage.extend(one.coverage);
        summary.hotspots.extend(one.hotspots);
    }
    summary.training_topics =
        topics::rows(&scene, &topics, &window, &summary.hotspots, input.decisive);
    summary.second_look = second_look::rows(&scene, input, &summary, &window);
    summary.examples = examples::rows(&scene, input, &summary.training_topics, &window);
    (summary.precision, summary.verdicts_without_event) =
        precision::rows(input, &summary.second_look, options);
    summary
}

/// The rates of each rule over the whole fleet, level by level, and nothing else.
#[must_use]
pub fn fleet_rates(
    approaches: &[ApproachRow],
    measured: &Measured,
    events: &[EventRow],
    options: &SummaryOptions,
) -> BTreeMap<String, Vec<RateRow>> {
    let scene = Scene::new(Frame::new(approaches), options);
    let by_rule = verdicts::by_rule(&scene.frame, measured, events);
    let rows = by_rule.into_iter().map(|(rule, verdicts)| {
        let name = Name {
            rule: Some(rule.clone()),
            family: String::new(),
            status: Status::Core,
        };
        let subject = Subject::new(&scene.frame, name, verdicts, Vec::new(), options);
        let mut rows = rates(&scene, &subject);
        rows.retain(|row| row.group_kind == Group::Fleet.kind());
        (rule, rows)
    });
    rows.collect()
}

/// The rules in the order of their ids, then the families in the order of their names. Each is counted by itself.
fn subjects(
    scene: &Scene<'_>,
    by_rule: BTreeMap<String, Verdicts>,
    rules: &BTreeMap<String, RuleNote>,
) -> Vec<Subject> {
    let unknown = RuleNote::default();
    let note = |rule: &str| rules.get(rule).unwrap_or(&unknown);
    let mut members: BTreeMap<&str, Vec<&Verdicts>> = BTreeMap::new();
    for (rule, verdicts) in &by_rule {
        let note = note(rule);
        // What is on trial may not move what counts.
        if !note.trial && !note.family.is_empty() {
            members.entry(&note.family).or_default().push(verdicts);
        }
    }
    let together: Vec<(&str, Verdicts)> = members
        .into_iter()
        .filter(|(_, members)| members.len() > 1)
        .map(|(family, members)| (family, verdicts::together(members.into_iter())))
        .collect();
    let by_rule: Vec<(String, Verdicts)> = by_rule.into_iter().collect();
    let of_rule = |(rule, verdicts): (String, Verdicts)| {
        let note = note(&rule);
        let name = Name {
            family: note.family.clone(),
            status: if note.trial {
                Status::Trial
            } else {
                Status::Core
            },
            rule: Some(rule),
        };
        Subject::new(&scene.frame, name, verdicts, Vec::new(), scene.options)
    };
    let mut subjects: Vec<Subject> = by_rule.into_par_iter().map(of_rule).collect();
    let mut coverage: BTreeMap<&str, Vec<Coverage>> = BTreeMap::new();
    for subject in &subjects {
        let fires = subject
            .totals
            .get(FLEET)
            .is_some_and(|tally| tally.at_least[0] > 0);
        if subject.name.status == Status::Core && fires {
            let own = coverage.entry(&subject.name.family).or_default();
            own.extend(subject.coverage.iter().cloned());
        }
    }
    let together: Vec<(&str, Verdicts, Vec<Coverage>)> = together
        .into_iter()
        .map(|(family, verdicts)| {
            let members = coverage.remove(family).unwrap_or_default();
            (family, verdicts, members)
        })
        .collect();
    let of_family = |(family, verdicts, members): (&str, Verdicts, Vec<Coverage>)| {
        let name = Name {
            rule: None,
            family: family.to_owned(),
            status: Status::Core,
        };
        Subject::new(&scene.frame, name, verdicts, members, scene.options)
    };
    let families: Vec<Subject> = together.into_par_iter().map(of_family).collect();
    subjects.extend(families);
    subjects
}

/// The rows of one subject that depend on no other.
struct OfSubject {
    rates: Vec<RateRow>,
    coverage: Vec<CoverageRow>,
    hotspots: Vec<HotspotRow>,
}

impl OfSubject {
    fn new(scene: &Scene<'_>, subject: &Subject, window: &Window) -> Self {
        let rule = subject.name.rule.as_deref();
        Self {
            rates: rates(scene, subject),
            coverage: rule.map_or_else(Vec::new, |rule| coverage(scene, subject, rule)),
            hotspots: hotspots::rows(scene, subject, window),
        }
    }
}

fn rates(scene: &Scene<'_>, subject: &Subject) -> Vec<RateRow> {
    let mut rows = Vec::new();
    let groups = scene.frame.groups.iter().zip(&subject.totals).enumerate();
    for (number, (group, tally)) in groups.filter(|(_, (_, tally))| tally.approaches > 0) {
        let hidden = scene.hides_total(subject, number, tally);
        let unseen = scene.hides_size(number).is_some();
        for level in 0..LEVELS.len() {
            let shown = Shown::new(tally, level, scene.options, subject.phi).unless(hidden);
            rows.push(RateRow::new(subject, group, tally, level, &shown, unseen));
        }
    }
    rows
}

fn coverage(scene: &Scene<'_>, subject: &Subject, rule: &str) -> Vec<CoverageRow> {
    let frame = &scene.frame;
    let mut rows = Vec::new();
    for (number, group) in frame.groups.iter().enumerate() {
        for (month, name) in frame.months.iter().enumerate() {
            let tally = subject.grid.cell(number, month);
            if tally.approaches == 0 || !frame.is_known(month) {
                continue;
            }
            // How much of the whole fleet could be judged is about recorders, not about anyone.
            let hidden = scene
                .hides_month(subject, (number, month), tally)
                .or(scene.hides_size_of_month(number, month))
                .filter(|_| number != FLEET);
            rows.push(CoverageRow::new(
                rule,
                &subject.verdicts.reasons,
                (group, name),
                tally,
                hidden,
                scene.options,
            ));
        }
    }
    rows
}

/// Numbers of a cell as they may be shown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Shown {
    /// Why nothing is shown.
    hidden: Option<&'static str>,
    evaluable: Option<i64>,
    approaches_with_event: Option<i64>,
    events: Option<i64>,
    events_edge: Option<i64>,
    rate: Option<stats::Rate>,
}

impl Shown {
    fn new(tally: &Tally, level: usize, options: &SummaryOptions, phi: Option<f64>) -> Self {
        Self::knowing(None, tally, level, options, phi)
    }

    /// The same, where the rate of these counts is known already.
    fn knowing(
        known: Option<stats::Rate>,
        tally: &Tally,
        level: usize,
        options: &SummaryOptions,
        phi: Option<f64>,
    ) -> Self {
        Self {
            hidden: None,
            evaluable: Some(tally.evaluable),
            approaches_with_event: Some(tally.at_least[level]),
            events: Some(tally.events[level]),
            events_edge: Some(tally.edge[level]),
            rate: known.or_else(|| rate(counted(tally, level), options, phi)),
        }
    }

    fn unless(self, hidden: Option<&'static str>) -> Self {
        if hidden.is_some() {
            Self {
                hidden,
                ..Self::default()
            }
        } else {
            self
        }
    }
}

/// A rate of approaches with an event: no true one lies above all approaches, though the Poisson interval of a
/// frequent event would reach there.
fn rate(counted: Counted, options: &SummaryOptions, phi: Option<f64>) -> Option<stats::Rate> {
    let rate = stats::rate_per_1000(counted, options.confidence, phi)?;
    Some(stats::Rate {
        high: rate.high.min(1000.0),
        ..rate
    })
}

#[allow(clippy::cast_precision_loss)] // counts of approaches
fn counted(tally: &Tally, level: usize) -> Counted {
    Counted::new(tally.at_least[level] as f64, tally.evaluable as f64)
}

/// A figure that rests on cells which are hidden too: more digits would let these be solved for.
fn three_digits(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests;
