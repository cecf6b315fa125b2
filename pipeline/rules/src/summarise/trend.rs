//! Each month against those before it: tests, corrected for their number, and the chart.

use std::collections::BTreeMap;

use rayon::prelude::*;
use stats::{
    MonthTest, MonthVerdict, Signal, SignalRules, WhyNoSignal, detectable_rise_pct, judge_months,
};

use super::chart::{self, ChartCell};
use super::count::LEVELS;
use super::group::Group;
use super::months::{Baseline, Months, why};
use super::rows::{TrendRow, withheld};
use super::scene::Scene;
use super::subject::{Status, Subject};
use super::{Shown, SummaryOptions, three_digits};

/// A row, and what was asked of its month.
struct Asked {
    row: TrendRow,
    /// Group and month, by number.
    cell: (usize, usize),
    /// What the month is compared with and how, or why it is not.
    test: Result<(Held, MonthTest), &'static str>,
}

/// What a month is held against.
#[derive(Debug, Clone, Copy)]
struct Held {
    months: usize,
    season_controlled: bool,
}

/// The rows of all subjects, in order. Tests of one kind of group in one month are one family.
pub(super) fn rows(scene: &Scene<'_>, subjects: &[Subject]) -> Vec<TrendRow> {
    let frame = &scene.frame;
    let mut asked: Vec<Vec<Asked>> = subjects
        .par_iter()
        .map(|subject| of_subject(scene, subject))
        .collect();
    let mut families: BTreeMap<(&'static str, usize), Vec<(usize, usize)>> = BTreeMap::new();
    for (subject, of_subject) in asked.iter().enumerate() {
        for (place, one) in of_subject.iter().enumerate() {
            if one.test.is_ok() {
                let (group, month) = one.cell;
                let family = families
                    .entry((frame.groups[group].kind(), month))
                    .or_default();
                family.push((subject, place));
            }
        }
    }
    let latest = (0..frame.months.len()).rfind(|month| frame.is_known(*month));
    let families: Vec<_> = families.into_iter().collect();
    let answers: Vec<Vec<Answer>> = families
        .par_iter()
        .map(|((kind, month), members)| {
            let tests = members
                .iter()
                .map(|(subject, place)| &asked[*subject][*place].test);
            let tests: Vec<MonthTest> = tests
                .filter_map(|test| Some(test.as_ref().ok()?.1))
                .collect();
            // Of earlier months only the fleet's: nobody acts on what a runway could have shown last year.
            let tells_rise = Some(*month) == latest || *kind == Group::Fleet.kind();
            answers(&tests, tells_rise, scene.options)
        })
        .collect();
    for ((_, members), answers) in families.iter().zip(answers) {
        for ((subject, place), answer) in members.iter().zip(answers) {
            asked[*subject][*place].answer(&answer);
        }
    }
    let of_subjects: Vec<Vec<TrendRow>> = asked
        .into_iter()
        .map(|of_subject| of_subject.into_iter().map(Asked::done).collect())
        .collect();
    of_subjects.into_iter().flatten().collect()
}

/// What one family of tests says of a month, and which rise it could have shown.
struct Answer {
    verdict: MonthVerdict,
    rise_pct: Option<f64>,
}

fn answers(tests: &[MonthTest], tells_rise: bool, options: &SummaryOptions) -> Vec<Answer> {
    let rules = rules(options);
    let verdicts = judge_months(tests, &rules);
    let family = verdicts.iter().filter(|one| one.q.is_some()).count();
    let answer = |(verdict, test): (MonthVerdict, &MonthTest)| Answer {
        verdict,
        rise_pct: tells_rise
            .then(|| detectable_rise_pct(test, family, &rules))
            .flatten()
            .map(three_digits),
    };
    verdicts.into_iter().zip(tests).map(answer).collect()
}

/// The rows of one subject, with what is to be tested.
fn of_subject(scene: &Scene<'_>, subject: &Subject) -> Vec<Asked> {
    let frame = &scene.frame;
    let mut asked = Vec::new();
    for group in 0..frame.groups.len() {
        let months = Months {
            scene,
            subject,
            group,
        };
        let charts = chart::charts(&months);
        for month in (0..frame.months.len()).filter(|month| frame.is_known(*month)) {
            if months.tally(month).approaches == 0 {
                continue;
            }
            let baseline = baseline(&months, month);
            let rows = rows_of_month(&months, month);
            for (level, mut row) in rows.into_iter().enumerate() {
                let test = baseline.as_ref().map_err(|why| *why);
                let test = test.map(|baseline| test_of(&months, month, level, baseline));
                if let Some(cell) = charts.get(&(month, level))
                    && row.suppressed.is_none()
                {
                    fill_chart(&mut row, cell);
                }
                asked.push(Asked {
                    row,
                    cell: (group, month),
                    test,
                });
            }
        }
    }
    asked
}

impl Asked {
    /// Writes what the test says into the row.
    fn answer(&mut self, Answer { verdict, rise_pct }: &Answer) {
        let Ok((baseline, test)) = &self.test else {
            return;
        };
        let row = &mut self.row;
        let compared = verdict.comparison.as_ref();
        let held = test.baseline;
        row.expected = test.expected.map(three_digits);
        row.standardised_ratio = standardised_ratio(test);
        row.baseline_rate = Some(1000.0 * held.with_event / held.evaluable);
        // Of shown months only, and whole numbers.
        #[allow(clippy::cast_possible_truncation)] // counts of approaches
        {
            row.baseline_evaluable = Some(held.evaluable as i64);
            row.baseline_approaches_with_event = Some(held.with_event as i64);
        }
        row.baseline_months = i64::try_from(baseline.months).ok();
        row.season_controlled = Some(baseline.season_controlled);
        row.ratio = compared.and_then(|compared| compared.ratio);
        row.ratio_low = compared.map(|compared| compared.ratio_low);
        row.ratio_high = compared.and_then(|compared| compared.ratio_high);
        row.p = compared.map(|compared| compared.p_central);
        row.q = verdict.q;
        (row.signal, row.why_no_signal) = said(verdict.signal);
        row.detectable_rise_pct = *rise_pct;
    }

    fn done(mut self) -> TrendRow {
        if let Err(why) = self.test {
            self.row.why_no_signal = Some(why.to_owned());
        }
        self.row
    }
}

/// Observed over expected; none where nothing is expected.
pub(super) fn standardised_ratio(test: &MonthTest) -> Option<f64> {
    let expected = test.expected.filter(|expected| *expected > 0.0);
    expected.map(|expected| three_digits(test.month.with_event / expected))
}

/// The signal as tables have it, and why there is none.
pub(super) fn said(signal: Signal) -> (Option<String>, Option<String>) {
    match signal {
        Signal::Higher => (Some("higher".to_owned()), None),
        Signal::Lower => (Some("lower".to_owned()), None),
        Signal::None(why) => (None, Some(words(why).to_owned())),
    }
}

/// Why a tested month has no signal.
pub(super) fn words(why: WhyNoSignal) -> &'static str {
    match why {
        WhyNoSignal::NothingToTest => "no event in either period",
        WhyNoSignal::TooFewEvents => "too few events",
        WhyNoSignal::ChangeTooSmall => "change too small",
        WhyNoSignal::NotSignificant => "not significant",
        WhyNoSignal::NotSignificantAfterCorrection => "not significant after correction",
        WhyNoSignal::PhiNotEstimated => "dispersion not estimated",
        WhyNoSignal::MixExplainsIt => "mix explains it",
    }
}

