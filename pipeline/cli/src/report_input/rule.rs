//! One rule in the report: its rates, its months, its airports.

use std::collections::{BTreeMap, BTreeSet};

use report::input::{
    AirportLine, HotspotClass, Intervention, LevelLine, LimitLine, LimitsStatus, MonthPoint,
    MonthTest, RateCell, ReasonLine, RuleAirports, RuleLine, RuleTrend, Signal, SlopeCall,
    Suppression,
};
use rules::rule_file::{CheckedRule, Status};
use rules::summarise::{FEW_DAYS, GIVES_AWAY, RateRow, SlopeRow};

use super::funnel;
use super::since::{family_title, precision};
use super::{FLEET, LEVELS, Subject, count};

/// The reason in a table as the report words it.
pub(super) fn suppression(subject: &Subject<'_>, why: &str) -> Suppression {
    match why {
        FEW_DAYS => Suppression::FewTailDays {
            minimum: subject.options.min_tail_days as u64,
        },
        GIVES_AWAY => Suppression::Secondary,
        _ => Suppression::FewFlights {
            minimum: subject.options.min_flights as u64,
        },
    }
}

/// The figures of a row of any group table: the same names in all of them.
macro_rules! cell {
    ($subject:expr, $row:expr) => {
        RateCell {
            evaluable: count($row.evaluable),
            approaches_with_event: count($row.approaches_with_event),
            rate_per_1000: $row.rate_per_1000,
            ci_low: $row.ci_low,
            ci_high: $row.ci_high,
            suppressed: $row
                .suppressed
                .as_deref()
                .map(|why| suppression($subject, why)),
        }
    };
}

pub(super) use cell;

/// Whether a row of a table is about this rule; a row of a family is about none.
fn is_of(rule: &CheckedRule, row: Option<&str>) -> bool {
    row == Some(rule.id.as_str())
}

/// Why line approaches in scope could not be judged: rule → reason → approaches.
pub(super) type Reasons<'a> = BTreeMap<&'a str, BTreeMap<&'a str, u64>>;

/// Counts the reasons of every rule. Where the situation did not occur that a rule is about, nothing is missing.
pub(super) fn reasons<'a>(subject: &Subject<'a>) -> Reasons<'a> {
    let rows = subject.rows;
    rows.measured.reasons_of_missing(&rows.approaches)
}

pub(super) fn rule_line(
    subject: &Subject<'_>,
    rule: &CheckedRule,
    reasons: &Reasons<'_>,
) -> RuleLine {
    let rates: Vec<&RateRow> = subject
        .summary
        .rates
        .iter()
        .filter(|row| is_of(rule, row.rule.as_deref()) && row.group_kind == FLEET)
        .collect();
    let by_level: Vec<LevelLine> = LEVELS
        .iter()
        .filter_map(|(name, at_least)| {
            let row = rates.iter().find(|row| row.at_least_level == *name)?;
            Some(LevelLine {
                at_least: *at_least,
                cell: cell!(subject, row),
            })
        })
        .collect();
    let mut not_evaluable: Vec<ReasonLine> = reasons
        .get(rule.id.as_str())
        .into_iter()
        .flatten()
        .map(|(reason, approaches)| (*reason, *approaches))
        .map(|(reason, approaches)| ReasonLine {
            reason: reason.to_owned(),
            // A reason that holds for few is told, not how many.
            approaches: (approaches >= subject.options.min_flights as u64).then_some(approaches),
        })
        .collect();
    not_evaluable.sort_by(|a, b| {
        b.approaches
            .cmp(&a.approaches)
            .then(a.reason.cmp(&b.reason))
    });
    let fleet = rates.first();
    // Where the situation did not occur that the rule is about, nothing is missing.
    let in_scope = fleet
        .and_then(|row| count(row.in_scope))
        .unwrap_or_default();
    let evaluable = fleet.and_then(|row| count(row.evaluable));
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let share = evaluable
        .filter(|_| in_scope > 0)
        .map(|n| n as f64 / in_scope as f64);
    RuleLine {
        id: rule.id.clone(),
        title: rule.title.clone(),
        family: rule.family.clone(),
        why: rule.why.clone(),
        source: rule.source.clone(),
        version: rule.version,
        trial: rule.status == Status::Trial,
        limits_status: if subject.invented.contains(&rule.text_hash) {
            LimitsStatus::Invented
        } else if rule.limits.is_empty() && rule.levels.is_empty() {
            LimitsStatus::NoLimits
        } else {
            LimitsStatus::Operator
        },
        limits: rule
            .limits
            .iter()
            .map(|(name, value)| LimitLine {
                name: name.clone(),
                value: *value,
            })
            .collect(),
        approaches: in_scope,
        coverage_share: share,
        cell: by_level
            .first()
            .map(|line| line.cell.clone())
            .unwrap_or_default(),
        by_level,
        not_evaluable,
        precision: precision(subject, &rule.id),
    }
}

