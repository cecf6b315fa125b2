//! Tails, slope and effects against independent libraries: mpmath 1.4.1 and statsmodels 0.15.0 (numpy, scipy
//! 1.17.1), run once; what they gave stands here.

#[rustfmt::skip] // one row a line
mod tail_values;

use stats::{
    Counted, Period, Season, Stratum, fit_effects, lower_tail, one_sided_p, slope, upper_tail,
};
use tail_values::{COUNTS, TWO_PERIODS};

fn assert_close(found: f64, expected: f64, accuracy: f64, what: &str) {
    let error = ((found - expected) / expected).abs();
    assert!(
        error <= accuracy,
        "{what}: {found:e}, expected {expected:e}, off by {error:e}"
    );
}

/// What is promised for counts up to 10⁴.
const TAILS: f64 = 1e-9;

#[test]
fn tails_of_counts_hold_to_ten_thousand() {
    for &(count, expected, phi, upper, lower) in COUNTS {
        let what = format!("count {count}, expected {expected}, phi {phi}");
        let found = upper_tail(count, expected, Some(phi)).expect("defined");
        assert_close(found, upper, TAILS, &format!("upper, {what}"));
        let found = lower_tail(count, expected, Some(phi)).expect("defined");
        assert_close(found, lower, TAILS, &format!("lower, {what}"));
    }
    assert!(COUNTS.iter().any(|row| row.0 > 1e4), "counts of that size");
}

#[test]
fn tails_of_two_periods_hold_to_ten_thousand() {
    for &(x1, n1, x2, n2, upper, lower) in TWO_PERIODS {
        let what = format!("{x1} of {n1}, {x2} of {n2}");
        let (one, other) = (Counted::new(x1, n1), Counted::new(x2, n2));
        let (higher, lower_p) = one_sided_p(one, other, 1.0, None).expect("defined");
        assert_close(higher, upper, TAILS, &format!("upper, {what}"));
        assert_close(lower_p, lower, TAILS, &format!("lower, {what}"));
    }
}

/// GLM(Poisson, log link, offset log n) on t, sin(2πt/12), cos(2πt/12), scale "X2"; t quantile with 30
/// degrees of freedom. Two months are missing.
#[test]
#[rustfmt::skip]
fn the_line_with_a_yearly_wave_is_the_regressions() {
    let events = [
        9, 7, 8, 12, 26, 12, 14, 11, 12, 12, 10, 7, 2, 17, 13, 19, 37, 16, 33, 43, 27, 29, 7, 13, 8, 9, 15, 22,
        16, 27, 49, 71, 36, 33, 33, 11,
    ];
    let approaches = [
        835, 468, 456, 576, 836, 373, 449, 613, 444, 545, 506, 342, 320, 359, 697, 891, 857, 716, 853, 569, 630,
        684, 542, 462, 720, 481, 633, 344, 427, 331, 669, 784, 827, 787, 852, 302,
    ];
    let series: Vec<Period> = (0..).zip(events).zip(approaches)
        .filter(|((index, _), _)| ![9, 10].contains(index))
        .map(|((index, x), n)| Period { index, counted: Counted::new(f64::from(x), f64::from(n)) })
        .collect();
    let found = slope(&series, Season::Yearly, 0.95).expect("events");
    assert_eq!(found.degrees_of_freedom, 30);
    for (found, expected, what) in [
        (found.pct_per_period, 3.122_095_081_931_533, "slope"),
        (found.low, 1.652_859_247_800_830_6, "low"),
        (found.high, 4.612_566_461_736_855, "high"),
        (found.p, 0.000_134_899_899_909_487_68, "p"),
        (found.phi, 2.676_941_556_998_515_5, "phi"),
        (found.log_se, 0.007_026_490_159_251_262, "standard error"),
    ] {
        assert_close(found, expected, 1e-7, what);
    }
}

/// GLM(Poisson, log link, offset log n) on three factors of 3, 4 and 5 levels, treatment coding; strata
/// without approaches left out. Without a prior the multipliers are its maximum likelihood.
#[test]
#[rustfmt::skip]
fn effects_without_a_prior_are_the_regressions() {
    let approaches = [
        153, 148, 237, 0, 66, 302, 278, 108, 19, 17, 152, 229, 153, 17, 324, 161, 352, 97, 80, 83, 243, 0, 296, 148,
        16, 144, 288, 89, 240, 68, 111, 384, 166, 298, 65, 283, 88, 157, 65, 159, 105, 23, 380, 140, 313, 0, 345, 217,
        100, 387, 285, 66, 0, 217, 389, 0, 316, 0, 0, 394,
    ];
    let events = [
        9, 0, 2, 0, 2, 2, 9, 5, 0, 0, 5, 11, 5, 0, 7, 9, 16, 3, 7, 3, 11, 0, 12, 6, 1, 9, 10, 3, 7, 0, 8, 38, 6, 21,
        6, 38, 11, 18, 5, 12, 2, 1, 15, 3, 4, 0, 3, 2, 1, 2, 2, 2, 0, 6, 3, 0, 10, 0, 0, 6,
    ];
    let expected = [
        4.284_963_881_542_92, 4.357_754_880_884_216, 5.766_223_978_593_044, 0.0, 1.073_027_121_071_343_8,
        5.432_610_209_604_014_5, 5.257_650_900_666_831, 1.687_768_142_226_457_9,
    ];
    let last = [(54, 5.322_836_458_228_974), (56, 11.767_113_799_171_81), (59, 8.101_114_558_490_956)];
    let strata: Vec<Stratum> = (0..60).map(|place: usize| Stratum {
        levels: vec![place / 20, place / 5 % 4, place % 5],
        counted: Counted::new(f64::from(events[place]), f64::from(approaches[place])),
    }).collect();
    let effects = fit_effects(&strata, 0.0).expect("approaches");
    let of = |place: usize| {
        let levels: Vec<Option<usize>> = strata[place].levels.iter().copied().map(Some).collect();
        effects.expected(&levels, strata[place].counted.evaluable)
    };
    for (place, expected) in expected.into_iter().enumerate().chain(last) {
        if expected > 0.0 {
            assert_close(of(place), expected, 1e-8, &format!("stratum {place}"));
        } else {
            assert_eq!(of(place), 0.0);
        }
    }
}
