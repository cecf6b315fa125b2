//! Each month against those before it: tests, corrected for their number, and the chart.

use std::collections::BTreeMap;

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
    /// What the month is compared with and how, or why it is not.
    test: Result<(Baseline, MonthTest), &'static str>,
}

/// The rows of all subjects, in order. Tests of one kind of group in one month are one family.
pub(super) fn rows(scene: &Scene<'_>, subjects: &[Subject]) -> Vec<TrendRow> {
    let frame = &scene.frame;
    let mut asked: Vec<Asked> = Vec::new();
    let mut families: BTreeMap<(&'static str, usize), Vec<usize>> = BTreeMap::new();
    for subject in subjects {
        for (group, name) in frame.groups.iter().enumerate() {
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
                for level in 0..LEVELS.len() {
                    let test = test(&months, month, level);
                    if test.is_ok() {
                        let family = families.entry((name.kind(), month)).or_default();
                        family.push(asked.len());
                    }
                    let mut row = row(&months, month, level);
                    if let Some(cell) = charts.get(&(month, level))
                        && row.suppressed.is_none()
                    {
                        fill_chart(&mut row, cell);
                    }
                    asked.push(Asked { row, test });
                }
            }
        }
    }
    let rules = rules(scene.options);
    let latest = (0..frame.months.len()).rfind(|month| frame.is_known(*month));
    for ((kind, month), members) in &families {
        let tests: Vec<MonthTest> = members
            .iter()
            .filter_map(|place| asked[*place].test.as_ref().ok())
            .map(|(_, test)| *test)
            .collect();
        let verdicts = judge_months(&tests, &rules);
        let family = verdicts.iter().filter(|one| one.q.is_some()).count();
        for (place, (verdict, test)) in members.iter().zip(verdicts.iter().zip(&tests)) {
            asked[*place].answer(verdict);
            // Of earlier months only the fleet's: nobody acts on what a runway could have shown last year.
            if Some(*month) == latest || *kind == Group::Fleet.kind() {
                let rise = detectable_rise_pct(test, family, &rules);
                asked[*place].row.detectable_rise_pct = rise.map(three_digits);
            }
        }
    }
    asked.into_iter().map(Asked::done).collect()
}

impl Asked {
    /// Writes what the test says into the row.
    fn answer(&mut self, verdict: &MonthVerdict) {
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
        row.baseline_months = i64::try_from(baseline.months.len()).ok();
        row.season_controlled = Some(baseline.season_controlled);
        row.ratio = compared.and_then(|compared| compared.ratio);
        row.ratio_low = compared.map(|compared| compared.ratio_low);
        row.ratio_high = compared.and_then(|compared| compared.ratio_high);
        row.p = compared.map(|compared| compared.p_central);
        row.q = verdict.q;
        (row.signal, row.why_no_signal) = said(verdict.signal);
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

/// What is to be tested of a month.
fn test(
    months: &Months<'_>,
    month: usize,
    level: usize,
) -> Result<(Baseline, MonthTest), &'static str> {
    if months.subject.name.status == Status::Trial {
        return Err(why::TRIAL);
    }
    if months.tally(month).evaluable == 0 {
        return Err(why::NOTHING);
    }
    if !months.subject.is_shown(months.frame(), months.group, month) {
        return Err(why::FEW_APPROACHES);
    }
    let baseline = months.baseline(month)?;
    months.coverage_allows(&[month], &baseline.months)?;
    let test = MonthTest {
        month: months.counted(&[month], level),
        baseline: months.counted(&baseline.months, level),
        expected: months.expected(&[month], &baseline.months, level),
        phi: months.subject.scatter.without(month),
    };
    Ok((baseline, test))
}

fn row(months: &Months<'_>, month: usize, level: usize) -> TrendRow {
    let (scene, subject) = (months.scene, months.subject);
    let (tally, name) = (months.tally(month), &subject.name);
    let group = &scene.frame.groups[months.group];
    let phi = subject.scatter.without(month);
    let month = scene.frame.months[month].as_str();
    let shown = Shown::new(tally, level, scene.options, phi)
        .unless(scene.hides_month(subject, group, month, tally));
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
        limits_hash: subject.limits_hash(),
        suppressed: withheld(shown.hidden),
        // What follows from comparing is filled in once all is asked.
        ..TrendRow::default()
    }
}
