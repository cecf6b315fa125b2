//! The rows of the tables that may be passed round. Null is not computed, unknown or suppressed;
//! `suppressed` tells which cells are the latter. In tables of rules and families a null `rule` is the whole
//! family.

mod hotspots;
mod slope;
mod trend;

use serde::{Deserialize, Serialize};

pub use hotspots::HotspotRow;
pub use slope::SlopeRow;
pub use trend::TrendRow;

use super::count::{LEVELS, Tally};
use super::group::Group;
use super::subject::Subject;
use super::{Shown, SummaryOptions};

/// Rule or family × level × group over all months.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateRow {
    /// Rule id; null = the whole family.
    pub rule: Option<String>,
    /// Version of the rule; null for a family.
    pub rule_version: Option<u32>,
    /// Family of the rule.
    pub family: String,
    /// `core`, or `trial`: measured and shown, never flagged.
    pub rule_status: String,
    /// The row counts approaches with an event of at least this level.
    pub at_least_level: String,
    /// `fleet`, `aircraft_type`, `airport`, `runway`.
    pub group_kind: String,
    /// Name of the group; `unknown` where the record does not tell.
    pub group: String,
    /// Line approaches in the group.
    pub approaches: Option<i64>,
    /// Those in which the situation occurred that the rule is about, judged or not.
    pub in_scope: Option<i64>,
    /// Those on which the rule could have fired: the denominator.
    pub evaluable: Option<i64>,
    /// Those with an event of at least the level.
    pub approaches_with_event: Option<i64>,
    /// Events of at least the level, edge events left out.
    pub events: Option<i64>,
    /// Edge events of at least the level.
    pub events_edge: Option<i64>,
    /// 1,000 × `approaches_with_event` / `evaluable`.
    pub rate_per_1000: Option<f64>,
    /// Lower end of the interval.
    pub ci_low: Option<f64>,
    /// Upper end of the interval.
    pub ci_high: Option<f64>,
    /// Dispersion used for the interval; null = not estimated.
    pub phi: Option<f64>,
    /// Hash of the limits that applied in the fleet.
    pub limits_hash: String,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// Rule × month × group: on how much could the rule be judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoverageRow {
    /// Rule id.
    pub rule: String,
    /// `YYYY-MM`.
    pub month: String,
    /// `fleet`, `aircraft_type`, `airport`, `runway`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// Line approaches in the cell.
    pub approaches: Option<i64>,
    /// Those in which the situation occurred that the rule is about, judged or not.
    pub in_scope: Option<i64>,
    /// Those on which the rule could have fired.
    pub evaluable: Option<i64>,
    /// `evaluable` / `approaches`.
    pub share: Option<f64>,
    /// `evaluable` / `in_scope`: what missing data leave; comparisons go by it.
    pub share_of_scope: Option<f64>,
    /// The most frequent reasons why not, with counts.
    pub top_reasons: Option<String>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

pub(super) fn withheld(hidden: Option<&'static str>) -> Option<String> {
    hidden.map(str::to_owned)
}

impl RateRow {
    pub(super) fn new(
        subject: &Subject,
        group: &Group,
        tally: &Tally,
        level: usize,
        shown: &Shown,
        unseen: bool,
    ) -> Self {
        let name = &subject.name;
        Self {
            rule: name.rule.clone(),
            rule_version: subject.verdicts.version.filter(|_| name.rule.is_some()),
            family: name.family.clone(),
            rule_status: name.status.as_str().to_owned(),
            at_least_level: LEVELS[level].to_owned(),
            group_kind: group.kind().to_owned(),
            group: group.name(),
            approaches: (shown.hidden.is_none() && !unseen).then_some(tally.approaches),
            in_scope: (shown.hidden.is_none() && !unseen).then_some(tally.in_scope),
            evaluable: shown.evaluable,
            approaches_with_event: shown.approaches_with_event,
            events: shown.events,
            events_edge: shown.events_edge,
            rate_per_1000: shown.rate.map(|rate| rate.per_1000),
            ci_low: shown.rate.map(|rate| rate.low),
            ci_high: shown.rate.map(|rate| rate.high),
            phi: subject.phi,
            limits_hash: subject.limits_hash.clone(),
            suppressed: withheld(shown.hidden),
        }
    }
}

impl CoverageRow {
    pub(super) fn new(
        rule: &str,
        reasons: &[String],
        (group, month): (&Group, &str),
        tally: &Tally,
        hidden: Option<&'static str>,
        options: &SummaryOptions,
    ) -> Self {
        #[allow(clippy::cast_precision_loss)] // counts of approaches
        let share = tally.evaluable as f64 / tally.approaches as f64;
        let shown = hidden.is_none();
        Self {
            rule: rule.to_owned(),
            month: month.to_owned(),
            group_kind: group.kind().to_owned(),
            group: group.name(),
            approaches: shown.then_some(tally.approaches),
            in_scope: shown.then_some(tally.in_scope),
            evaluable: shown.then_some(tally.evaluable),
            share: shown.then_some(share),
            share_of_scope: tally.known_share().filter(|_| shown),
            top_reasons: shown.then(|| tally.top_reasons(reasons, options.min_flights)),
            suppressed: withheld(hidden),
        }
    }
}
