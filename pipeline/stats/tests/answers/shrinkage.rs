//! Answers to the rows on gamma–Poisson shrinkage and hot spots.

use super::{Fields, number, numbers, phi};
use serde_json::{Map, Value, json};
use stats::shrink::{Posterior, Prior, excess_variation, fit_prior, posterior};
use stats::{Class, HotSpot, Place, Thresholds, hot_spots};

pub(crate) fn answer(method: &str, inputs: &Fields, expected: &Fields) -> Option<Value> {
    let found = match method {
        "gamma_poisson_no_heterogeneity" => {
            let prior = fit_prior(&places(inputs), phi(inputs))?;
            let pooled = matches!(prior, Prior::Pooled { .. });
            let mut found = fleet(inputs, &prior);
            found.insert("pooled".into(), json!(pooled));
            found
        }
        "gamma_poisson_ML_mean_fixed_to_fleet" => {
            let prior = fit_prior(&places(inputs), phi(inputs))?;
            with_prior(inputs, &prior)
        }
        "hot_spot_rule" | "hot_spot_rule_phi" => hot_spot_rule(inputs)?,
        // The two-parameter fit is not offered. Its rows still check the posteriors, with
        // the row's own shape and rate; those and their ratio stay uncovered.
        "gamma_poisson_ML"
        | "gamma_poisson_ML_airports"
        | "gamma_poisson_ML_airports_phi"
        | "gamma_poisson_ML_lip_cancer" => {
            let mut found = with_prior(inputs, &prior_given(expected));
            for own in ["shape", "rate"] {
                found.remove(own);
            }
            first_five(&mut found);
            found
        }
        _ => return None,
    };
    Some(Value::Object(found))
}

fn places(inputs: &Fields) -> Vec<Place> {
    let (x, n) = (numbers(&inputs["x"]), numbers(&inputs["n"]));
    x.into_iter()
        .zip(n)
        .map(|(x, n)| Place::plain(x, n))
        .collect()
}

fn prior_given(expected: &Fields) -> Prior {
    Prior::Gamma {
        shape: number(&expected["shape"]),
        rate: number(&expected["rate"]),
        fleet: number(&expected["fleet"]),
    }
}

fn fleet(inputs: &Fields, prior: &Prior) -> Map<String, Value> {
    let fitted = fit_prior(&places(inputs), phi(inputs)).expect("defined");
    assert!((fitted.fleet() - prior.fleet()).abs() < 1e-9 * prior.fleet());
    let mut found = Map::new();
    found.insert("fleet".into(), json!(fitted.fleet()));
    found.insert(
        "T".into(),
        json!(excess_variation(&places(inputs), phi(inputs))),
    );
    found
}

fn with_prior(inputs: &Fields, prior: &Prior) -> Map<String, Value> {
    let Prior::Gamma {
        shape,
        rate,
        fleet: mean,
    } = *prior
    else {
        panic!("pooled, but the row has a spread")
    };
    let all: Vec<Posterior> = places(inputs)
        .iter()
        .map(|place| {
            posterior(prior, place, mean, number(&inputs["k"]), phi(inputs)).expect("defined")
        })
        .collect();
    let column =
        |value: fn(&Posterior) -> Option<f64>| json!(all.iter().map(value).collect::<Vec<_>>());
    let mut found = fleet(inputs, prior);
    found.insert("shape".into(), json!(shape));
    found.insert("rate".into(), json!(rate));
    found.insert("post_mean".into(), column(|p| Some(p.mean)));
    found.insert("post_q05".into(), column(|p| p.low_5pct));
    found.insert("p_gt_fleet".into(), column(|p| p.prob_above_fleet));
    found.insert("p_gt_k_fleet".into(), column(|p| p.prob_above_ratio));
    found
}

/// One row gives the first five posteriors and the five best ranks only.
fn first_five(found: &mut Map<String, Value>) {
    let take = |name: &str| found[name].as_array().expect("a column")[..5].to_vec();
    let (mean, above) = (take("post_mean"), take("p_gt_k_fleet"));
    let low = numbers(&found["post_q05"]);
    let mut order: Vec<usize> = (0..low.len()).collect();
    order.sort_by(|i, j| low[*j].total_cmp(&low[*i]));
    found.insert("post_mean_first5".into(), json!(mean));
    found.insert("p_gt_1.5_first5".into(), json!(above));
    found.insert("rank_by_q05_top5_0based".into(), json!(order[..5]));
}

fn hot_spot_rule(inputs: &Fields) -> Option<Map<String, Value>> {
    let places = places(inputs);
    let thresholds = Thresholds {
        min_evaluable: number(&inputs["min_n"]),
        min_with_event: number(&inputs["min_flights"]),
        hot_ratio: number(&inputs["k"]),
        hot_probability: number(&inputs["p_hot"]),
        watch_probability: number(&inputs["p_watch"]),
        // The rows compare every airport with the whole fleet.
        dominant_share: 1.0,
    };
    let lines = hot_spots(&places, phi(inputs), &thresholds)?;
    let mut found = with_prior(inputs, &fit_prior(&places, phi(inputs))?);
    let all = |keep: &dyn Fn(&HotSpot) -> bool| {
        let held = lines
            .iter()
            .enumerate()
            .filter(|(_, line)| keep(line))
            .map(|(i, _)| i);
        held.collect::<Vec<_>>()
    };
    let eligible = all(&|line| line.rank.is_some());
    let mut ranked = eligible.clone();
    ranked.sort_by_key(|i| lines[*i].rank);
    found.insert(
        "hot_0based".into(),
        json!(all(&|line| line.class == Class::HotSpot)),
    );
    found.insert(
        "watch_0based".into(),
        json!(all(&|line| line.class == Class::Watch)),
    );
    found.insert("eligible_0based".into(), json!(eligible));
    found.insert("rank_eligible_by_q05_0based".into(), json!(ranked));
    Some(found)
}
