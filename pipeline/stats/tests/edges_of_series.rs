//! Edge cases of months, charts and series, one by one: no event, nothing evaluable, one month, all equal,
//! events at one end, unusable numbers. What is undefined is `None`, never NaN and never 0.

use stats::{
    Call, Counted, MonthTest, Period, Season, Side, Signal, SignalRules, Stratum, TrendRules,
    WhyNoSignal, WhyNoTrend, call_trends, chart, detectable_rise_pct, detectable_slope_pct,
    fit_effects, judge_months, laney, mann_kendall, power_of_rise, sen_slope, slope, trend_test,
};

const N: f64 = 500.0;

/// One month a count, all of 500 approaches.
fn series(counts: &[f64]) -> Vec<Period> {
    let period = |(index, count): (i32, &f64)| Period {
        index,
        counted: Counted::new(*count, N),
    };
    (0..).zip(counts).map(period).collect()
}

fn month(now: (f64, f64), before: (f64, f64)) -> MonthTest {
    MonthTest {
        month: Counted::new(now.0, now.1),
        baseline: Counted::new(before.0, before.1),
        expected: None,
        phi: Some(1.0),
    }
}

fn signal(test: MonthTest) -> Signal {
    judge_months(&[test], &SignalRules::default())[0].signal
}

/// The slope and the call of a series alone.
fn called(counts: &[f64]) -> (Option<f64>, Call) {
    let rules = TrendRules::default();
    let test = trend_test(&series(counts), Season::Ignored, &rules, 0.95);
    let pct = test.as_ref().ok().and_then(|t| t.slope);
    let call = call_trends(&[test], &rules)[0].1;
    (pct.map(|slope| slope.pct_per_period), call)
}

#[test]
fn no_event_at_all() {
    let none = month((0.0, N), (0.0, 12.0 * N));
    assert_eq!(signal(none), Signal::None(WhyNoSignal::NothingToTest));
    let rules = SignalRules::default();
    assert_eq!(detectable_rise_pct(&none, 1, &rules), None);
    assert_eq!(power_of_rise(&none, 50.0, 1, &rules), None);
    let year = series(&[0.0; 12]);
    assert_eq!(chart(Counted::new(0.0, 9e3), &year, None), vec![None; 12]);
    assert_eq!(slope(&year, Season::Ignored, 0.95), None);
    assert_eq!(
        called(&[0.0; 24]),
        (None, Call::NotShown(WhyNoTrend::TooFewEvents))
    );
    let flat = mann_kendall(&[0.0; 24]).expect("ranks");
    assert_eq!((flat.s, flat.p), (0, 1.0));
}

/// No event in the month: the chart plots at 0, the ratio is 0 with an upper end, and it can be lower.
#[test]
fn no_event_in_the_month() {
    let few = judge_months(&[month((0.0, N), (6.0, 12.0 * N))], &SignalRules::default())[0];
    let comparison = few.comparison.expect("evaluable");
    assert_eq!(comparison.ratio, Some(0.0));
    assert!(comparison.ratio_high.is_some_and(f64::is_finite));
    assert_eq!(few.signal, Signal::None(WhyNoSignal::NotSignificant));
    assert_eq!(signal(month((0.0, N), (180.0, 12.0 * N))), Signal::Lower);
    let points = chart(Counted::new(72.0, 12.0 * N), &series(&[0.0]), None);
    let point = points[0].expect("evaluable");
    assert_eq!((point.expected, point.low), (6.0, None));
    assert_eq!(point.outside, None);
    let points = chart(Counted::new(180.0, 12.0 * N), &series(&[0.0]), None);
    assert_eq!(points[0].and_then(|p| p.outside), Some(Side::Below));
}

/// Never seen before: no finite ratio, but its lower end may be enough.
#[test]
fn no_event_before() {
    let test = month((9.0, N), (0.0, 12.0 * N));
    let verdict = judge_months(&[test], &SignalRules::default())[0];
    let comparison = verdict.comparison.expect("evaluable");
    assert_eq!((comparison.ratio, comparison.ratio_high), (None, None));
    assert!(comparison.ratio_low > 1.0);
    assert_eq!(verdict.signal, Signal::Higher);
    assert_eq!(
        detectable_rise_pct(&test, 1, &SignalRules::default()),
        None,
        "per cent of nothing"
    );
}

#[test]
fn nothing_evaluable() {
    for test in [
        month((0.0, 0.0), (9.0, 12.0 * N)),
        month((9.0, N), (0.0, 0.0)),
        month((0.0, 0.0), (0.0, 0.0)),
    ] {
        let verdict = judge_months(&[test], &SignalRules::default())[0];
        assert_eq!((verdict.comparison, verdict.q), (None, None));
        assert_eq!(
            verdict.signal,
            Signal::None(WhyNoSignal::NothingToTest),
            "{test:?}"
        );
        assert_eq!(detectable_rise_pct(&test, 1, &SignalRules::default()), None);
    }
    let gap = Period {
        index: 1,
        counted: Counted::new(0.0, 0.0),
    };
    let points = chart(Counted::new(72.0, 12.0 * N), &[gap], None);
    assert_eq!(points, [None]);
    assert_eq!(laney(&[Counted::new(1.0, N), gap.counted]), None);
    assert_eq!(fit_effects(&[], 0.0), None);
    let nothing = Stratum {
        levels: vec![0],
        counted: Counted::new(0.0, 0.0),
    };
    assert_eq!(fit_effects(&[nothing], 0.0), None);
}