/// A rule, or a family of rules, in the tables.
#[derive(Clone, Copy)]
pub(super) struct Named<'a> {
    /// None: the family as a whole.
    rule: Option<&'a str>,
    family: &'a str,
}

impl Named<'_> {
    fn is(self, rule: Option<&str>, family: &str) -> bool {
        self.rule == rule && (self.rule.is_some() || self.family == family)
    }
}

/// The months of the families, then those of the rules that are not on trial.
pub(super) fn trends<'a>(
    subject: &Subject<'_>,
    core: impl Iterator<Item = &'a CheckedRule>,
) -> Vec<RuleTrend> {
    let rows = subject.summary.hotspots.iter();
    let families: BTreeSet<&str> = rows
        .filter(|row| row.rule.is_none())
        .map(|row| row.family.as_str())
        .collect();
    let families = families.into_iter().map(|family| {
        let named = Named { rule: None, family };
        trend(subject, named, family_title(family))
    });
    let rules = core.map(|rule| {
        let named = Named {
            rule: Some(&rule.id),
            family: &rule.family,
        };
        trend(subject, named, rule.title.clone())
    });
    families.chain(rules).collect()
}

fn trend(subject: &Subject<'_>, of: Named<'_>, title: String) -> RuleTrend {
    let points = subject
        .summary
        .trend_monthly
        .iter()
        .filter(|row| {
            of.is(row.rule.as_deref(), &row.family)
                && row.group_kind == FLEET
                && row.at_least_level == LEVELS[0].0
        })
        .map(|row| MonthPoint {
            month: row.month.clone(),
            cell: cell!(subject, row),
            beyond_chart: row.chart.clone().filter(|_| row.suppressed.is_none()),
        })
        .collect();
    RuleTrend {
        rule_id: of.rule.unwrap_or(of.family).to_owned(),
        title,
        is_family: of.rule.is_none(),
        points,
        statement: statement(subject, of),
        slope: slope(subject, of),
        near: near(subject, of),
        latest: latest(subject, of),
        interventions: interventions(subject, of),
    }
}

/// The latest month of the whole fleet against those before it.
fn latest(subject: &Subject<'_>, of: Named<'_>) -> Option<MonthTest> {
    let last = subject.review_month()?;
    let row = subject.summary.trend_monthly.iter().find(|row| {
        of.is(row.rule.as_deref(), &row.family)
            && row.group_kind == FLEET
            && row.at_least_level == LEVELS[0].0
            && row.month == last
    })?;
    Some(MonthTest {
        month: row.month.clone(),
        baseline_months: row
            .baseline_months
            .and_then(|months| u32::try_from(months).ok())
            .unwrap_or_default(),
        signal: match row.signal.as_deref() {
            Some("higher") => Signal::Higher,
            Some("lower") => Signal::Lower,
            // Without an event in either period there is nothing to test.
            _ if row.q.is_some() => Signal::NoSignal,
            _ => Signal::NotTested,
        },
        baseline_rate_per_1000: row.baseline_rate,
        ratio: row.ratio,
        ratio_low: row.ratio_low,
        ratio_high: row.ratio_high,
        standardised_ratio: row.standardised_ratio,
        q_value: row.q,
        why_no_signal: row.why_no_signal.clone(),
        season_controlled: row.season_controlled,
        detectable_rise_pct: row.detectable_rise_pct,
    })
}

/// The slope of the whole fleet.
fn slope_row<'a>(subject: &'a Subject<'_>, of: Named<'_>) -> Option<&'a SlopeRow> {
    subject.summary.trend_slope.iter().find(|row| {
        of.is(row.rule.as_deref(), &row.family)
            && row.group_kind == FLEET
            && row.at_least_level == LEVELS[0].0
    })
}

/// The slope of the whole fleet, where it is called.
fn slope(subject: &Subject<'_>, of: Named<'_>) -> Option<SlopeCall> {
    let row = slope_row(subject, of)?;
    Some(SlopeCall {
        call: row.call.clone()?,
        pct_per_month: row.slope_pct_per_month?,
        low: row.ci_low?,
        high: row.ci_high?,
    })
}

/// The slope of the whole fleet where its own interval leaves no change out, and it is not called: one of many that
/// were looked at.
fn near(subject: &Subject<'_>, of: Named<'_>) -> Option<SlopeCall> {
    let row = slope_row(subject, of).filter(|row| row.call.is_none())?;
    let (pct_per_month, low, high) = (row.slope_pct_per_month?, row.ci_low?, row.ci_high?);
    (low > 0.0 || high < 0.0).then(|| SlopeCall {
        call: "not called".to_owned(),
        pct_per_month,
        low,
        high,
    })
}

