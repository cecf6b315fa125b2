//! What the crate answers to a row of check values, under the row's own field names.

mod shrinkage;
mod trends;

use serde_json::{Map, Value, json};
use stats::compare::compare;
use stats::dispersion::phi_from_series;
use stats::funnel::interpolated_count;
use stats::numerics::{normal_quantile_upper, normal_upper};
use stats::rate::{Interval, byar, garwood, rate_per_1000, upper_limit_per_1000};
use stats::{Counted, benjamini_hochberg, clopper_pearson, one_sided_p, upper_tail, wilson};

pub(crate) type Fields = Map<String, Value>;

/// The crate's answer, or `None` for a method it does not have.
pub(crate) fn answer(method: &str, inputs: &Fields, expected: &Fields) -> Option<Value> {
    Some(match method {
        "poisson_exact_ci" => counts(inputs, |x, level| garwood(x, level, None)),
        "byar_ci" => counts(inputs, byar),
        "poisson_exact_rate_ci" | "rate_per_1000_exact_ci" | "rate_per_1000_ci_phi_adjusted" => {
            rate(inputs)
        }
        "wilson_ci" | "clopper_pearson_ci" => shares(method, inputs),
        "rate_ratio_exact_conditional"
        | "month_vs_prev12"
        | "month_vs_prev12_zero_now"
        | "month_vs_prev12_zero_baseline"
        | "month_vs_prev12_both_zero"
        | "month_vs_prev12_equal"
        | "month_vs_prev12_phi_adjusted" => two_rates(inputs),
        "rate_ratio_one_sided_p" | "rate_ratio_one_sided_p_null_1.5" => {
            let null_ratio = inputs.get("null_ratio").map_or(1.0, number);
            let (first, second) = pair(inputs);
            let (higher, _) = one_sided_p(first, second, null_ratio, None).expect("defined");
            json!({ "exact-cond": higher })
        }
        "pearson_dispersion" => {
            let found = phi_from_series(&series(inputs)).expect("defined");
            json!({ "chi2": found.chi_squared, "df": found.degrees_of_freedom,
                    "phi": found.phi, "p": found.p })
        }
        "nb_upper_tail" => {
            let expected = number(&inputs["E"]);
            let tail = |x: &f64| upper_tail(*x, expected, phi(inputs));
            json!({ "p": numbers(&inputs["x"]).iter().map(tail).collect::<Vec<_>>() })
        }
        "exact_upper_flag_threshold" => json!({ "x_min_flag": flag_thresholds(inputs) }),
        "funnel_limits_spiegelhalter_poisson" => {
            let limits = expected["count_limits"].as_object().expect("an object");
            let of = |p: &String| {
                let share: f64 = p.parse().expect("a share");
                let count = |e: &f64| interpolated_count(*e, None, share);
                numbers(&inputs["E"]).iter().map(count).collect::<Vec<_>>()
            };
            let found: Fields = limits.keys().map(|p| (p.clone(), json!(of(p)))).collect();
            json!({ "count_limits": found })
        }
        "poisson_upper_false_alarm_of_3sigma" => {
            let tail = |e: &f64| upper_tail((e + 3.0 * e.sqrt()).floor() + 1.0, *e, None);
            json!({ "p": numbers(&inputs["E"]).iter().map(tail).collect::<Vec<_>>() })
        }
        "false_alarm_if_phi_ignored" => {
            let z = normal_quantile_upper(number(&inputs["nominal"]) / 2.0).expect("defined");
            let actual = |phi: &f64| 2.0 * normal_upper(z / phi.sqrt()).expect("defined");
            json!({ "actual": numbers(&inputs["phi"]).iter().map(actual).collect::<Vec<_>>() })
        }
        "benjamini_hochberg" | "benjamini_hochberg_unsorted" | "benjamini_hochberg_ties" => {
            let p: Vec<_> = numbers(&inputs["p"]).into_iter().map(Some).collect();
            let adjusted = benjamini_hochberg(&p);
            let level = inputs.get("q").map_or(0.05, number);
            let rejected = adjusted.iter().flatten().filter(|q| **q <= level).count();
            json!({ "adjusted": adjusted, "n_rejected": rejected })
        }
        _ => {
            return trends::answer(method, inputs)
                .or_else(|| shrinkage::answer(method, inputs, expected));
        }
    })
}

