//! Edge cases: nothing seen, nothing evaluable, everything equal, unusable numbers.

use stats::compare::compare;
use stats::dispersion::{phi_from_expected, phi_from_series};
use stats::rate::{garwood, rate_per_1000, upper_limit_per_1000};
use stats::shrink::{Place, Prior, fit_prior, posterior};
use stats::{
    Class, Cluster, Counted, Thresholds, benjamini_hochberg, choose_phi, clopper_pearson,
    hot_spots, one_sided_p, phi_within, upper_tail, wilson,
};

fn counted(with_event: f64, evaluable: f64) -> Counted {
    Counted::new(with_event, evaluable)
}

#[test]
fn nothing_seen_is_a_rate_of_zero_with_an_upper_limit() {
    let rate = rate_per_1000(counted(0.0, 850.0), 0.95, None).expect("defined");
    assert_eq!((rate.per_1000, rate.low), (0.0, 0.0));
    // −ln(0.025) and −ln(0.05): the closed forms at a count of zero.
    assert!((rate.high - -0.025_f64.ln() / 0.85).abs() < 1e-9);
    let one_sided = upper_limit_per_1000(counted(0.0, 850.0), 0.95, None).expect("defined");
    assert!((one_sided - -0.05_f64.ln() / 0.85).abs() < 1e-9);
}

#[test]
fn nothing_evaluable_is_unknown_and_not_zero() {
    assert_eq!(rate_per_1000(counted(0.0, 0.0), 0.95, None), None);
    assert_eq!(upper_limit_per_1000(counted(0.0, 0.0), 0.95, None), None);
    assert_eq!(wilson(counted(0.0, 0.0), 0.95, None), None);
    assert_eq!(clopper_pearson(counted(0.0, 0.0), 0.95, None), None);
    assert_eq!(
        compare(counted(0.0, 0.0), counted(3.0, 9.0), 0.95, None),
        None
    );
    assert_eq!(
        compare(counted(3.0, 9.0), counted(0.0, 0.0), 0.95, None),
        None
    );
    assert_eq!(upper_tail(1.0, 0.0, None), None);
}

#[test]
fn unusable_numbers_are_unknown() {
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        assert_eq!(garwood(bad, 0.95, None), None);
        assert_eq!(rate_per_1000(counted(1.0, bad), 0.95, None), None);
        assert_eq!(wilson(counted(bad, 9.0), 0.95, None), None);
        assert_eq!(
            compare(counted(bad, 9.0), counted(1.0, 9.0), 0.95, None),
            None
        );
        assert_eq!(
            one_sided_p(counted(1.0, 9.0), counted(1.0, 9.0), bad, None),
            None
        );
        assert_eq!(
            fit_prior(&[Place::plain(bad, 9.0), Place::plain(1.0, 9.0)], None),
            None
        );
        assert_eq!(
            hot_spots(&[Place::plain(bad, 9.0)], None, &Thresholds::default()),
            None
        );
        assert_eq!(upper_tail(bad, 1.0, None), None);
    }
    for bad in [f64::NAN, 0.0, 1.0, 95.0] {
        assert_eq!(garwood(3.0, bad, None), None);
        assert_eq!(wilson(counted(3.0, 9.0), bad, None), None);
        assert_eq!(
            compare(counted(1.0, 9.0), counted(1.0, 9.0), bad, None),
            None
        );
    }
    assert_eq!(garwood(3.0, 0.95, Some(f64::NAN)), None);
    assert_eq!(wilson(counted(10.0, 9.0), 0.95, None), None);
}

#[test]
fn dispersion_widens_but_never_narrows() {
    let plain = garwood(7.0, 0.95, None).expect("defined");
    let wide = garwood(7.0, 0.95, Some(2.0)).expect("defined");
    assert!(wide.low < plain.low && wide.high > plain.high);
    assert_eq!(garwood(7.0, 0.95, Some(0.4)), Some(plain));
    let share = |phi| wilson(counted(7.0, 90.0), 0.95, phi).expect("defined");
    assert!(share(Some(2.0)).high > share(None).high);
    assert_eq!(share(Some(2.0)).share, share(None).share);
}

#[test]
fn shares_reach_their_ends_exactly() {
    for interval in [wilson, clopper_pearson] {
        assert_eq!(
            interval(counted(0.0, 33.0), 0.95, None).map(|s| s.low),
            Some(0.0)
        );
        assert_eq!(
            interval(counted(33.0, 33.0), 0.95, None).map(|s| s.high),
            Some(1.0)
        );
    }
}

#[test]
fn the_test_and_its_interval_agree() {
    for now in 0..30 {
        let first = counted(f64::from(now), 1_000.0);
        let found = compare(first, counted(40.0, 12_000.0), 0.95, Some(1.4)).expect("defined");
        let outside = found.ratio_low > 1.0 || found.ratio_high.is_some_and(|high| high < 1.0);
        assert_eq!(found.p_central < 0.05, outside, "{now}: {found:?}");
    }
}