/// What the slope of the whole fleet says, in a sentence.
fn statement(subject: &Subject<'_>, of: Named<'_>) -> Option<String> {
    let row = slope_row(subject, of)?;
    let why = row.why_no_call.as_deref().unwrap_or_default();
    let season = match row.season_controlled {
        Some(false) => "; season not controlled",
        _ => "",
    };
    let (Some(slope), Some(low), Some(high)) = (row.slope_pct_per_month, row.ci_low, row.ci_high)
    else {
        return Some(format!("No trend is computed: {why}."));
    };
    let between = format!("{low:+.1} to {high:+.1} % a month");
    Some(match row.call.as_deref() {
        Some(call) => format!(
            "The rate is {call} by {:.1} % a month ({between}){season}.",
            slope.abs()
        ),
        None => format!("No trend shown: could be {between} ({why}){season}."),
    })
}

/// Changes made on purpose that this rule may show.
fn interventions(subject: &Subject<'_>, of: Named<'_>) -> Vec<Intervention> {
    let rows = subject.rows.interventions.iter();
    rows.filter(|row| {
        let named = row.rules.as_deref();
        named.is_none_or(|named| {
            named
                .split(' ')
                .any(|name| Some(name) == of.rule || name == of.family)
        })
    })
    .map(|row| Intervention {
        month: row.month.clone(),
        text: for_whom(
            &row.what,
            row.airport.as_deref(),
            row.aircraft_type.as_deref(),
        ),
    })
    .collect()
}

/// A change with the place and the type it was for.
pub(super) fn for_whom(what: &str, airport: Option<&str>, kind: Option<&str>) -> String {
    let whom: Vec<&str> = [airport, kind].into_iter().flatten().collect();
    if whom.is_empty() {
        format!("{what} (whole fleet)")
    } else {
        format!("{what} ({})", whom.join(", "))
    }
}

/// Airports under one rule.
pub(super) fn airports(subject: &Subject<'_>, rule: &CheckedRule) -> RuleAirports {
    let is_of = |row: Option<&str>, _: &str| is_of(rule, row);
    compared(subject, (rule.id.clone(), rule.title.clone()), is_of)
}

/// Airports under any rule of each family.
pub(super) fn families(subject: &Subject<'_>) -> Vec<RuleAirports> {
    let rows = subject.summary.hotspots.iter();
    let families: BTreeSet<&str> = rows
        .filter(|row| row.rule.is_none())
        .map(|row| row.family.as_str())
        .collect();
    let one = |family: &str| {
        let name = (family.to_owned(), family_title(family));
        let is_of = |rule: Option<&str>, of: &str| rule.is_none() && of == family;
        let mut found = compared(subject, name, is_of);
        let mut rates = subject.summary.rates.iter();
        let phi = rates
            .find(|row| is_of(row.rule.as_deref(), &row.family) && row.group_kind == FLEET)
            .and_then(|row| row.phi);
        found.is_family = true;
        found.funnel = funnel::limits(&found.airports, phi);
        found
    };
    families.into_iter().map(one).collect()
}

/// Airports under the rule or family of which `is_of` says that a row's rule and family are it.
fn compared(
    subject: &Subject<'_>,
    (rule_id, title): (String, String),
    is_of: impl Fn(Option<&str>, &str) -> bool,
) -> RuleAirports {
    // Over the months of the airports, not over all months.
    let fleet_rate = subject
        .summary
        .hotspots
        .iter()
        .find(|row| is_of(row.rule.as_deref(), &row.family) && row.runway.is_none());
    let airports = subject
        .summary
        .hotspots
        .iter()
        .filter(|row| is_of(row.rule.as_deref(), &row.family) && row.runway.is_none())
        .map(|row| AirportLine {
            airport: row.airport.clone(),
            cell: cell!(subject, row),
            expected: row.expected,
            standardised_ratio: row.standardised_ratio,
            shrunk_rate_per_1000: row.shrunk_rate,
            shrunk_low_per_1000: row.shrunk_low_5pct,
            prob_above_fleet: row.prob_above_fleet,
            prob_above_hot_ratio: row.prob_above_1_5x,
            upper_tail_p: row.upper_tail_p,
            class: match row.class.as_deref() {
                Some("hot spot") => HotspotClass::HotSpot,
                Some("watch") => HotspotClass::Watch,
                Some("not elevated") => HotspotClass::NotElevated,
                _ => HotspotClass::InsufficientData,
            },
            rank: row.rank.and_then(|rank| u32::try_from(rank).ok()),
        })
        .collect();
    RuleAirports {
        rule_id,
        title,
        rate_of_all_per_1000: fleet_rate.and_then(|row| row.rate_of_all),
        is_family: false,
        funnel: Vec::new(),
        airports,
    }
}
