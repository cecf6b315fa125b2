//! The chart: each month against limits from a baseline that stays as it is. Advisory; it flags nothing.

use std::collections::BTreeMap;

use stats::{ChartPoint, Counted, Period, Side};

use super::count::LEVELS;
use super::months::Months;

/// Below so many expected approaches with an event in a month, quarters are charted instead.
const FEWEST_EXPECTED: f64 = 2.0;
/// Months in a quarter.
const QUARTER: i32 = 3;
/// Fewest months that a baseline is made of.
const FEWEST_MONTHS: usize = 12;

/// One month of the chart, or the quarter that ends with it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ChartCell {
    pub(super) low_per_1000: Option<f64>,
    pub(super) high_per_1000: f64,
    pub(super) says: Option<&'static str>,
}

/// The charted months of a group, by number of month and level. Empty without a baseline.
pub(super) fn charts(months: &Months<'_>) -> BTreeMap<(usize, usize), ChartCell> {
    let mut cells = BTreeMap::new();
    let usable = months.usable();
    let Some(last) = usable.last().copied() else {
        return cells;
    };
    let era = months.subject.era(months.group, last);
    let usable: Vec<usize> = usable
        .into_iter()
        .filter(|month| months.subject.era(months.group, *month) == era)
        .filter(|month| !months.is_poorly_covered(&[*month]))
        .collect();
    let flags = &months.scene.options.flags;
    let from = |month: &usize| months.frame().months[*month].as_str() >= flags.chart_from.as_str();
    let wanted = flags.chart_months as usize;
    let baseline: Vec<usize> = usable.iter().copied().filter(from).take(wanted).collect();
    let charted: Vec<usize> = usable
        .into_iter()
        .filter(|month| baseline.last().is_some_and(|last| month > last))
        .collect();
    if baseline.len() < FEWEST_MONTHS.max(wanted) || charted.is_empty() {
        return cells;
    }
    // As far as the frozen months show it: what comes after must not widen its own limits.
    let phi = months
        .subject
        .scatter
        .over(|month| baseline.contains(&month));
    for level in 0..LEVELS.len() {
        let base = months.counted(&baseline, level);
        if base.with_event <= 0.0 {
            continue;
        }
        #[allow(clippy::cast_precision_loss)] // a number of months
        let monthly = base.with_event / baseline.len() as f64;
        let periods = if monthly < FEWEST_EXPECTED {
            quarters(months, &charted, level)
        } else {
            let own = charted.iter().copied();
            own.zip(months.periods(&charted, level)).collect()
        };
        cells.extend(level_chart(base, &periods, phi).map(|(month, cell)| ((month, level), cell)));
    }
    cells
}

fn level_chart(
    base: Counted,
    periods: &[(usize, Period)],
    phi: Option<f64>,
) -> impl Iterator<Item = (usize, ChartCell)> {
    let series: Vec<Period> = periods.iter().map(|(_, period)| *period).collect();
    let points = stats::chart(base, &series, phi);
    let cells = periods.iter().zip(points);
    let cells: Vec<(usize, ChartCell)> = cells
        .filter_map(|((month, period), point)| {
            Some((*month, cell(&point?, period.counted.evaluable)))
        })
        .collect();
    cells.into_iter()
}

fn cell(point: &ChartPoint, evaluable: f64) -> ChartCell {
    let per_1000 = |count: f64| 1000.0 * count / evaluable;
    let says = match (point.outside, point.run) {
        (Some(Side::Above), _) => Some("above"),
        (Some(Side::Below), _) => Some("below"),
        (None, Some(Side::Above)) => Some("run above"),
        (None, Some(Side::Below)) => Some("run below"),
        (None, None) => None,
    };
    ChartCell {
        low_per_1000: point.low.map(per_1000),
        high_per_1000: per_1000(point.high),
        says,
    }
}

/// Whole quarters among the months, each under its last month.
fn quarters(months: &Months<'_>, charted: &[usize], level: usize) -> Vec<(usize, Period)> {
    let mut found: BTreeMap<i32, Vec<usize>> = BTreeMap::new();
    for month in charted {
        if let Some(at) = months.frame().calendar[*month] {
            found
                .entry(at.div_euclid(QUARTER))
                .or_default()
                .push(*month);
        }
    }
    found
        .into_iter()
        .filter(|(_, members)| members.len() == QUARTER as usize)
        .filter_map(|(quarter, members)| {
            let period = Period {
                index: quarter,
                counted: months.counted(&members, level),
            };
            Some((*members.last()?, period))
        })
        .collect()
}