/// A month without approaches is dropped from the slope, and the others keep their place in the calendar.
#[test]
fn a_month_without_approaches_keeps_its_place() {
    let rising: Vec<f64> = (0..24).map(|t| 10.0 * 1.05_f64.powi(t)).collect();
    let whole = slope(&series(&rising), Season::Ignored, 0.95).expect("events");
    assert!((whole.pct_per_period - 5.0).abs() < 1e-6);
    let mut gap = series(&rising);
    gap[7].counted = Counted::new(0.0, 0.0);
    let found = slope(&gap, Season::Ignored, 0.95).expect("events");
    assert_eq!(found.periods, 23);
    assert!(
        (found.pct_per_period - 5.0).abs() < 1e-6,
        "a gap that closed up would make it steeper: {}",
        found.pct_per_period
    );
}

#[test]
fn one_month() {
    let rules = TrendRules::default();
    let test = trend_test(&series(&[40.0]), Season::Ignored, &rules, 0.95);
    assert_eq!(test, Err(WhyNoTrend::TooFewMonths));
    assert_eq!(slope(&series(&[40.0]), Season::Ignored, 0.95), None);
    assert_eq!(mann_kendall(&[0.08]), None);
    assert_eq!(sen_slope(&[(0, 0.08)]), None);
    assert_eq!(laney(&[Counted::new(40.0, N)]), None);
    assert_eq!(signal(month((6.0, N), (72.0, 12.0 * N))), {
        Signal::None(WhyNoSignal::NotSignificant)
    });
}

#[test]
fn all_months_equal() {
    let equal = series(&[6.0; 24]);
    let flat = slope(&equal, Season::Ignored, 0.95).expect("events");
    assert!(flat.pct_per_period.abs() < 1e-9 && (flat.p - 1.0).abs() < 1e-9);
    assert!(flat.phi.abs() < 1e-12);
    assert_eq!(flat.sigma_z.map(|z| z.abs() < 1e-12), Some(true));
    assert!(flat.low < 0.0 && flat.high > 0.0, "φ is raised to 1");
    let (_, call) = called(&[6.0; 24]);
    assert_eq!(call, Call::NotShown(WhyNoTrend::NotSignificant));
    let wave = slope(&equal, Season::Yearly, 0.95).expect("events");
    assert!(wave.pct_per_period.abs() < 1e-9 && wave.p > 0.999);
    let test = month((6.0, N), (72.0, 12.0 * N));
    let verdict = judge_months(&[test], &SignalRules::default())[0];
    let ratio = verdict.comparison.and_then(|c| c.ratio).expect("events");
    assert!((ratio - 1.0).abs() < 1e-12);
    let points = chart(Counted::new(72.0, 12.0 * N), &equal, None);
    assert!(points.iter().flatten().all(|p| p.outside.is_none()));
    assert!(
        points.iter().flatten().all(|p| p.run.is_none()),
        "on the line is on no side"
    );
}

/// Separation: all events in the first or the last month have no finite slope, and no month count.
#[test]
fn events_only_at_one_end() {
    let mut last = [0.0; 24];
    last[23] = 30.0;
    let mut first = [0.0; 24];
    first[0] = 30.0;
    for counts in [first, last] {
        let found = slope(&series(&counts), Season::Ignored, 0.95);
        let finite = |s: stats::Slope| [s.pct_per_period, s.low, s.high, s.p].map(f64::is_finite);
        assert!(found.is_none_or(|slope| finite(slope) == [true; 4]));
        let (_, call) = called(&counts);
        assert_eq!(call, Call::NotShown(WhyNoTrend::TooFewMonthsWithEvents));
    }
}

#[test]
fn a_signal_says_what_it_lacks() {
    let rules = SignalRules::default();
    let rises = month((14.0, N), (72.0, 12.0 * N));
    assert_eq!(signal(rises), Signal::Higher);
    let unknown = MonthTest { phi: None, ..rises };
    assert_eq!(signal(unknown), Signal::None(WhyNoSignal::PhiNotEstimated));
    let mix = MonthTest {
        expected: Some(13.0),
        ..rises
    };
    assert_eq!(signal(mix), Signal::None(WhyNoSignal::MixExplainsIt));
    let small = month((1_150.0, 1e4), (12_000.0, 12e4));
    assert_eq!(signal(small), Signal::None(WhyNoSignal::ChangeTooSmall));
    let few = month((4.0, N), (0.0, 12.0 * N));
    assert_eq!(signal(few), Signal::None(WhyNoSignal::TooFewEvents));
    let mut family = vec![month((6.0, N), (72.0, 12.0 * N)); 60];
    family[0] = month((12.0, N), (60.0, 12.0 * N));
    let verdicts = judge_months(&family, &rules);
    assert_eq!(
        verdicts[0].signal,
        Signal::None(WhyNoSignal::NotSignificantAfterCorrection)
    );
}

