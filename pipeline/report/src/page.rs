//! The page as the template sees it: every section in words, pictures finished.

use crate::against::{self, AgainstView};
use crate::airports::{self, AirportsView};
use crate::cells::{self, CountView};
use crate::distributions::{self, DistributionView};
use crate::flown::{self, FlownView};
use crate::input::{
    Analysed, LimitsStatus, Quality, ReportInput, RunIdentity, Setting, WithheldLine,
};
use crate::rates::{self, LOW_COVERAGE_WORDS, RatesView};
use crate::rule_list::{self, RuleView};
use crate::since::{self, RecoveryRow, SinceView};
use crate::summary::Answer;
use crate::topics::{self, TopicsView};
use crate::trend::{self, TrendView};
use crate::{CAUTIONS, summary, words};
use serde::Serialize;

/// Everything the templates read.
#[derive(Debug, Serialize)]
pub(crate) struct Page<'a> {
    title: &'a str,
    summary: Vec<Answer>,
    /// Whether any limit in force is invented.
    invented_limits: bool,
    identity: IdentityView<'a>,
    analysed: AnalysedView<'a>,
    rates: RatesView,
    trend: TrendView,
    airports: AirportsView,
    topics: TopicsView<'a>,
    since: SinceView<'a>,
    against: Option<AgainstView<'a>>,
    distributions: Vec<DistributionView>,
    flown: FlownView,
    withheld: Vec<WithheldRow<'a>>,
    recovery: Vec<RecoveryRow<'a>>,
    quality: QualityView<'a>,
    rules: Vec<RuleView>,
    cautions: &'static [&'static str],
    low_coverage: &'static str,
}

#[derive(Debug, Serialize)]
struct IdentityView<'a> {
    fleet_title: &'a str,
    version: &'a str,
    review_month: Option<&'a str>,
    months: String,
    month_count: String,
    rule_pack_hash: &'a str,
    config_hash: &'a str,
    run_number: u64,
    min_flights: String,
    settings: &'a [Setting],
}

#[derive(Debug, Serialize)]
struct AnalysedView<'a> {
    received: String,
    used: String,
    approaches: String,
    refused: Vec<(&'a str, String)>,
    /// Heading of the first column, caption, lines.
    groups: Vec<Group>,
}

#[derive(Debug, Serialize)]
struct Group {
    heading: &'static str,
    caption: &'static str,
    lines: Vec<CountView>,
}

#[derive(Debug, Serialize)]
struct QualityView<'a> {
    parameters: Vec<ParameterView<'a>>,
    heights: Vec<CountView>,
    notes: &'a [String],
}

#[derive(Debug, Serialize)]
struct ParameterView<'a> {
    parameter: &'a str,
    recorded: String,
    coverage: String,
    spikes: String,
    stuck: String,
    gaps: String,
    out_of_range: String,
    stale: String,
}

/// Builds the page.
pub(crate) fn build(input: &ReportInput) -> Page<'_> {
    Page {
        title: &input.title,
        summary: summary::build(input),
        invented_limits: input
            .rules
            .iter()
            .any(|rule| rule.limits_status == LimitsStatus::Invented),
        identity: identity(&input.identity),
        analysed: analysed(&input.analysed),
        rates: rates::build(&input.rules),
        trend: trend::build(&input.trend),
        airports: airports::build(&input.hotspots),
        topics: topics::build(&input.topics),
        since: since::build(input),
        against: input.against.as_ref().map(against::build),
        recovery: since::recovery(&input.recovery),
        flown: flown::build(&input.flown),
        withheld: input.withheld.iter().map(withheld).collect(),
        distributions: distributions::build(&input.distributions),
        quality: quality(&input.quality, input.analysed.approaches),
        rules: rule_list::build(&input.rules),
        cautions: CAUTIONS,
        low_coverage: LOW_COVERAGE_WORDS,
    }
}

/// Rows of one table that are not shown.
#[derive(Debug, Serialize)]
struct WithheldRow<'a> {
    table: &'a str,
    rows: String,
    small: String,
    neighbours: String,
}

fn withheld(line: &WithheldLine) -> WithheldRow<'_> {
    WithheldRow {
        table: &line.table,
        rows: words::count(line.rows),
        small: words::count(line.small),
        neighbours: words::count(line.neighbours),
    }
}

fn identity(run: &RunIdentity) -> IdentityView<'_> {
    let (first, last) = (run.months.iter().min(), run.months.iter().max());
    IdentityView {
        fleet_title: &run.fleet_title,
        version: &run.version,
        review_month: run.review_month.as_deref(),
        months: match (first, last) {
            (Some(first), Some(last)) if first == last => first.clone(),
            (Some(first), Some(last)) => format!("{first} to {last}"),
            _ => words::NOT_KNOWN.to_owned(),
        },
        month_count: words::count(run.months.len() as u64),
        rule_pack_hash: &run.rule_pack_hash,
        config_hash: &run.config_hash,
        run_number: run.run_number,
        min_flights: words::count(run.min_flights),
        settings: &run.settings,
    }
}

fn analysed(input: &Analysed) -> AnalysedView<'_> {
    let group = |heading, caption, lines: &[_]| Group {
        heading,
        caption,
        lines: cells::counts(lines, input.approaches),
    };
    AnalysedView {
        received: words::count(input.flights_received),
        used: words::count(input.flights_used),
        approaches: words::count(input.approaches),
        refused: input
            .quarantined
            .iter()
            .map(|line| (line.reason.as_str(), words::count(line.flights)))
            .collect(),
        groups: vec![
            group("Outcome", "Approaches by outcome", &input.by_outcome),
            group(
                "Aircraft type",
                "Approaches by aircraft type",
                &input.by_aircraft_type,
            ),
            group("Airport", "Approaches by airport", &input.by_airport),
            group("Month", "Approaches by month", &input.by_month),
        ],
    }
}

fn quality(input: &Quality, approaches: u64) -> QualityView<'_> {
    let parameters = input.parameters.iter().map(|line| ParameterView {
        parameter: &line.parameter,
        recorded: format!(
            "{} of {}",
            words::count(line.flights_with),
            words::count(line.flights)
        ),
        coverage: line
            .median_coverage
            .map_or_else(|| "not recorded".to_owned(), words::percent),
        spikes: words::count(line.spikes),
        stuck: words::decimals(line.stuck_s, 0),
        gaps: words::count(line.gaps),
        out_of_range: words::count(line.out_of_range),
        stale: words::count(line.stale),
    });
    QualityView {
        parameters: parameters.collect(),
        heights: cells::counts(&input.heights, approaches),
        notes: &input.notes,
    }
}
