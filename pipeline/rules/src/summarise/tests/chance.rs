//! Reviews of fleets in which nothing happened, and of fleets in which something did: what they say of it.

use std::collections::{BTreeMap, BTreeSet};

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::super::{Summary, TrendRow};
use super::made::{Made, Said, month, trend};

const RULES: [&str; 6] = ["r1", "r2", "r3", "r4", "r5", "r6"];
const AIRPORTS: usize = 5;
const DAYS: usize = 6;
const A_DAY: usize = 10;
const MONTHS: usize = 14;

/// Fourteen months of 300 approaches at five airports, six rules at 4 %. On one day in ten of an airport, for
/// each rule its own, an event is `bad` times as likely as on the others.
fn nothing_happened(seed: u64, bad: f64) -> Summary {
    reviewed(seed, bad, 1.0)
}

/// The same, with the first rule so many times as frequent in the last month.
fn reviewed(seed: u64, bad: f64, raised: f64) -> Summary {
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let good = 0.04 / (0.9 + 0.1 * bad);
    let rules: Vec<(&str, &str)> = RULES
        .iter()
        .zip(["x", "x", "y", "y", "z", "z"])
        .map(|(rule, family)| (*rule, family))
        .collect();
    let mut made = Made::with(&rules);
    for number in 0..MONTHS {
        let count = AIRPORTS * DAYS * A_DAY;
        let mut fires: BTreeMap<&str, Vec<bool>> = BTreeMap::new();
        for rule in RULES {
            let days: Vec<bool> = (0..AIRPORTS * DAYS)
                .map(|_| dice.random_bool(0.1))
                .collect();
            let said = (0..count).map(|i| {
                let times = if days[i / A_DAY] { bad } else { 1.0 };
                let risen = number == MONTHS - 1 && rule == RULES[0];
                dice.random_bool(good * times * if risen { raised } else { 1.0 })
            });
            fires.insert(rule, said.collect());
        }
        made.add(
            number,
            count,
            |i, row| {
                let place = i / A_DAY;
                row.airport = Some(format!("A{}", place / DAYS));
                row.day_key = Some(format!("{number}-{}", place % DAYS));
                row.aircraft_type = Some(["a1", "a2", "a3"][i % 3].to_owned());
            },
            |rule, i| Said::low_if(fires[rule][i]),
        );
    }
    made.summary()
}

/// What was claimed in so many reviews.
#[derive(Debug, Default)]
struct Claimed {
    /// Kinds of group of which a row of the latest month is called, of four a review.
    months: usize,
    /// Kinds of group of which a slope is called, of four a review.
    slopes: usize,
    /// Airports and runways called.
    places: usize,
}

fn claimed(reviews: u64, seed: u64, bad: f64) -> Claimed {
    let mut sum = Claimed::default();
    for review in 0..reviews {
        let summary = nothing_happened(seed + review, bad);
        let kinds = |kinds: BTreeSet<&String>| kinds.len();
        let latest = month(MONTHS - 1);
        let called = summary
            .trend_monthly
            .iter()
            .filter(|row| row.signal.is_some() && row.month == latest);
        sum.months += kinds(called.map(|row| &row.group_kind).collect());
        let called = summary.trend_slope.iter().filter(|row| row.call.is_some());
        sum.slopes += kinds(called.map(|row| &row.group_kind).collect());
        let is_called = |class: &str| matches!(class, "hot spot" | "watch");
        let places = summary.hotspots.iter();
        sum.places += places
            .filter(|row| row.class.as_deref().is_some_and(is_called))
            .count();
    }
    sum
}

/// Of all families of tests at most one in twenty holds a flag; places are called less than once in two
/// reviews of 90 rows of places each, whose rules and families overlap.
#[test]
fn reviews_of_fleets_in_which_nothing_happened_seldom_say_otherwise() {
    const REVIEWS: u64 = 40;
    for (bad, seed) in [(1.0, 500), (15.0, 700)] {
        let found = claimed(REVIEWS, seed, bad);
        let families = 4 * REVIEWS as usize;
        assert!(found.months * 20 <= families, "bad days × {bad}: {found:?}");
        assert!(found.slopes * 20 <= families, "bad days × {bad}: {found:?}");
        assert!(
            found.places * 2 <= REVIEWS as usize,
            "bad days × {bad}: {found:?}"
        );
    }
}

#[test]
fn the_days_of_clustered_events_are_seen() {
    let phi = |bad: f64| {
        let summary = nothing_happened(900, bad);
        let mut rows = summary.rates.iter();
        let row = rows.find(|row| row.rule.as_deref() == Some("r1")).unwrap();
        row.phi.unwrap()
    };
    // 1 + 9ρ, with ρ = variance of the days' shares / share·(1 − share): 2.15 for days fifteen times as bad.
    assert!((1.0..1.3).contains(&phi(1.0)), "{}", phi(1.0));
    assert!((1.6..2.8).contains(&phi(15.0)), "{}", phi(15.0));
}

/// The rise that is printed beside "no signal" is found four times in five when it is planted. Tables print it for
/// a change that is alone in its family; here the family of the rule rises along, which makes it a little easier.
#[test]
fn a_rise_as_large_as_printed_is_found_as_often_as_printed() {
    const REVIEWS: u64 = 50;
    let last =
        |summary: &Summary| -> TrendRow { trend(summary, "r1", "fleet", MONTHS - 1).clone() };
    let printed: Vec<f64> = (0..10)
        .map(|seed| nothing_happened(1_100 + seed, 1.0))
        .filter_map(|summary| last(&summary).detectable_rise_pct)
        .collect();
    let rise = printed.iter().sum::<f64>() / printed.len() as f64;
    let found = (0..REVIEWS)
        .map(|seed| reviewed(1_200 + seed, 1.0, 1.0 + rise / 100.0))
        .filter(|summary| last(summary).signal.as_deref() == Some("higher"))
        .count();
    // 80 % of 50 are 40; chance makes it 40 ± 3 with the baselines given, and these are drawn too.
    assert!(
        (33..=49).contains(&found),
        "+{rise:.0} %: {found} of {REVIEWS}"
    );
}