#[test]
fn trends_say_what_they_lack() {
    assert_eq!(
        called(&[9.0; 11]).1,
        Call::NotShown(WhyNoTrend::TooFewMonths)
    );
    let slow: Vec<f64> = (0..36)
        .map(|t| (4_000.0 * 1.005_f64.powi(t)).round())
        .collect();
    let (pct, call) = called(&slow);
    assert!(pct.is_some_and(|pct| (pct - 0.5).abs() < 0.01));
    assert_eq!(call, Call::NotShown(WhyNoTrend::TooSmall));
    // One great month at the end of a series that falls.
    let mut turned: Vec<f64> = (0..14).map(|t| 20.0 - f64::from(t)).collect();
    turned[13] = 150.0;
    assert!(matches!(called(&turned).1, Call::NotShown(_)));
    assert_eq!(
        called(&[3.0, 4.0].repeat(9)).0.map(f64::is_finite),
        Some(true)
    );
    let rising: Vec<f64> = (0..24).map(|t| (5.0 * 1.08_f64.powi(t)).round()).collect();
    assert_eq!(called(&rising).1, Call::Rising);
    let falling: Vec<f64> = rising.iter().rev().copied().collect();
    assert_eq!(called(&falling).1, Call::Falling);
}

/// Runs end at gaps, and are not told for counts too small.
#[test]
fn runs_need_neighbours_and_counts() {
    let above = |counts: &[f64], skip: usize| {
        let mut months = series(counts);
        for month in months.iter_mut().skip(skip) {
            month.index += 1;
        }
        let points = chart(Counted::new(72.0, 12.0 * N), &months, None);
        points.iter().flatten().filter(|p| p.run.is_some()).count()
    };
    assert_eq!(above(&[7.0; 9], 99), 1);
    assert_eq!(above(&[7.0; 8], 99), 0);
    assert_eq!(above(&[7.0; 9], 4), 0);
    let rare = chart(Counted::new(12.0, 12.0 * N), &series(&[2.0; 12]), None);
    assert!(rare.iter().flatten().all(|p| p.run.is_none()));
}

#[test]
fn unusable_numbers_are_unknown() {
    let rules = TrendRules::default();
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        let verdict = judge_months(&[month((bad, N), (3.0, N))], &SignalRules::default())[0];
        assert_eq!(verdict.comparison, None);
        assert!(matches!(verdict.signal, Signal::None(_)));
        let points = chart(Counted::new(72.0, 6_000.0), &series(&[bad]), None);
        assert_eq!(points, [None]);
        assert_eq!(chart(Counted::new(bad, 6e3), &series(&[1.0]), None), [None]);
        let mut counts = [6.0; 24];
        counts[3] = bad;
        assert_eq!(slope(&series(&counts), Season::Ignored, 0.95), None);
        let test = trend_test(&series(&counts), Season::Ignored, &rules, 0.95);
        let call = call_trends(&[test], &rules)[0];
        assert!(matches!(call, (None, Call::NotShown(_))), "{bad}: {call:?}");
        assert_eq!(laney(&[Counted::new(bad, N), Counted::new(1.0, N)]), None);
        let stratum = Stratum {
            levels: vec![0],
            counted: Counted::new(bad, N),
        };
        assert_eq!(fit_effects(&[stratum], 0.0), None);
    }
    let good = trend_test(&series(&[6.0; 24]), Season::Ignored, &rules, 0.95).expect("data");
    assert_eq!(detectable_slope_pct(&good, 1, 1.5, &rules), None);
}

/// A stratum without a single event has a multiplier of 0 without a prior, and never NaN.
#[test]
fn strata_without_events() {
    let stratum = |levels: [usize; 2], with_event, evaluable| Stratum {
        levels: levels.to_vec(),
        counted: Counted::new(with_event, evaluable),
    };
    let strata = [
        stratum([0, 0], 4.0, 100.0),
        stratum([0, 1], 6.0, 100.0),
        stratum([1, 0], 0.0, 100.0),
        stratum([1, 1], 0.0, 0.0),
    ];
    let plain = fit_effects(&strata, 0.0).expect("approaches");
    assert_eq!(plain.multiplier(0, 1), 0.0);
    assert_eq!(plain.multiplier(7, 9), 1.0, "a factor that was not fitted");
    let drawn = fit_effects(&strata, 5.0).expect("approaches");
    assert!(drawn.multiplier(0, 1) > 0.0 && drawn.multiplier(0, 1) < 1.0);
    let silent = fit_effects(&[stratum([0, 0], 0.0, 50.0)], 1.0).expect("approaches");
    assert_eq!(silent.expected(&[Some(0), None], 20.0), 0.0);
}
