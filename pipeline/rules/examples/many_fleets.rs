//! How often reviews of invented fleets say what is true: planted effects against the power the tables print,
//! and what only seems so against five in a hundred.
//!
//! `many_fleets FOLDER` reads `FOLDER/SEED/fleet/truth/effects.json` and the tables in `FOLDER/SEED/out`, as
//! `tests/many_fleets/run` leaves them. Verdicts are summarised anew, so that a change of the statistics needs no
//! new reviews. Exit code 1 = something is found less often, or claimed more often, than
//! stated.

use std::collections::BTreeMap;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use records::catalogue::Catalogue;
use records::fleet::InterventionRow;
use records::rows::ApproachRow;
use rules::rows::{EventRow, MeasurementRow};
use rules::rule_file::{RuleContext, Status, builtin_pack};
use rules::store::read_rows;
use rules::summarise::{
    BeforeAfterRow, HotspotRow, Measured, RecoveryRow, RuleNote, SlopeRow, Summary, SummaryInput,
    SummaryOptions, TrendRow, summarise,
};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use stats::numerics::{student_quantile_upper, student_two_sided};
use stats::{Counted, MonthTest, SignalRules, TrendRules, power_of_rise};

/// What may be claimed of what is not there.
const BY_CHANCE: f64 = 0.05;

#[derive(Deserialize)]
struct Truth {
    effects: Vec<Effect>,
}

#[derive(Deserialize)]
struct Effect {
    name: String,
    kind: String,
    real: bool,
    #[serde(default)]
    rules: Vec<String>,
    airport: Option<String>,
    month: Option<String>,
    aircraft_type: Option<String>,
    #[serde(default)]
    months_of_year: Vec<u32>,
    lost_share: Option<f64>,
}

/// The tables of one review that tell of effects, and what was planted.
struct Fleet {
    effects: Vec<Effect>,
    months: Vec<TrendRow>,
    slopes: Vec<SlopeRow>,
    places: Vec<HotspotRow>,
    changes: Vec<BeforeAfterRow>,
    recovery: Vec<RecoveryRow>,
}

impl Fleet {
    fn read(folder: &Path, rules: &BTreeMap<String, RuleNote>) -> Result<Self, Box<dyn Error>> {
        let text = std::fs::read_to_string(folder.join("fleet/truth/effects.json"))?;
        let truth: Truth = serde_json::from_str(&text)?;
        let summary = summary(&folder.join("out/restricted/tables"), &truth, rules)?;
        Ok(Self {
            effects: truth.effects,
            months: fleet_wide(summary.trend_monthly, |row: &TrendRow| &row.group_kind),
            slopes: fleet_wide(summary.trend_slope, |row: &SlopeRow| &row.group_kind),
            places: summary.hotspots,
            changes: summary.interventions,
            recovery: table(&folder.join("out/share/tables"), "recovery")?,
        })
    }

    fn effect(&self, name: &str) -> Option<&Effect> {
        self.effects.iter().find(|effect| effect.name == name)
    }
}

fn table<Row: DeserializeOwned>(tables: &Path, name: &str) -> Result<Vec<Row>, Box<dyn Error>> {
    Ok(read_rows(tables, &[format!("{name}.parquet")])?)
}

fn summary(
    tables: &Path,
    truth: &Truth,
    rules: &BTreeMap<String, RuleNote>,
) -> Result<Summary, Box<dyn Error>> {
    let approaches: Vec<ApproachRow> = table(tables, "approaches")?;
    let measurements: Vec<MeasurementRow> = table(tables, "measurements")?;
    let events: Vec<EventRow> = table(tables, "events")?;
    // As the demo writes them into `interventions.csv`.
    let changes = truth.effects.iter();
    let changes: Vec<InterventionRow> = changes
        .filter(|effect| effect.kind == "intervention")
        .filter_map(|effect| {
            Some(InterventionRow {
                month: effect.month.clone()?,
                airport: None,
                aircraft_type: effect.aircraft_type.clone(),
                what: effect.name.clone(),
                rules: Some(effect.rules.join(" ")),
            })
        })
        .collect();
    let input = SummaryInput {
        approaches: &approaches,
        measured: &Measured::of(&approaches, &measurements)?,
        events: &events,
        rules,
        decisive: &[],
        interventions: &changes,
        verdicts: &[],
    };
    Ok(summarise(&input, &SummaryOptions::default()))
}

