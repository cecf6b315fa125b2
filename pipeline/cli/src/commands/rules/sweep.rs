//! `rules sweep`: the rate of a rule against one of its limits.

use records::samples;
use report::sweep::{SweepPicture, SweepValue};
use rules::summarise::SummaryOptions;
use rules::what_if::{Sweep, SweepTask, Way, sweep as judge};

use super::super::Outcome;
use super::show::one;
use crate::arguments::{Global, SweepCommand};
use crate::context::{engine, note_to_stderr, pack};
use crate::failure::Failure;
use crate::progress::bar;
use crate::show::Sheet;

pub(super) fn sweep(global: &Global, command: &SweepCommand) -> Result<Outcome, Failure> {
    let (fleet, store) = super::stored::open(global, &command.stored)?;
    let pack = pack(&fleet, &command.rules)?;
    let rule = one(&pack, &command.rule)?;
    let values = values(command)?;
    let engine = engine(global)?;
    let options = SummaryOptions {
        min_flights: usize::try_from(fleet.min_flights).unwrap_or(usize::MAX),
        ..SummaryOptions::default()
    };
    let progress = bar(global, "judging", "store files");
    let swept = judge(
        &engine,
        SweepTask {
            pack: &pack,
            rule: &rule.id,
            limit: &command.limit,
            values: &values,
            from_samples: command.from_samples,
        },
        &samples::schema(&fleet.catalogue),
        &store,
        &options,
        &|done, all| {
            progress.set_length(all as u64);
            progress.set_position(done as u64);
        },
    );
    progress.finish_and_clear();
    let swept = swept.map_err(Failure::plain)?;
    note_to_stderr(global, &way(&swept.way))?;
    note_to_stderr(
        global,
        &format!("in force: {} = {}", command.limit, swept.in_force),
    )?;
    if swept.overrides > 0 {
        let text = format!(
            "{} overrides set {} for some types or places: these keep their numbers",
            swept.overrides, command.limit
        );
        note_to_stderr(global, &text)?;
    }
    sheet(&command.limit, &swept).print(global)?;
    if let Some(path) = &command.picture {
        let picture = picture(&rule.title, &command.limit, &swept);
        std::fs::write(path, report::sweep::draw(&picture)).map_err(|error| {
            Failure::text(format!(
                "cannot write the picture {}: {error}",
                path.display()
            ))
        })?;
        note_to_stderr(global, &format!("picture: {}", path.display()))?;
    }
    for caution in report::CAUTIONS {
        note_to_stderr(global, caution)?;
    }
    Ok(Outcome::Clean)
}

/// The values to try, both ends among them, as written in decimal.
#[allow(clippy::cast_precision_loss)] // a few steps
fn values(command: &SweepCommand) -> Result<Vec<f64>, Failure> {
    let (from, to) = (command.from, command.to);
    if !(from.is_finite() && to.is_finite() && from < to) {
        return Err(Failure::text(format!(
            "--from {from} is not below --to {to}: give a range of numbers"
        )));
    }
    let last = f64::from(command.steps - 1);
    let value = |step: u16| {
        let value = from + (to - from) * f64::from(step) / last;
        // What a person would write into the rule file.
        (value * 1e6).round() / 1e6
    };
    Ok((0..command.steps).map(value).collect())
}

fn way(way: &Way) -> String {
    match way {
        Way::Measurements => "from stored measurements; no sample was read".to_owned(),
        Way::Approaches => "from the approach rows; no sample was read".to_owned(),
        Way::Samples { why } => {
            format!("every sample was judged again, in one scan for all values: {why}")
        }
    }
}

fn sheet(limit: &str, swept: &Sweep) -> Sheet {
    let mut sheet = Sheet::new(&[
        "limit",
        "value",
        "at_least_level",
        "evaluable",
        "approaches_with_event",
        "rate_per_1000",
        "ci_low",
        "ci_high",
        "suppressed",
    ]);
    let count = |number: Option<i64>| number.map(|number| number.to_string()).unwrap_or_default();
    let rate = |number: Option<f64>| {
        number
            .map(|number| format!("{number:.2}"))
            .unwrap_or_default()
    };
    for point in &swept.points {
        for row in &point.rates {
            sheet.row([
                limit.to_owned(),
                point.limit.to_string(),
                row.at_least_level.clone(),
                count(row.evaluable),
                count(row.approaches_with_event),
                rate(row.rate_per_1000),
                rate(row.ci_low),
                rate(row.ci_high),
                row.suppressed.clone().unwrap_or_default(),
            ]);
        }
    }
    sheet
}

fn picture(title: &str, limit: &str, swept: &Sweep) -> SweepPicture {
    let of_level = |level: &str| {
        let points = swept.points.iter();
        points
            .filter_map(|point| {
                let row = point.rates.iter().find(|row| row.at_least_level == level)?;
                Some(SweepValue {
                    limit: point.limit,
                    rate_per_1000: row.rate_per_1000?,
                    interval: row.ci_low.zip(row.ci_high),
                })
            })
            .collect()
    };
    SweepPicture {
        title: title.to_owned(),
        limit: limit.to_owned(),
        in_force: swept.in_force,
        low: of_level("low"),
        medium: of_level("medium"),
        high: of_level("high"),
    }
}
