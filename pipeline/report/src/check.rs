//! Refuses figures that cannot be true before any of them is shown.
//!
//! All faults are collected, each with its place, so that one run finds them all.

mod flown;

use crate::input::{AgainstMark, PeriodQuantiles, RateCell, ReportInput};
use crate::{ReportError, months};
use std::collections::BTreeSet;

/// Checks the whole input.
///
/// # Errors
/// [`ReportError::Input`] with one line a fault.
pub(crate) fn check(input: &ReportInput) -> Result<(), ReportError> {
    let mut faults = Faults::default();
    for text in input
        .identity
        .months
        .iter()
        .chain(&input.identity.review_month)
    {
        faults.month("run", text);
    }
    check_analysed(&mut faults, input);
    check_rules(&mut faults, input);
    check_trend(&mut faults, input);
    check_places(&mut faults, input);
    check_since(&mut faults, input);
    check_against(&mut faults, input);
    flown::check(&mut faults, &input.flown);
    if faults.0.is_empty() {
        Ok(())
    } else {
        Err(ReportError::Input { faults: faults.0 })
    }
}

fn check_analysed(faults: &mut Faults, input: &ReportInput) {
    if input.analysed.flights_used > input.analysed.flights_received {
        faults.add("analysed", "more flights used than received");
    }
    for line in &input.quality.parameters {
        let place = format!("quality of `{}`", line.parameter);
        faults.share(&place, "median coverage", line.median_coverage);
        faults.finite(&place, "stuck time", Some(line.stuck_s));
        if line.flights_with > line.flights {
            faults.add(&place, "recorded on more flights than there are");
        }
    }
}

fn check_rules(faults: &mut Faults, input: &ReportInput) {
    for rule in &input.rules {
        let place = format!("rule `{}`", rule.id);
        faults.share(&place, "coverage", rule.coverage_share);
        faults.cell(&place, &rule.cell);
        if rule.cell.evaluable.is_some_and(|n| n > rule.approaches) {
            faults.add(&place, "more approaches evaluable than in scope");
        }
        for line in &rule.by_level {
            faults.cell(&format!("{place}, level {:?}", line.at_least), &line.cell);
        }
        for line in &rule.limits {
            faults.finite(&place, &line.name, Some(line.value));
        }
    }
}

fn check_trend(faults: &mut Faults, input: &ReportInput) {
    for trend in &input.trend {
        let place = format!("trend of `{}`", trend.rule_id);
        let mut seen = BTreeSet::new();
        for point in &trend.points {
            faults.month(&place, &point.month);
            faults.cell(&format!("{place}, {}", point.month), &point.cell);
            if !seen.insert(&point.month) {
                faults.add(&place, &format!("month {} given twice", point.month));
            }
        }
        for change in &trend.interventions {
            faults.month(&place, &change.month);
        }
        if let Some(test) = &trend.latest {
            faults.month(&place, &test.month);
            for (name, value) in [
                ("ratio", test.ratio),
                ("lower ratio", test.ratio_low),
                ("upper ratio", test.ratio_high),
                ("detectable rise", test.detectable_rise_pct),
            ] {
                faults.not_negative(&place, name, value);
            }
            faults.share(&place, "q", test.q_value);
        }
    }
}

fn check_since(faults: &mut Faults, input: &ReportInput) {
    for line in &input.topics {
        faults.cell(&format!("topic `{}`", line.topic), &line.cell);
    }
    for rule in &input.rules {
        let Some(precision) = &rule.precision else {
            continue;
        };
        let place = format!("second looks of `{}`", rule.id);
        faults.share(&place, "lower share", precision.low);
        faults.share(&place, "upper share", precision.high);
        if precision.stands > precision.looked_at {
            faults.add(&place, "more events stand than were looked at");
        }
    }
    for line in &input.changes {
        let place = format!("change of {}", line.month);
        faults.month(&place, &line.month);
        faults.not_negative(&place, "rate before", line.before);
        faults.not_negative(&place, "rate since", line.after);
        faults.not_negative(&place, "ratio", line.ratio);
    }
    for line in &input.recovery {
        let place = format!("flights flown in {}", line.month);
        faults.month(&place, &line.month);
        // More received than flown does happen: it is told in the remark.
        faults.not_negative(&place, "share", line.share);
        faults.not_negative(&place, "usable share", line.usable_share);
    }
}

