//! Summary tables → what the report is given. Nothing is computed here that is not a count.

mod against;
mod flown;
mod funnel;
mod rule;
mod since;
mod spread;
mod withheld;

use std::collections::{BTreeMap, BTreeSet};

use records::fleet::Fleet;
use records::rows::ApproachRow;
use report::input::{
    Analysed, CountLine, Level, ParameterQuality, Quality, QuarantineLine, ReportInput,
    RunIdentity, Setting, Suppression,
};
use rules::against::AgainstRow;
use rules::headline::Withheld;
use rules::rule_file::{CheckedRule, Status};
use rules::stages::{Before, Collected};
use rules::summarise::{Conduct, Energy, RecoveryRow, RestatedRow, Summary, SummaryOptions};
use serde_json::Value;

/// What a comparison with the review before came to.
pub(crate) struct Compared {
    /// Run of the review before.
    pub(crate) run: u64,
    /// Its latest month.
    pub(crate) month: Option<String>,
    /// Thresholds that are others now: name, value then and now.
    pub(crate) settings: Vec<(String, Option<Value>, Option<Value>)>,
    /// A row a flag.
    pub(crate) rows: Vec<AgainstRow>,
}

/// Everything a report is about.
pub(crate) struct Subject<'a> {
    pub(crate) fleet: &'a Fleet,
    /// What is new, gone or changed, where a review to compare with was given.
    pub(crate) against: Option<&'a Compared>,
    pub(crate) pack: &'a [CheckedRule],
    /// Hashes of the rules whose limits are invented.
    pub(crate) invented: BTreeSet<String>,
    pub(crate) rows: &'a Collected,
    pub(crate) summary: &'a Summary,
    pub(crate) energy: &'a Energy,
    pub(crate) conduct: &'a Conduct,
    /// What the shared tables withhold.
    pub(crate) withheld: Vec<Withheld>,
    pub(crate) options: &'a SummaryOptions,
    pub(crate) run_number: u64,
    pub(crate) rules_hash: String,
    pub(crate) config_hash: String,
    pub(crate) recovery: &'a [RecoveryRow],
    pub(crate) restated: &'a [RestatedRow],
    /// The review of an earlier month that `restated` is about.
    pub(crate) before: &'a Before,
}

impl Subject<'_> {
    /// The month under review: the latest of any approach.
    fn review_month(&self) -> Option<&str> {
        let months = self.rows.approaches.iter();
        months.filter_map(|row| row.month.as_deref()).max()
    }
}

const FLEET: &str = "fleet";
const LEVELS: [(&str, Level); 3] = [
    ("low", Level::Low),
    ("medium", Level::Medium),
    ("high", Level::High),
];

/// The input of the report.
pub(crate) fn report_input(subject: &Subject<'_>) -> ReportInput {
    // Of a rule on trial nothing is flagged: its rates stand in a table of their own.
    let core = || {
        let pack = subject.pack.iter();
        pack.filter(|rule| rule.status == Status::Core)
    };
    let reasons = rule::reasons(subject);
    ReportInput {
        title: "Approach review".to_owned(),
        identity: identity(subject),
        analysed: analysed(subject),
        rules: subject
            .pack
            .iter()
            .map(|rule| rule::rule_line(subject, rule, &reasons))
            .collect(),
        trend: rule::trends(subject, core()),
        hotspots: core()
            .map(|rule| rule::airports(subject, rule))
            .chain(rule::families(subject))
            .collect(),
        topics: since::topics(subject),
        changes: since::changes(subject),
        second_look: since::second_look(subject),
        restated: since::restated(subject),
        against: against::section(subject),
        recovery: since::recovery(subject),
        distributions: core()
            .filter_map(|rule| spread::distribution(subject, rule))
            .collect(),
        quality: quality(subject),
        flown: flown::flown(subject),
        withheld: withheld::lines(&subject.withheld),
    }
}

