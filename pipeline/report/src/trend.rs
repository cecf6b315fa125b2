//! Months: each rule's rate with its interval, and how many approaches stand behind it.

mod picture;

use crate::cells::{self, CellView};
use crate::input::{MonthTest, RuleTrend, Signal};
use crate::{months, words};
use serde::Serialize;

/// The trend section.
#[derive(Debug, Serialize)]
pub(crate) struct TrendView {
    tests: Vec<TestRow>,
    rules: Vec<TrendRule>,
}

#[derive(Debug, Serialize)]
struct TestRow {
    title: String,
    month: String,
    signal: &'static str,
    flagged: bool,
    ratio: String,
    standardised: String,
    q: String,
    baseline: String,
    remark: String,
}

#[derive(Debug, Serialize)]
struct TrendRule {
    title: String,
    statement: Option<String>,
    picture: Option<String>,
    cut: bool,
    rows: Vec<MonthRow>,
    interventions: Vec<String>,
}

#[derive(Debug, Serialize)]
struct MonthRow {
    month: String,
    cell: CellView,
}

/// Builds the section.
pub(crate) fn build(trends: &[RuleTrend]) -> TrendView {
    TrendView {
        tests: trends
            .iter()
            .filter_map(|trend| shown_test(trend).map(|test| test_row(trend, test)))
            .collect(),
        rules: trends.iter().enumerate().map(rule).collect(),
    }
}

/// The latest month's test, unless that month is suppressed: a ratio would give it away.
pub(crate) fn shown_test(trend: &RuleTrend) -> Option<&MonthTest> {
    let test = trend.latest.as_ref()?;
    let hidden = trend
        .points
        .iter()
        .any(|point| point.month == test.month && point.cell.suppressed.is_some());
    (!hidden).then_some(test)
}

fn rule((index, trend): (usize, &RuleTrend)) -> TrendRule {
    let mut points: Vec<_> = trend
        .points
        .iter()
        .filter_map(|point| months::parse(&point.month).map(|month| (month, &point.cell)))
        .collect();
    points.sort_by_key(|(month, _)| *month);
    let mut changes: Vec<_> = trend
        .interventions
        .iter()
        .filter_map(|c| months::parse(&c.month).map(|month| (month, c.text.as_str())))
        .collect();
    changes.sort_unstable();
    let marks: Vec<i32> = changes.iter().map(|(month, _)| *month).collect();
    let drawing = picture::draw(
        &format!("trend-{}", index + 1),
        &trend.title,
        &points,
        &marks,
    );
    TrendRule {
        title: trend.title.clone(),
        statement: trend.statement.clone(),
        cut: drawing.as_ref().is_some_and(|d| d.cut),
        picture: drawing.map(|d| d.svg),
        rows: points
            .iter()
            .map(|(month, cell)| MonthRow {
                month: written(*month),
                cell: cells::view(cell),
            })
            .collect(),
        interventions: changes
            .iter()
            .map(|(month, text)| format!("{}: {text}", written(*month)))
            .collect(),
    }
}

fn written(month: i32) -> String {
    format!("{:04}-{:02}", months::year(month), month.rem_euclid(12) + 1)
}

fn test_row(trend: &RuleTrend, test: &MonthTest) -> TestRow {
    let ratio = match (test.ratio, test.ratio_low, test.ratio_high) {
        (Some(ratio), Some(low), Some(high)) => format!(
            "{} ({} to {})",
            words::decimals(ratio, 2),
            words::decimals(low, 2),
            words::decimals(high, 2)
        ),
        (Some(ratio), Some(low), None) => format!(
            "{} (at least {})",
            words::decimals(ratio, 2),
            words::decimals(low, 2)
        ),
        (Some(ratio), _, _) => words::decimals(ratio, 2),
        (None, Some(low), _) => format!("not estimable, at least {}", words::decimals(low, 2)),
        (None, None, _) => "not estimable".to_owned(),
    };
    let mut remark = test.why_no_signal.clone().unwrap_or_default();
    if let (Signal::NoSignal, Some(rise)) = (test.signal, test.detectable_rise_pct) {
        let rise = format!("a rise of {} % would have shown", words::decimals(rise, 0));
        if !remark.is_empty() {
            remark.push_str("; ");
        }
        remark.push_str(&rise);
    }
    TestRow {
        title: trend.title.clone(),
        month: test.month.clone(),
        signal: words::signal(test.signal),
        flagged: matches!(test.signal, Signal::Higher | Signal::Lower),
        ratio,
        standardised: test
            .standardised_ratio
            .map_or_else(|| NOT_TESTED.to_owned(), |ratio| words::decimals(ratio, 2)),
        q: test
            .q_value
            .map_or_else(|| NOT_TESTED.to_owned(), words::error_probability),
        baseline: words::count(u64::from(test.baseline_months)),
        remark,
    }
}

const NOT_TESTED: &str = "not tested";