#[test]
fn a_ratio_to_nothing_has_a_lower_limit_only() {
    let found = compare(counted(3.0, 900.0), counted(0.0, 11_000.0), 0.95, None).expect("defined");
    assert_eq!((found.ratio, found.ratio_high), (None, None));
    assert!(found.ratio_low > 1.0);
    let both = compare(counted(0.0, 900.0), counted(0.0, 11_000.0), 0.95, None).expect("defined");
    assert_eq!(
        (both.ratio, both.ratio_low, both.ratio_high),
        (None, 0.0, None)
    );
    assert_eq!(both.p_central, 1.0);
}

#[test]
fn clusters_tell_independent_from_clustered() {
    let cluster = |evaluable, with_event| Cluster {
        evaluable,
        with_event,
    };
    let of = |clusters: &[Cluster]| phi_within(&[clusters.to_vec()]);
    // Ten days of ten approaches, all events on one day: s − mp is 9 once and −1 nine times,
    // so Σ(s−mp)² = 90 against 0.09·100/99·(100 − 10) = 90/11.
    let mut days = vec![cluster(10, 0); 9];
    days.push(cluster(10, 10));
    assert!((of(&days).expect("defined") - 11.0).abs() < 1e-12);
    assert_eq!(of(&[cluster(10, 1)]), None);
    assert_eq!(of(&[cluster(10, 0), cluster(5, 0)]), None);
    assert_eq!(of(&[cluster(1, 1), cluster(1, 0)]), None);
    assert_eq!(of(&[cluster(1, 2), cluster(4, 0)]), None);
    assert_eq!(choose_phi(&[None, None]), None);
    assert_eq!(choose_phi(&[Some(0.3), None]), Some(1.0));
    assert_eq!(choose_phi(&[Some(1.3), Some(2.1)]), Some(2.1));
}

/// Months of different rates and no clusters: dispersion only where all are taken as one.
#[test]
fn a_month_of_another_rate_is_no_dispersion_within_months() {
    let days = |events: [u64; 10]| -> Vec<Cluster> {
        let one = |with_event| Cluster {
            evaluable: 10,
            with_event,
        };
        events.into_iter().map(one).collect()
    };
    let calm = days([0, 1, 0, 2, 1, 0, 1, 1, 0, 2]);
    let raised = days([5, 6, 4, 5, 7, 3, 5, 6, 4, 5]);
    let within = phi_within(&[calm.clone(), raised.clone()]).expect("events");
    let as_one = phi_within(&[[calm.clone(), raised].concat()]).expect("events");
    assert!(within < 0.8 && as_one > 2.5, "{within}, {as_one}");
    // By hand: 10 days of 10, 8 events, Σ(s−0.8)² = 5.6; 0.0736·100/99·(100 − 10) = 6.690 91.
    let alone = phi_within(std::slice::from_ref(&calm)).expect("events");
    assert!(
        (alone - 5.6 / 6.690_909_090_909_091).abs() < 1e-12,
        "{alone}"
    );
    let single = days([0; 10])[..1].to_vec();
    assert_eq!(phi_within(&[single, days([0; 10])]), None);
    assert_eq!(phi_within(&[]), None);
}

#[test]
fn a_series_needs_twelve_periods_and_skips_gaps() {
    let mut series = vec![counted(5.0, 1_000.0); 12];
    assert_eq!(
        phi_from_series(&series).map(|s| (s.phi, s.p)),
        Some((0.0, 1.0))
    );
    series.push(counted(0.0, 0.0));
    assert_eq!(
        phi_from_series(&series).map(|s| s.degrees_of_freedom),
        Some(11)
    );
    assert_eq!(phi_from_series(&series[1..]), None);
    assert_eq!(phi_from_series(&[counted(0.0, 1_000.0); 12]), None);
    assert_eq!(phi_from_expected(&[(1.0, 0.0); 12], 2), None);
}

#[test]
fn adjustment_leaves_out_what_was_not_tested() {
    let adjusted = benjamini_hochberg(&[None, Some(0.01), Some(f64::NAN), Some(0.04)]);
    assert_eq!(adjusted, [None, Some(0.02), None, Some(0.04)]);
    assert!(benjamini_hochberg(&[]).is_empty());
}