fn rule_notes() -> Result<BTreeMap<String, RuleNote>, Box<dyn Error>> {
    let pack = builtin_pack(&RuleContext::of(&Catalogue::default()))?;
    let note = |rule: rules::rule_file::CheckedRule| {
        let note = RuleNote {
            title: rule.title,
            family: rule.family,
            topics: rule.topics,
            trial: rule.status == Status::Trial,
        };
        (rule.id, note)
    };
    Ok(pack.into_iter().map(note).collect())
}

/// Rows of the whole fleet, of every level: these are one family of tests.
fn fleet_wide<Row>(rows: Vec<Row>, kind: impl Fn(&Row) -> &String) -> Vec<Row> {
    rows.into_iter()
        .filter(|row| kind(row) == "fleet")
        .collect()
}

#[allow(clippy::cast_precision_loss)] // counts of approaches
fn counted<'a>(rows: impl Iterator<Item = &'a TrendRow>) -> Counted {
    let mut sum = Counted::new(0.0, 0.0);
    for row in rows {
        sum.with_event += row.approaches_with_event.unwrap_or(0) as f64;
        sum.evaluable += row.evaluable.unwrap_or(0) as f64;
    }
    sum
}

/// One line of the answer: in how many fleets, of how many, and what was to be expected.
struct Line {
    what: String,
    real: bool,
    fleets: usize,
    claimed: usize,
    /// Sum of the printed powers and of their variances; none where no power is printed.
    expected: Option<(f64, f64)>,
}

impl Line {
    #[allow(clippy::cast_precision_loss)] // numbers of fleets
    fn is_as_stated(&self) -> bool {
        let claimed = self.claimed as f64;
        match (self.real, self.expected) {
            // Two standard deviations below what was printed is what chance does.
            (true, Some((sum, variance))) => claimed >= sum - 2.0 * variance.sqrt(),
            (true, None) => true,
            (false, _) => claimed <= BY_CHANCE * self.fleets as f64,
        }
    }
}

fn is_any_level(level: &str) -> bool {
    level == "low"
}

/// A month of a rule: the test, the size of its family, whether it is called higher.
fn month_of(fleet: &Fleet, month: &str, rule: &str) -> Option<(MonthTest, usize, bool)> {
    let own =
        |row: &&TrendRow| row.rule.as_deref() == Some(rule) && is_any_level(&row.at_least_level);
    let row = fleet
        .months
        .iter()
        .find(|row| own(row) && row.month == month)?;
    let family = fleet
        .months
        .iter()
        .filter(|row| row.month == month && row.q.is_some())
        .count();
    // At most twelve months before: fleets are shorter than two years, so that no season is controlled.
    let before = usize::try_from(row.baseline_months?).ok()?;
    let mut earlier: Vec<&TrendRow> = fleet
        .months
        .iter()
        .filter(|row| own(row) && row.month.as_str() < month && row.evaluable.is_some())
        .collect();
    earlier.sort_by(|a, b| b.month.cmp(&a.month));
    let test = MonthTest {
        month: counted([row].into_iter()),
        baseline: counted(earlier.into_iter().take(before)),
        expected: row.expected,
        phi: row.phi,
    };
    Some((test, family, row.signal.as_deref() == Some("higher")))
}