fn fill_chart(row: &mut TrendRow, cell: &ChartCell) {
    row.chart_low = cell.low_per_1000;
    row.chart_high = Some(cell.high_per_1000);
    row.chart = cell.says.map(str::to_owned);
}

/// Thresholds of the month test.
pub(super) fn rules(options: &SummaryOptions) -> SignalRules {
    SignalRules {
        q: options.flags.q,
        ratio: options.flags.ratio,
        fewest_events: options.flags.min_events,
        confidence: options.confidence,
        ..SignalRules::default()
    }
}

/// What a month is to be compared with, whatever the level.
fn baseline(months: &Months<'_>, month: usize) -> Result<Baseline, &'static str> {
    if months.subject.name.status == Status::Trial {
        return Err(why::TRIAL);
    }
    if months.tally(month).evaluable == 0 {
        return Err(why::NOTHING);
    }
    if !months.subject.is_shown(months.group, month) {
        return Err(why::FEW_APPROACHES);
    }
    let baseline = months.baseline(month)?;
    months.coverage_allows(&[month], &baseline.months)?;
    Ok(baseline)
}

/// What is to be tested of a month.
fn test_of(
    months: &Months<'_>,
    month: usize,
    level: usize,
    baseline: &Baseline,
) -> (Held, MonthTest) {
    let held = Held {
        months: baseline.months.len(),
        season_controlled: baseline.season_controlled,
    };
    let test = MonthTest {
        month: months.counted(&[month], level),
        baseline: months.counted(&baseline.months, level),
        expected: months.expected(&[month], &baseline.months, level),
        phi: months.subject.scatter.without(month),
    };
    (held, test)
}

fn rows_of_month(months: &Months<'_>, month: usize) -> [TrendRow; LEVELS.len()] {
    let (scene, subject) = (months.scene, months.subject);
    let tally = months.tally(month);
    let hidden = scene.hides_month(subject, (months.group, month), tally);
    let phi = subject.scatter.without(month);
    let mut rates: [Option<Shown>; LEVELS.len()] = [None; LEVELS.len()];
    std::array::from_fn(|level| {
        // As many at a higher level as at the one below: the same rate, whose interval is work to find.
        let same = (0..level).rfind(|other| tally.at_least[*other] == tally.at_least[level]);
        let known = same
            .and_then(|other| rates[other])
            .and_then(|shown| shown.rate);
        let shown = Shown::knowing(known, tally, level, scene.options, phi).unless(hidden);
        rates[level] = Some(shown);
        row(months, month, level, &shown)
    })
}

fn row(months: &Months<'_>, month: usize, level: usize, shown: &Shown) -> TrendRow {
    let (scene, subject) = (months.scene, months.subject);
    let name = &subject.name;
    let group = &scene.frame.groups[months.group];
    let phi = subject.scatter.without(month);
    let month = scene.frame.months[month].as_str();
    TrendRow {
        rule: name.rule.clone(),
        rule_version: subject.verdicts.version.filter(|_| name.rule.is_some()),
        family: name.family.clone(),
        rule_status: name.status.as_str().to_owned(),
        at_least_level: LEVELS[level].to_owned(),
        month: month.to_owned(),
        group_kind: group.kind().to_owned(),
        group: group.name(),
        evaluable: shown.evaluable,
        approaches_with_event: shown.approaches_with_event,
        events: shown.events,
        events_edge: shown.events_edge,
        rate_per_1000: shown.rate.map(|rate| rate.per_1000),
        ci_low: shown.rate.map(|rate| rate.low),
        ci_high: shown.rate.map(|rate| rate.high),
        phi,
        limits_hash: subject.limits_hash.clone(),
        suppressed: withheld(shown.hidden),
        // What follows from comparing is filled in once all is asked.
        ..TrendRow::default()
    }
}