#[test]
fn places_alike_are_pooled_and_unranked() {
    let places = [Place::plain(8.0, 1_000.0), Place::plain(8.0, 1_000.0)];
    assert_eq!(
        fit_prior(&places, None),
        Some(Prior::Pooled { fleet: 0.008 })
    );
    for line in hot_spots(&places, None, &Thresholds::default()).expect("defined") {
        assert_eq!((line.class, line.rank), (Class::NotElevated, None));
        assert_eq!(
            line.posterior.map(|p| (p.mean, p.low_5pct)),
            Some((0.008, None))
        );
    }
    let silent = [Place::plain(0.0, 500.0), Place::plain(0.0, 40.0)];
    assert_eq!(fit_prior(&silent, None), Some(Prior::Pooled { fleet: 0.0 }));
    let lines = hot_spots(&silent, None, &Thresholds::default()).expect("defined");
    assert_eq!(lines[0].class, Class::NotElevated);
    assert_eq!(lines[1].class, Class::InsufficientData);
}

#[test]
fn a_single_place_has_nothing_to_compare_with() {
    let lines = hot_spots(&[Place::plain(9.0, 500.0)], None, &Thresholds::default());
    let line = lines.expect("defined")[0];
    assert_eq!(
        (line.posterior, line.class, line.rank),
        (None, Class::InsufficientData, None)
    );
    assert_eq!(
        hot_spots(&[], None, &Thresholds::default()),
        Some(Vec::new())
    );
}

#[test]
fn small_places_are_listed_but_never_ranked() {
    let mut places = vec![Place::plain(10.0, 1_000.0); 8];
    places.push(Place::plain(60.0, 1_000.0));
    places.push(Place::plain(9.0, 40.0));
    places.push(Place::plain(2.0, 300.0));
    places.push(Place::plain(0.0, 0.0));
    let lines = hot_spots(&places, None, &Thresholds::default()).expect("defined");
    assert_eq!((lines[8].class, lines[8].rank), (Class::HotSpot, Some(1)));
    assert_eq!(
        (lines[9].class, lines[9].rank),
        (Class::InsufficientData, None)
    );
    assert_eq!(
        (lines[10].class, lines[10].rank),
        (Class::NotElevated, None)
    );
    assert_eq!((lines[11].posterior, lines[11].rank), (None, None));
    // Equal places keep the order in which they were given.
    let tied: Vec<_> = lines[..8].iter().map(|line| line.rank).collect();
    assert_eq!(tied, (2..=9).map(Some).collect::<Vec<_>>());
}

#[test]
fn a_dominant_place_is_compared_with_the_others() {
    let mut places = vec![Place::plain(4.0, 500.0), Place::plain(1.0, 500.0)];
    places.push(Place::plain(60.0, 1_000.0));
    let lines = hot_spots(&places, None, &Thresholds::default()).expect("defined");
    let fleet = 65.0 / 2_000.0;
    assert!(lines[2].compared_with.expect("defined") < fleet / 2.0);
    assert_eq!(lines[0].compared_with, Some(fleet));
    assert_eq!(lines[2].class, Class::HotSpot);
    // Nothing seen elsewhere does not make it certain: the others' rate is shrunk too.
    let few = [Place::plain(3.0, 1_000.0), Place::plain(0.0, 1_000.0)];
    let lines = hot_spots(&few, None, &Thresholds::default()).expect("defined");
    assert!(lines[0].compared_with.is_some_and(|rate| rate > 0.0));
    let above = lines[0].posterior.and_then(|p| p.prob_above_fleet);
    assert!(above.is_some_and(|p| p < 1.0));
}

#[test]
fn standardised_places_carry_their_own_mix() {
    let place = Place::standardised(12.0, 400.0, 6.0, 0.01).expect("defined");
    assert_eq!((place.evaluable, place.exposure), (400.0, 600.0));
    assert_eq!(Place::standardised(12.0, 400.0, 6.0, 0.0), None);
    let prior = Prior::Gamma {
        shape: 2.0,
        rate: 200.0,
        fleet: 0.01,
    };
    let found = posterior(&prior, &place, 0.01, 1.5, None).expect("defined");
    assert!((found.mean - 14.0 / 800.0).abs() < 1e-15);
}

#[test]
fn a_funnel_has_no_limits_where_nothing_is_expected_and_widens_with_dispersion() {
    use stats::funnel_limits;
    for expected in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(funnel_limits(expected, None, 0.95), None, "{expected}");
    }
    for coverage in [0.0, 1.0, f64::NAN] {
        assert_eq!(funnel_limits(5.0, None, coverage), None, "{coverage}");
    }
    let mut before = (0.0, f64::INFINITY);
    for expected in [0.3, 1.0, 5.0, 40.0, 2_000.0, 1e5] {
        let (low, high) = funnel_limits(expected, None, 0.95).unwrap();
        assert!(low >= before.0 && high <= before.1 && low < 1.0 && 1.0 < high);
        before = (low, high);
        let (wide_low, wide_high) = funnel_limits(expected, Some(2.5), 0.95).unwrap();
        assert!(wide_low <= low && wide_high >= high, "{expected}");
    }
}