fn months(fleets: &[Fleet], name: &str, rule: &str) -> Option<Line> {
    let found: Vec<(MonthTest, usize, bool)> = fleets
        .iter()
        .filter_map(|fleet| month_of(fleet, fleet.effect(name)?.month.as_deref()?, rule))
        .collect();
    if found.is_empty() {
        return None;
    }
    let sum = |of: fn(&MonthTest) -> Counted| {
        let all = found.iter().map(|(test, ..)| of(test));
        all.fold((0.0, 0.0), |(x, n), one| {
            (x + one.with_event, n + one.evaluable)
        })
    };
    let (now, before) = (sum(|test| test.month), sum(|test| test.baseline));
    // What was planted, as all fleets together show it.
    let rise_pct = 100.0 * ((now.0 / now.1) / (before.0 / before.1) - 1.0);
    let rules = SignalRules::default();
    let powers = found
        .iter()
        .map(|(test, family, _)| power_of_rise(test, rise_pct, *family, &rules).unwrap_or(0.0));
    Some(Line {
        what: format!("{name}, {rule}: +{rise_pct:.0} % in a month"),
        real: true,
        fleets: found.len(),
        claimed: found.iter().filter(|(.., higher)| *higher).count(),
        expected: Some(sums(powers)),
    })
}

fn sums(powers: impl Iterator<Item = f64>) -> (f64, f64) {
    powers.fold((0.0, 0.0), |(sum, variance), power| {
        (sum + power, variance + power * (1.0 - power))
    })
}

/// Slope and its standard error on the logarithmic scale, degrees of freedom, family, call.
struct Sloped {
    slope: f64,
    error: f64,
    freedom: f64,
    family: usize,
    rising: bool,
}

#[allow(clippy::cast_precision_loss)] // numbers of months
fn slope_of(fleet: &Fleet, rule: &str) -> Option<Sloped> {
    let row = fleet
        .slopes
        .iter()
        .find(|row| row.rule.as_deref() == Some(rule) && is_any_level(&row.at_least_level))?;
    let parameters = if row.season_controlled? { 4 } else { 2 };
    let freedom = (row.months? - parameters) as f64;
    let logarithm = |pct: Option<f64>| Some((pct? / 100.0).ln_1p());
    let width = logarithm(row.ci_high)? - logarithm(row.ci_low)?;
    Some(Sloped {
        slope: logarithm(row.slope_pct_per_month)?,
        error: width / 2.0 / student_quantile_upper(0.025, freedom)?,
        freedom,
        family: fleet.slopes.iter().filter(|row| row.q.is_some()).count(),
        rising: row.call.as_deref() == Some("rising"),
    })
}

#[allow(clippy::cast_precision_loss)] // numbers of fleets
fn trend(fleets: &[Fleet], name: &str, rule: &str) -> Option<Line> {
    let found: Vec<Sloped> = fleets
        .iter()
        .filter_map(|fleet| slope_of(fleet, rule))
        .collect();
    if found.is_empty() {
        return None;
    }
    let planted = found.iter().map(|one| one.slope).sum::<f64>() / found.len() as f64;
    let powers = found.iter().map(|one| {
        let alpha = TrendRules::default().q / one.family.max(1) as f64;
        let limit = student_quantile_upper(alpha / 2.0, one.freedom).unwrap_or(f64::INFINITY);
        let beyond = limit - planted / one.error;
        let tail = student_two_sided(beyond.abs(), one.freedom).unwrap_or(0.0) / 2.0;
        if beyond > 0.0 { tail } else { 1.0 - tail }
    });
    Some(Line {
        what: format!("{name}, {rule}: {:+.1} % a month", 100.0 * planted.exp_m1()),
        real: true,
        fleets: found.len(),
        claimed: found.iter().filter(|one| one.rising).count(),
        expected: Some(sums(powers)),
    })
}

