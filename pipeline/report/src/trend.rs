//! Months: each rule's rate with its interval, and how many approaches stand behind it.

mod picture;
mod spark;

use crate::cells::{self, CellView};
use crate::input::{MonthTest, RateCell, RuleTrend, Signal, SlopeCall};
use crate::{months, pictures, words};
use serde::Serialize;

/// The trend section.
#[derive(Debug, Serialize)]
pub(crate) struct TrendView {
    tests: Vec<TestRow>,
    /// Whether no test has the season taken out; told once then.
    season_not_controlled: bool,
    /// Tests that do not stand open.
    others: usize,
    rules: Vec<TrendRule>,
}

#[derive(Debug, Serialize)]
struct TestRow {
    id: String,
    /// Where the rule's months are.
    course: String,
    title: String,
    is_family: bool,
    /// Whether it stands open.
    leads: bool,
    spark: Option<String>,
    month: String,
    cell: CellView,
    before: String,
    signal: &'static str,
    flagged: bool,
    ratio: String,
    standardised: String,
    q: String,
    baseline: String,
    /// The trend over all months, in words.
    slope: String,
    slope_flagged: bool,
    /// Rise that would have shown.
    seen: String,
    remark: String,
}

#[derive(Debug, Serialize)]
struct TrendRule {
    id: String,
    title: String,
    /// Whether it says something that a review should look at.
    open: bool,
    statement: Option<String>,
    /// Months outside their chart, in words.
    beyond_chart: Vec<String>,
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

/// Builds the section. What is flagged comes first.
pub(crate) fn build(trends: &[RuleTrend]) -> TrendView {
    let shown = || {
        let numbered = trends.iter().enumerate();
        numbered.filter_map(|(index, trend)| Some((index, trend, shown_test(trend)?)))
    };
    let mut seasons = shown().filter_map(|(_, _, test)| test.season_controlled);
    let season_not_controlled = seasons.next() == Some(false) && !seasons.any(|is| is);
    let mut tests: Vec<TestRow> = shown()
        .map(|(index, trend, test)| test_row(index, trend, test, season_not_controlled))
        .collect();
    tests.sort_by_key(|row| (!row.flagged, !row.slope_flagged, !row.is_family));
    TrendView {
        others: tests.iter().filter(|test| !test.leads).count(),
        tests,
        season_not_controlled,
        rules: trends.iter().enumerate().map(rule).collect(),
    }
}

/// "2.4 % a month (0.9 to 3.9)".
fn per_month(slope: &SlopeCall) -> String {
    format!(
        "{} % a month ({} to {})",
        words::decimals(slope.pct_per_month, 1),
        words::decimals(slope.low, 1),
        words::decimals(slope.high, 1)
    )
}

/// Place of a rule's test, for links.
pub(crate) fn test_id(index: usize) -> String {
    format!("test-{}", index + 1)
}

/// Place of a rule's months, for links.
fn course_id(index: usize) -> String {
    format!("course-{}", index + 1)
}

fn picture_name(trend: &RuleTrend) -> String {
    let kind = if trend.is_family {
        "trend-family"
    } else {
        "trend"
    };
    pictures::name(kind, &trend.rule_id)
}

/// The months of a rule in calendar order.
fn calendar(trend: &RuleTrend) -> Vec<(i32, &RateCell)> {
    let mut points: Vec<_> = trend
        .points
        .iter()
        .filter_map(|point| months::parse(&point.month).map(|month| (month, &point.cell)))
        .collect();
    points.sort_by_key(|(month, _)| *month);
    points
}

/// Whether the latest month says something that a review should look at.
fn is_flagged(signal: Signal) -> bool {
    matches!(signal, Signal::Higher | Signal::Lower)
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
    let points = calendar(trend);
    let mut changes: Vec<_> = trend
        .interventions
        .iter()
        .filter_map(|c| months::parse(&c.month).map(|month| (month, c.text.as_str())))
        .collect();
    changes.sort_unstable();
    let marks: Vec<i32> = changes.iter().map(|(month, _)| *month).collect();
    let drawing = picture::draw(&picture_name(trend), &trend.title, &points, &marks);
    TrendRule {
        id: course_id(index),
        open: (trend.is_family && drawing.is_some())
            || trend.slope.is_some()
            || trend.near.is_some()
            || shown_test(trend).is_some_and(|test| is_flagged(test.signal)),
        title: trend.title.clone(),
        statement: trend.statement.clone(),
        beyond_chart: trend
            .points
            .iter()
            .filter(|point| point.cell.suppressed.is_none())
            .filter_map(|point| {
                Some(format!(
                    "{} {}",
                    point.month,
                    point.beyond_chart.as_deref()?
                ))
            })
            .collect(),
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

/// Why there is no signal, and what else to know.
fn remark(test: &MonthTest, season_told_once: bool) -> String {
    let season = (test.season_controlled == Some(false) && !season_told_once)
        .then_some("season not controlled");
    let why = test.why_no_signal.as_deref();
    let all: Vec<&str> = why.into_iter().chain(season).collect();
    all.join("; ")
}

fn test_row(index: usize, trend: &RuleTrend, test: &MonthTest, season_told_once: bool) -> TestRow {
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
    let points = calendar(trend);
    let cell = trend.points.iter().find(|point| point.month == test.month);
    TestRow {
        id: test_id(index),
        course: course_id(index),
        title: trend.title.clone(),
        is_family: trend.is_family,
        leads: trend.is_family
            || trend.slope.is_some()
            || trend.near.is_some()
            || is_flagged(test.signal),
        spark: spark::draw(&points),
        month: test.month.clone(),
        cell: cells::view(cell.map_or(&RateCell::default(), |point| &point.cell)),
        before: test
            .baseline_rate_per_1000
            .map_or_else(|| words::NOT_KNOWN.to_owned(), words::rate),
        signal: words::signal(test.signal),
        flagged: is_flagged(test.signal),
        slope: match (&trend.slope, &trend.near) {
            (Some(slope), _) => format!("{} {}", slope.call, per_month(slope)),
            (None, Some(near)) => format!("not called, {}", per_month(near)),
            (None, None) => "none called".to_owned(),
        },
        slope_flagged: trend.slope.is_some(),
        ratio,
        standardised: test
            .standardised_ratio
            .map_or_else(|| NOT_TESTED.to_owned(), |ratio| words::decimals(ratio, 2)),
        q: test
            .q_value
            .map_or_else(|| NOT_TESTED.to_owned(), words::q_value),
        baseline: words::count(u64::from(test.baseline_months)),
        seen: match test.detectable_rise_pct {
            Some(rise) => format!("{} %", words::decimals(rise, 0)),
            None => words::NOT_KNOWN.to_owned(),
        },
        remark: remark(test, season_told_once),
    }
}

const NOT_TESTED: &str = "not tested";
