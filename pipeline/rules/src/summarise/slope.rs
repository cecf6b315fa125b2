//! `trend_slope`: one line through the months of each group, called only where it is shown.

use std::collections::BTreeMap;

use stats::{
    Call, Period, Season, SignalRules, Slope, TrendRules, TrendTest, WhyNoTrend, call_trends,
    detectable_slope_pct, trend_test,
};

use super::calendar::season;
use super::count::LEVELS;
use super::months::{Months, why};
use super::rows::{SlopeRow, withheld};
use super::scene::Scene;
use super::subject::{Status, Subject};
use super::{SummaryOptions, three_digits};

struct Asked {
    row: SlopeRow,
    test: Result<TrendTest, WhyNoTrend>,
    /// Why nothing is asked at all, in words.
    refused: Option<&'static str>,
}

/// The rows of all subjects, in order. Slopes of one kind of group are one family of tests.
pub(super) fn rows(scene: &Scene<'_>, subjects: &[Subject]) -> Vec<SlopeRow> {
    let rules = rules(scene.options);
    let mut asked: Vec<Asked> = Vec::new();
    let mut families: BTreeMap<&'static str, Vec<usize>> = BTreeMap::new();
    for subject in subjects {
        for (group, name) in scene.frame.groups.iter().enumerate() {
            let total = &subject.totals[group];
            if total.approaches == 0 {
                continue;
            }
            let months = Months {
                scene,
                subject,
                group,
            };
            let hidden = scene.hides_total(subject, group, total);
            let used = used(&months);
            for level in 0..LEVELS.len() {
                let one = ask(&months, &used, level, hidden, &rules);
                if one.refused.is_none() {
                    families.entry(name.kind()).or_default().push(asked.len());
                }
                asked.push(one);
            }
        }
    }
    for members in families.values() {
        let tests: Vec<Result<TrendTest, WhyNoTrend>> =
            members.iter().map(|place| asked[*place].test).collect();
        let family = tests.iter().filter(|test| test.is_ok()).count();
        for (place, (q, call)) in members.iter().zip(call_trends(&tests, &rules)) {
            let one = &mut asked[*place];
            one.row.detectable_pct_per_month = one.test.as_ref().ok().and_then(|test| {
                let power = SignalRules::default().power;
                detectable_slope_pct(test, family, power, &rules).map(three_digits)
            });
            one.answer(q, call, scene.options);
        }
    }
    asked.into_iter().map(Asked::done).collect()
}

fn rules(options: &SummaryOptions) -> TrendRules {
    TrendRules {
        q: options.flags.q,
        least_pct: options.flags.trend_pct_per_month,
        ..TrendRules::default()
    }
}