pub(crate) fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

pub(crate) fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(values) => values.iter().map(number).collect(),
        one => vec![number(one)],
    }
}

pub(crate) fn phi(inputs: &Fields) -> Option<f64> {
    inputs.get("phi").map(number)
}

fn series(inputs: &Fields) -> Vec<Counted> {
    let (x, n) = (numbers(&inputs["x"]), numbers(&inputs["n"]));
    x.into_iter()
        .zip(n)
        .map(|(x, n)| Counted::new(x, n))
        .collect()
}

fn pair(inputs: &Fields) -> (Counted, Counted) {
    let counted = |x: &str, n: &str| Counted::new(number(&inputs[x]), number(&inputs[n]));
    (counted("x1", "n1"), counted("x2", "n2"))
}

fn confidence(inputs: &Fields) -> f64 {
    inputs.get("conf").map_or(0.95, number)
}

fn counts(inputs: &Fields, interval: fn(f64, f64) -> Option<Interval>) -> Value {
    let limits: Vec<_> = numbers(&inputs["x"])
        .into_iter()
        .map(|x| interval(x, confidence(inputs)).expect("defined"))
        .collect();
    if inputs["x"].is_array() {
        json!({ "lo": limits.iter().map(|l| l.low).collect::<Vec<_>>(),
                "hi": limits.iter().map(|l| l.high).collect::<Vec<_>>() })
    } else {
        json!({ "lo": limits[0].low, "hi": limits[0].high })
    }
}

fn rate(inputs: &Fields) -> Value {
    let per = ["per", "multiplier"]
        .iter()
        .find_map(|name| inputs.get(*name))
        .map_or(1.0, number);
    let scale = per / 1000.0;
    let counted = Counted::new(number(&inputs["x"]), number(&inputs["n"]));
    let rate = rate_per_1000(counted, confidence(inputs), phi(inputs)).expect("defined");
    let one_sided = upper_limit_per_1000(counted, 0.95, phi(inputs)).expect("defined");
    json!({ "rate": rate.per_1000 * scale, "lo": rate.low * scale, "hi": rate.high * scale,
            "upper_one_sided_95": one_sided * scale })
}

fn shares(method: &str, inputs: &Fields) -> Value {
    let interval = if method == "wilson_ci" {
        wilson
    } else {
        clopper_pearson
    };
    let limits =
        |k: f64, n: f64| interval(Counted::new(k, n), confidence(inputs), None).expect("defined");
    let Some(Value::Array(pairs)) = inputs.get("kn") else {
        let one = limits(number(&inputs["k"]), number(&inputs["n"]));
        return json!({ "lo": one.low, "hi": one.high });
    };
    let all: Vec<_> = pairs
        .iter()
        .map(numbers)
        .map(|kn| limits(kn[0], kn[1]))
        .collect();
    json!({ "lo": all.iter().map(|l| l.low).collect::<Vec<_>>(),
            "hi": all.iter().map(|l| l.high).collect::<Vec<_>>() })
}

fn two_rates(inputs: &Fields) -> Value {
    let (first, second) = pair(inputs);
    let found = compare(first, second, confidence(inputs), phi(inputs)).expect("defined");
    let interval = json!([found.ratio_low, found.ratio_high]);
    json!({ "ratio": found.ratio, "p_central": found.p_central, "ci_exact": interval,
            "ci": interval, "p_upper": found.p_higher, "p_upper_exact": found.p_higher })
}

/// The smallest count whose exact tail is at most alpha.
fn flag_thresholds(inputs: &Fields) -> Vec<u32> {
    let alpha = number(&inputs["alpha"]);
    numbers(&inputs["E"])
        .into_iter()
        .map(|expected| {
            (0..10_000)
                .find(|x| {
                    upper_tail(f64::from(*x), expected, phi(inputs)).expect("defined") <= alpha
                })
                .expect("the tail falls below alpha")
        })
        .collect()
}
