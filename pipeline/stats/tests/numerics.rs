//! The special functions against 40-digit values, and their edges.

#[rustfmt::skip] // one row a line
mod reference_values;

use reference_values::{BETA_ODDS, BETA_TAILS, GAMMA_QUANTILES, GAMMA_TAILS, NORMAL, STUDENT};
use stats::numerics::{
    beta_odds_lower, beta_odds_upper, beta_tails, bisect, chi_squared_upper, gamma_quantile_lower,
    gamma_quantile_upper, gamma_tails, normal_quantile_upper, normal_upper, student_quantile_upper,
    student_two_sided,
};

/// Relative accuracy, ten times better than the 1e-9 promised for counts up to 1e4.
const ACCURACY: f64 = 1e-10;

fn assert_close(found: Option<f64>, expected: f64, what: &str) {
    let found = found.unwrap_or_else(|| panic!("{what}: undefined"));
    let error = ((found - expected) / expected).abs();
    assert!(
        error <= ACCURACY,
        "{what}: {found:e}, expected {expected:e}, off by {error:e}"
    );
}

#[test]
fn gamma_tails_hold_on_both_sides() {
    for &(a, x, lower, upper) in GAMMA_TAILS {
        let tails = gamma_tails(a, x);
        assert_close(tails.map(|t| t.lower), lower, &format!("P({a}, {x})"));
        assert_close(tails.map(|t| t.upper), upper, &format!("Q({a}, {x})"));
        assert_close(
            chi_squared_upper(2.0 * x, 2.0 * a),
            upper,
            &format!("chi² {a} {x}"),
        );
    }
}

#[test]
fn gamma_quantiles_hold_from_both_sides() {
    for &(a, tail, low, high) in GAMMA_QUANTILES {
        assert_close(
            gamma_quantile_lower(a, tail),
            low,
            &format!("low {a} {tail}"),
        );
        assert_close(
            gamma_quantile_upper(a, tail),
            high,
            &format!("high {a} {tail}"),
        );
    }
}

#[test]
fn beta_tails_hold_on_both_sides() {
    for &(a, b, x, lower, upper) in BETA_TAILS {
        let tails = beta_tails(a, b, x, 1.0 - x);
        assert_close(tails.map(|t| t.lower), lower, &format!("I({a}, {b}, {x})"));
        assert_close(
            tails.map(|t| t.upper),
            upper,
            &format!("1 - I({a}, {b}, {x})"),
        );
    }
}

#[test]
fn beta_odds_hold_from_both_sides() {
    for &(a, b, tail, low, high) in BETA_ODDS {
        assert_close(
            beta_odds_lower(a, b, tail),
            low,
            &format!("low {a} {b} {tail}"),
        );
        assert_close(
            beta_odds_upper(a, b, tail),
            high,
            &format!("high {a} {b} {tail}"),
        );
    }
}

#[test]
fn normal_and_student_quantiles_hold_and_invert() {
    for &(q, z) in NORMAL {
        assert_close(normal_quantile_upper(q), z, &format!("z {q}"));
        assert_close(normal_upper(z), q, &format!("normal tail {z}"));
        // 1 - q is not q's exact complement when q is very small.
        if q > 1e-4 {
            assert_close(normal_quantile_upper(1.0 - q).map(|z| -z), z, "mirrored");
        }
    }
    for &(q, df, t) in STUDENT {
        assert_close(student_quantile_upper(q, df), t, &format!("t {q} {df}"));
        assert_close(
            student_two_sided(t, df),
            2.0 * q,
            &format!("t tail {t} {df}"),
        );
    }
}

/// Inverse and tail agree over the whole range of counts, small and large probabilities.
#[test]
fn quantiles_invert_the_tails() {
    for a in [0.02, 0.3, 1.0, 2.5, 40.0, 999.5, 1e4, 1e5] {
        for p in [1e-6, 0.005, 0.1, 0.5] {
            let low = gamma_quantile_lower(a, p).expect("defined");
            if low > f64::MIN_POSITIVE {
                assert_close(
                    gamma_tails(a, low).map(|t| t.lower),
                    p,
                    &format!("gamma {a} {p}"),
                );
            }
            let high = gamma_quantile_upper(a, p).expect("defined");
            assert_close(
                gamma_tails(a, high).map(|t| t.upper),
                p,
                &format!("gamma {a} {p}"),
            );
            for b in [0.3, 1.0, 77.25, 1e4, 1e6] {
                let odds = beta_odds_lower(a, b, p).expect("defined");
                if odds > f64::MIN_POSITIVE && odds.is_finite() {
                    let tails = beta_tails(a, b, odds / (1.0 + odds), 1.0 / (1.0 + odds));
                    assert_close(tails.map(|t| t.lower), p, &format!("beta {a} {b} {p}"));
                }
            }
        }
    }
}

#[test]
fn what_is_undefined_is_none() {
    for bad in [f64::NAN, f64::INFINITY, 0.0, -1.0] {
        assert_eq!(gamma_tails(bad, 1.0), None);
        assert_eq!(gamma_quantile_lower(bad, 0.1), None);
        assert_eq!(beta_tails(bad, 1.0, 0.5, 0.5), None);
        assert_eq!(beta_odds_lower(1.0, bad, 0.1), None);
        assert_eq!(student_two_sided(1.0, bad), None);
    }
    for bad in [f64::NAN, 0.0, 1.0, -0.1, 1.1] {
        assert_eq!(gamma_quantile_upper(2.0, bad), None);
        assert_eq!(beta_odds_upper(2.0, 2.0, bad), None);
        assert_eq!(normal_quantile_upper(bad), None);
        assert_eq!(student_quantile_upper(bad, 3.0), None);
    }
    assert_eq!(gamma_tails(1.0, -1.0), None);
    assert_eq!(beta_tails(1.0, 1.0, 1.5, -0.5), None);
    assert_eq!(normal_upper(f64::NAN), None);
    assert_eq!(bisect(0.0, 1.0, |x| x + 1.0), None);
    assert_eq!(bisect(0.0, 1.0, |_| f64::NAN), None);
}

#[test]
fn the_ends_are_exact() {
    let at_zero = gamma_tails(2.0, 0.0).expect("defined");
    assert_eq!((at_zero.lower, at_zero.upper), (0.0, 1.0));
    let at_one = beta_tails(2.0, 3.0, 1.0, 0.0).expect("defined");
    assert_eq!((at_one.lower, at_one.upper), (1.0, 0.0));
    assert_eq!(student_quantile_upper(0.5, 4.0), Some(0.0));
    assert_eq!(student_two_sided(f64::INFINITY, 4.0), Some(0.0));
    assert_eq!(normal_quantile_upper(0.5), Some(0.0));
}