fn check_against(faults: &mut Faults, input: &ReportInput) {
    let Some(against) = &input.against else {
        return;
    };
    if let Some(month) = &against.month {
        faults.month("review before", month);
    }
    for line in &against.lines {
        let place = format!("since the review before, `{}`", line.title);
        faults.not_negative(&place, "rate before", line.before.rate_per_1000);
        faults.not_negative(&place, "rate now", line.now.rate_per_1000);
        faults.finite(&place, "trend before", line.before.slope_pct_per_month);
        faults.finite(&place, "trend now", line.now.slope_pct_per_month);
        let (before, now) = (&line.before.flag, &line.now.flag);
        let wrong = match line.mark {
            AgainstMark::New if before.is_some() => "marked new, but flagged before",
            AgainstMark::New if now.is_none() => "marked new, but not flagged now",
            AgainstMark::Gone if before.is_none() => "marked gone, but not flagged before",
            AgainstMark::Gone if now.is_some() => "marked gone, but flagged now",
            AgainstMark::Changed if before == now => "marked changed, but flagged alike",
            _ => continue,
        };
        faults.add(&place, wrong);
    }
}

fn check_places(faults: &mut Faults, input: &ReportInput) {
    for rule in &input.hotspots {
        let place = format!("airports of `{}`", rule.rule_id);
        faults.not_negative(&place, "fleet rate", rule.rate_of_all_per_1000);
        for line in &rule.airports {
            let place = format!("{place}, `{}`", line.airport);
            faults.cell(&place, &line.cell);
            faults.not_negative(&place, "standardised ratio", line.standardised_ratio);
            faults.not_negative(&place, "shrunk rate", line.shrunk_rate_per_1000);
            faults.not_negative(&place, "shrunk 5 % quantile", line.shrunk_low_per_1000);
            faults.share(&place, "probability above fleet", line.prob_above_fleet);
        }
    }
    for spread in &input.distributions {
        let place = format!("distribution of `{}`", spread.rule_id);
        faults.finite(&place, "limit", spread.limit);
        for period in &spread.periods {
            faults.quantiles(&format!("{place}, {}", period.label), period);
        }
    }
}

/// The faults found so far.
#[derive(Default)]
struct Faults(Vec<String>);

impl Faults {
    fn add(&mut self, place: &str, what: &str) {
        self.0.push(format!("{place}: {what}"));
    }

    fn month(&mut self, place: &str, text: &str) {
        if months::parse(text).is_none() {
            self.add(place, &format!("month `{text}` is not written YYYY-MM"));
        }
    }

    fn finite(&mut self, place: &str, name: &str, value: Option<f64>) {
        if value.is_some_and(|v| !v.is_finite()) {
            self.add(place, &format!("{name} is not a finite number"));
        }
    }

    fn not_negative(&mut self, place: &str, name: &str, value: Option<f64>) {
        self.finite(place, name, value);
        if value.is_some_and(|v| v < 0.0) {
            self.add(place, &format!("{name} is below zero"));
        }
    }

    fn share(&mut self, place: &str, name: &str, value: Option<f64>) {
        self.not_negative(place, name, value);
        if value.is_some_and(|v| v > 1.0) {
            self.add(place, &format!("{name} is above one"));
        }
    }

    fn cell(&mut self, place: &str, cell: &RateCell) {
        self.not_negative(place, "rate", cell.rate_per_1000);
        self.not_negative(place, "lower end", cell.ci_low);
        self.not_negative(place, "upper end", cell.ci_high);
        if let Some((low, high)) = cell.ci_low.zip(cell.ci_high)
            && low > high
        {
            self.add(place, "the interval is upside down");
        }
        if let Some((part, whole)) = cell.approaches_with_event.zip(cell.evaluable)
            && part > whole
        {
            self.add(place, "more approaches with an event than evaluable ones");
        }
    }

    fn quantiles(&mut self, place: &str, period: &PeriodQuantiles) {
        let values = [period.p5, period.p25, period.p50, period.p75, period.p95];
        for value in values {
            self.finite(place, "quantile", value);
        }
        let known: Vec<f64> = values.into_iter().flatten().collect();
        if known.windows(2).any(|pair| pair[0] > pair[1]) {
            self.add(place, "the quantiles do not rise");
        }
    }
}