/// Whether a review claims an effect of which no power is printed.
fn claims(fleet: &Fleet, effect: &Effect) -> Option<bool> {
    let has = |rule: Option<&str>| effect.rules.iter().any(|own| Some(own.as_str()) == rule);
    match effect.kind.as_str() {
        "place" => Some(fleet.places.iter().any(|row| {
            let called = matches!(row.class.as_deref(), Some("hot spot" | "watch"));
            let here = Some(&row.airport) == effect.airport.as_ref() && row.runway.is_none();
            called && here && has(row.rule.as_deref())
        })),
        "season" => {
            let windy = |month: &str| {
                let number = month.get(5..).and_then(|number| number.parse().ok());
                number.is_some_and(|number: u32| effect.months_of_year.contains(&number))
            };
            let months = fleet.months.iter().any(|row| {
                let called = row.signal.as_deref() == Some("higher");
                called && windy(&row.month) && has(row.rule.as_deref())
            });
            let called = |row: &SlopeRow| row.call.is_some() && has(row.rule.as_deref());
            Some(months || fleet.slopes.iter().any(called))
        }
        "intervention" => Some(fleet.changes.iter().any(|row| {
            let own = row.aircraft_type == effect.aircraft_type;
            own && has(row.rule.as_deref()) && row.signal.is_some()
        })),
        "recovery" => {
            let own = |row: &&RecoveryRow| {
                Some(&row.group) == effect.aircraft_type.as_ref()
                    && Some(&row.month) == effect.month.as_ref()
            };
            let row = fleet.recovery.iter().find(own)?;
            Some(1.0 - row.share? >= effect.lost_share? / 2.0)
        }
        _ => None,
    }
}

fn lines(fleets: &[Fleet]) -> Vec<Line> {
    let mut lines = Vec::new();
    for effect in &fleets[0].effects {
        let name = effect.name.as_str();
        let rules = effect.rules.iter();
        match effect.kind.as_str() {
            "month" => lines.extend(rules.filter_map(|rule| months(fleets, name, rule))),
            "trend" => lines.extend(rules.filter_map(|rule| trend(fleets, name, rule))),
            _ => {
                let answers: Vec<bool> = fleets
                    .iter()
                    .filter_map(|fleet| claims(fleet, fleet.effect(name)?))
                    .collect();
                if !answers.is_empty() {
                    lines.push(Line {
                        what: name.to_owned(),
                        real: effect.real,
                        fleets: answers.len(),
                        claimed: answers.iter().filter(|claimed| **claimed).count(),
                        expected: None,
                    });
                }
            }
        }
    }
    lines
}

#[allow(clippy::print_stdout)] // the answer of this program
fn main() -> Result<ExitCode, Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map(PathBuf::from);
    let folder = folder.ok_or("usage: many_fleets FOLDER")?;
    let mut seeds: Vec<PathBuf> = std::fs::read_dir(&folder)?
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<_, _>>()?;
    seeds.retain(|path| path.join("out/share/tables").is_dir());
    seeds.sort();
    let rules = rule_notes()?;
    let fleets = seeds
        .iter()
        .map(|seed| Fleet::read(seed, &rules))
        .collect::<Result<Vec<Fleet>, _>>()?;
    if fleets.is_empty() {
        return Err(format!("{} holds no reviews", folder.display()).into());
    }
    println!("| effect | there | fleets | claimed | by the printed power | as stated |");
    println!("|---|---|---|---|---|---|");
    let mut all = true;
    for line in lines(&fleets) {
        let expected = line.expected.map_or_else(
            || "–".to_owned(),
            |(sum, variance)| format!("{sum:.1} ± {:.1}", variance.sqrt()),
        );
        let stated = line.is_as_stated();
        all &= stated;
        println!(
            "| {} | {} | {} | {} | {expected} | {} |",
            line.what,
            if line.real { "yes" } else { "no" },
            line.fleets,
            line.claimed,
            if stated { "yes" } else { "**no**" }
        );
    }
    Ok(if all {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(1)
    })
}