/// The months that a slope is laid through: one version of the rule, none of poor coverage, and none whose
/// coverage is far from that of all.
fn used(months: &Months<'_>) -> Result<Vec<usize>, &'static str> {
    let usable = months.usable();
    let Some(last) = usable.last() else {
        return Err(why::NOTHING);
    };
    let era = |month: &usize| months.subject.era(months.group, *month);
    let newest = era(last);
    let same: Vec<usize> = usable
        .iter()
        .copied()
        .filter(|month| era(month) == newest)
        .collect();
    let steady: Vec<usize> = same
        .iter()
        .copied()
        .filter(|month| months.coverage_allows(&[*month], &same).is_ok())
        .collect();
    let fewest = TrendRules::default().least_periods;
    if steady.len() < fewest && same.len() >= fewest {
        return Err(why::COVERAGE_MOVED);
    }
    if same.len() < fewest && usable.len() >= fewest {
        return Err(why::VERSION);
    }
    let (earlier, later) = steady.split_at(steady.len() / 2);
    if !earlier.is_empty() {
        months.coverage_allows(later, earlier)?;
    }
    Ok(steady)
}

fn ask(
    months: &Months<'_>,
    used: &Result<Vec<usize>, &'static str>,
    level: usize,
    hidden: Option<&'static str>,
    rules: &TrendRules,
) -> Asked {
    let mut row = row(months, level, hidden);
    let refuse = |row, why| Asked {
        row,
        test: Err(WhyNoTrend::Undefined),
        refused: Some(why),
    };
    if months.subject.name.status == Status::Trial {
        return refuse(row, why::TRIAL);
    }
    if hidden.is_some() {
        return refuse(row, why::FEW_APPROACHES);
    }
    let used = match used {
        Ok(used) => used,
        Err(why) => return refuse(row, why),
    };
    let frame = months.frame();
    let name = |month: Option<&usize>| month.map(|month| frame.months[*month].clone());
    row.months = i64::try_from(used.len()).ok();
    row.from_month = name(used.first());
    row.to_month = name(used.last());
    let series = months.periods(used, level);
    let season = season(&series);
    let test = trend_test(&series, season, rules, months.scene.options.confidence);
    if let Some(slope) = test.as_ref().ok().and_then(|test| test.slope.as_ref()) {
        fill(&mut row, slope, season);
        row.mk_p = test.as_ref().ok().and_then(|test| test.mann_kendall_p);
        row.standardised_slope_pct = standardised(months, used, level, season);
    }
    Asked {
        row,
        test,
        refused: None,
    }
}

fn fill(row: &mut SlopeRow, slope: &Slope, season: Season) {
    row.slope_pct_per_month = Some(slope.pct_per_period);
    row.ci_low = Some(slope.low);
    row.ci_high = Some(slope.high);
    row.p = Some(slope.p);
    row.phi = Some(slope.phi);
    row.sigma_z = slope.sigma_z;
    row.season_controlled = Some(season == Season::Yearly);
}

/// The slope over approaches of average mix.
fn standardised(months: &Months<'_>, used: &[usize], level: usize, season: Season) -> Option<f64> {
    let mix = months.subject.mix[level].as_ref()?;
    let periods = months.periods(used, level);
    let periods: Vec<Period> = used
        .iter()
        .zip(periods)
        .map(|(month, mut period)| {
            period.counted.evaluable = mix.weight(months.group, std::iter::once(*month));
            period
        })
        .collect();
    let slope = stats::slope(&periods, season, months.scene.options.confidence)?;
    Some(three_digits(slope.pct_per_period))
}

impl Asked {
    fn answer(&mut self, q: Option<f64>, call: Call, options: &SummaryOptions) {
        let row = &mut self.row;
        row.q = q;
        let least = options.flags.trend_pct_per_month;
        let without_mix = row.standardised_slope_pct.unwrap_or(f64::INFINITY);
        match call {
            Call::Rising if without_mix >= least => row.call = Some("rising".to_owned()),
            Call::Falling if row.standardised_slope_pct.is_none_or(|pct| pct <= -least) => {
                row.call = Some("falling".to_owned());
            }
            Call::Rising | Call::Falling => row.why_no_call = Some("mix explains it".to_owned()),
            Call::NotShown(why) => row.why_no_call = Some(words(why).to_owned()),
        }
    }

    fn done(mut self) -> SlopeRow {
        if let Some(why) = self.refused {
            self.row.why_no_call = Some(why.to_owned());
        }
        self.row
    }
}

/// Why no trend is shown.
fn words(why: WhyNoTrend) -> &'static str {
    match why {
        WhyNoTrend::TooFewMonths => "too few months",
        WhyNoTrend::TooFewEvents => "too few events",
        WhyNoTrend::TooFewMonthsWithEvents => "too few months with events",
        WhyNoTrend::NotSignificant => "not significant",
        WhyNoTrend::NotSignificantAfterCorrection => "not significant after correction",
        WhyNoTrend::CrossCheckDisagrees => "rank test does not agree",
        WhyNoTrend::TooSmall => "change too small",
        WhyNoTrend::Undefined => "not computed",
    }
}

fn row(months: &Months<'_>, level: usize, hidden: Option<&'static str>) -> SlopeRow {
    let name = &months.subject.name;
    let group = &months.frame().groups[months.group];
    SlopeRow {
        rule: name.rule.clone(),
        family: name.family.clone(),
        rule_status: name.status.as_str().to_owned(),
        at_least_level: LEVELS[level].to_owned(),
        group_kind: group.kind().to_owned(),
        group: group.name(),
        suppressed: withheld(hidden),
        ..SlopeRow::default()
    }
}