fn identity(subject: &Subject<'_>) -> RunIdentity {
    let months: BTreeSet<String> = subject
        .rows
        .approaches
        .iter()
        .filter_map(|row| row.month.clone())
        .collect();
    RunIdentity {
        fleet_title: subject.fleet.title.clone(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        review_month: months.last().cloned(),
        months: months.into_iter().collect(),
        rule_pack_hash: subject.rules_hash.clone(),
        config_hash: subject.config_hash.clone(),
        run_number: subject.run_number,
        min_flights: subject.options.min_flights as u64,
        settings: settings(subject),
    }
}

/// The thresholds in force: judgement, so that everyone may see them.
fn settings(subject: &Subject<'_>) -> Vec<Setting> {
    let (options, flags) = (subject.options, &subject.options.flags);
    let percent = |share: f64| format!("{} %", (1000.0 * share).round() / 10.0);
    let lines = [
        (
            "fewest tail-days of a shown cell",
            options.min_tail_days.to_string(),
        ),
        ("confidence of intervals", percent(options.confidence)),
        ("false flags among flags, at most (q)", percent(flags.q)),
        ("smallest ratio that is flagged", flags.ratio.to_string()),
        (
            "fewest approaches with an event in a month called higher",
            flags.min_events.to_string(),
        ),
        (
            "smallest trend that is called",
            format!("{} % a month", flags.trend_pct_per_month),
        ),
        (
            "lowest coverage that is compared",
            percent(flags.min_coverage),
        ),
        (
            "largest move of coverage that is compared",
            format!(
                "{} points",
                (1000.0 * flags.max_coverage_move).round() / 10.0
            ),
        ),
        (
            "hot spot",
            format!(
                "above {} times the fleet with probability {}",
                flags.hot_spot_ratio, flags.hot_spot_probability
            ),
        ),
        (
            "watch",
            format!(
                "above the fleet with probability {}",
                flags.watch_probability
            ),
        ),
        (
            "fewest approaches of a place that is classed",
            flags.min_approaches.to_string(),
        ),
    ];
    lines
        .into_iter()
        .map(|(name, value)| Setting {
            name: name.to_owned(),
            value,
        })
        .collect()
}

/// Flights received, and those of them that were used.
pub(crate) fn received(subject: &Subject<'_>) -> (u64, u64) {
    let rows = subject.rows;
    let refused: BTreeSet<(&str, Option<&str>)> = rows
        .quarantine
        .iter()
        .map(|row| (row.file.as_str(), row.flight_id.as_deref()))
        .collect();
    let used = rows.flights.len();
    ((used + refused.len()) as u64, used as u64)
}

fn analysed(subject: &Subject<'_>) -> Analysed {
    let rows = subject.rows;
    let (flights_received, flights_used) = received(subject);
    let mut reasons: BTreeMap<&str, u64> = BTreeMap::new();
    for row in &rows.quarantine {
        *reasons.entry(&row.reason).or_default() += 1;
    }
    let by = |label: fn(&ApproachRow) -> Option<&str>| count_lines(subject, label);
    Analysed {
        flights_received,
        flights_used,
        approaches: rows.approaches.iter().filter(|row| row.is_line()).count() as u64,
        quarantined: reasons
            .into_iter()
            .map(|(reason, flights)| QuarantineLine {
                reason: reason.to_owned(),
                flights,
            })
            .collect(),
        by_outcome: outcomes(subject),
        by_aircraft_type: by(|row| row.aircraft_type.as_deref()),
        by_airport: by(|row| row.airport.as_deref()),
        by_month: by(|row| row.month.as_deref()),
    }
}

/// How approaches ended: what happened in a group that is shown, as events are; no group of its own.
fn outcomes(subject: &Subject<'_>) -> Vec<CountLine> {
    let mut counts: BTreeMap<&str, u64> = BTreeMap::new();
    let mut flights: BTreeSet<&str> = BTreeSet::new();
    for row in subject.rows.approaches.iter().filter(|row| row.is_line()) {
        *counts.entry(&row.outcome).or_default() += 1;
        flights.insert(&row.flight_id);
    }
    let minimum = subject.options.min_flights;
    let suppressed = (flights.len() < minimum).then_some(Suppression::FewFlights {
        minimum: minimum as u64,
    });
    let line = |(outcome, approaches): (&str, u64)| CountLine {
        label: outcome.replace('_', " "),
        approaches: suppressed.is_none().then_some(approaches),
        suppressed: suppressed.clone(),
    };
    counts.into_iter().map(line).collect()
}

/// Approaches by label; small counts are withheld, and a second one where one could be subtracted.
fn count_lines(subject: &Subject<'_>, label: fn(&ApproachRow) -> Option<&str>) -> Vec<CountLine> {
    let mut cells: BTreeMap<&str, (u64, BTreeSet<&str>)> = BTreeMap::new();
    for row in subject.rows.approaches.iter().filter(|row| row.is_line()) {
        let cell = cells.entry(label(row).unwrap_or("unknown")).or_default();
        cell.0 += 1;
        cell.1.insert(&row.flight_id);
    }
    let minimum = subject.options.min_flights;
    let small: BTreeSet<&str> = cells
        .iter()
        .filter(|(_, (_, flights))| flights.len() < minimum)
        .map(|(label, _)| *label)
        .collect();
    // As long as what is hidden is one label, or too few flights together, another goes with it.
    let mut hidden = small.clone();
    loop {
        let flights: usize = hidden.iter().map(|label| cells[label].1.len()).sum();
        if hidden.is_empty() || (hidden.len() > 1 && flights >= minimum) {
            break;
        }
        let shown = cells.iter().filter(|(label, _)| !hidden.contains(*label));
        match shown.min_by_key(|(_, (approaches, _))| *approaches) {
            Some((label, _)) => hidden.insert(*label),
            None => break,
        };
    }
    let lines = cells.iter().map(|(label, (approaches, _))| {
        let suppressed = if small.contains(label) {
            Some(Suppression::FewFlights {
                minimum: minimum as u64,
            })
        } else if hidden.contains(label) {
            Some(Suppression::Secondary)
        } else {
            None
        };
        CountLine {
            label: (*label).to_owned(),
            approaches: suppressed.is_none().then_some(*approaches),
            suppressed,
        }
    });
    lines.collect()
}

/// Counts that came from the tables: never negative.
fn count(number: Option<i64>) -> Option<u64> {
    number.and_then(|number| u64::try_from(number).ok())
}

fn quality(subject: &Subject<'_>) -> Quality {
    let count = |number: i64| u64::try_from(number).unwrap_or(0);
    let parameters = subject.rows.quality.parameters().into_iter();
    let parameters = parameters
        .map(|(parameter, facts)| ParameterQuality {
            parameter: parameter.to_owned(),
            flights_with: facts.coverage.len() as u64,
            flights: subject.rows.flights.len() as u64,
            median_coverage: median(facts.coverage.clone()),
            spikes: count(facts.spikes),
            stuck_s: facts.stuck_s,
            gaps: count(facts.gaps),
            out_of_range: count(facts.out_of_range),
            stale: count(facts.stale),
        })
        .collect();
    Quality {
        parameters,
        heights: count_lines(subject, |row| Some(&row.height_source)),
        notes: notes(subject),
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    match (values.len(), values.len() % 2) {
        (0, _) => None,
        (_, 1) => Some(values[middle]),
        _ => Some(f64::midpoint(values[middle - 1], values[middle])),
    }
}

/// What was assumed or left out, without the place of the fleet on this machine.
fn notes(subject: &Subject<'_>) -> Vec<String> {
    let root = subject.fleet.root.display().to_string();
    let place = format!("{}/", root.trim_end_matches('/'));
    let others = subject
        .rows
        .approaches
        .iter()
        .filter(|row| !row.is_line())
        .count();
    let not_line = (others > 0).then(|| {
        "approaches of training and positioning flights are in no rate and in no count".to_owned()
    });
    let notes = subject.fleet.notes.iter();
    notes
        .map(|note| note.replace(&place, ""))
        .chain(not_line)
        .collect()
}
