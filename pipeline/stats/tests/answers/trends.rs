//! Answers about series: slopes, ranks, charts.

use super::{Fields, number, numbers};
use serde_json::{Value, json};
use stats::numerics::{normal_upper, student_quantile_upper};
use stats::{
    Counted, Line, Period, Season, fit_line, laney, mann_kendall, sen_slope, slope, upper_tail,
};

pub(crate) fn answer(method: &str, inputs: &Fields) -> Option<Value> {
    Some(match method {
        "poisson_trend_offset" => {
            let first = numbers(&inputs["year"])[0];
            let t: Vec<f64> = numbers(&inputs["year"]).iter().map(|y| y - first).collect();
            line(&t, &counted(inputs, "collisions", "train_km"))
        }
        "poisson_glm_offset_grouped" => line(&numbers(&inputs["t"]), &counted(inputs, "y", "n")),
        "monthly_trend" | "monthly_trend_missing_months" | "monthly_trend_overdispersed" => {
            line(&numbers(&inputs["t"]), &counted(inputs, "x", "n"))
        }
        "monthly_trend_all_equal" => {
            let counted = counted(inputs, "x", "n");
            let series: Vec<Period> = (0..)
                .zip(&counted)
                .map(|(index, counted)| Period {
                    index,
                    counted: *counted,
                })
                .collect();
            let found = slope(&series, Season::Ignored, 0.95).expect("defined");
            let t: Vec<f64> = numbers(&inputs["t"]);
            let mut answer = line(&t, &counted);
            answer["phi_used"] = json!(found.phi.max(1.0));
            answer["slope_pct"] = json!(found.pct_per_period);
            answer["p"] = json!(found.p);
            answer
        }
        "mann_kendall" | "mann_kendall_exact" | "mann_kendall_all_equal" => ranks(inputs),
        "mann_kendall_exact_one_sided" => {
            let (n, s) = (number(&inputs["n"]) as usize, number(&inputs["S"]) as i64);
            let found = mann_kendall(&order_with(n, s)).expect("defined");
            assert_eq!(found.s, s);
            json!({ "p": found.p / 2.0 })
        }
        "mann_kendall_rates" => {
            let rates: Vec<f64> = counted(inputs, "x", "n")
                .iter()
                .map(|c| number(&inputs["per"]) * c.with_event / c.evaluable)
                .collect();
            let found = mann_kendall(&rates).expect("defined");
            let points: Vec<(i32, f64)> = (0..).zip(rates).collect();
            json!({ "S": found.s, "varS": found.var_s, "Z": found.z, "p": found.p,
                    "sen_slope_per_month": sen_slope(&points) })
        }
        "c_chart" => {
            // Counts over equal exposures: the u-chart in counts.
            let counts = numbers(&inputs["counts"]);
            let mean = counts.iter().sum::<f64>() / counts.len() as f64;
            let half = 3.0 * mean.sqrt();
            let outside: Vec<usize> = (1..)
                .zip(&counts)
                .filter(|(_, x)| (**x - mean).abs() > half)
                .map(|(place, _)| place)
                .collect();
            json!({ "cl": mean, "lcl": mean - half, "ucl": mean + half,
                    "out_of_limits_1based": outside })
        }
        "u_chart_false_alarm_prob" => {
            let expected = number(&inputs["E"]);
            let half = number(&inputs["sigmas"]) * expected.sqrt();
            let above = upper_tail((expected + half).floor() + 1.0, expected, None);
            let least = (expected - half).ceil() - 1.0;
            let below = if least < 0.0 {
                Some(0.0)
            } else {
                stats::lower_tail(least, expected, None)
            };
            json!({ "true_discrete": above.zip(below).map(|(above, below)| above + below) })
        }
        "u_chart" | "u_chart_varying_n" => plain_chart(inputs),
        "laney_u_prime"
        | "laney_u_prime_overdispersed"
        | "laney_all_equal"
        | "laney_u_prime_KNOWN_BAD" => laney_chart(inputs),
        _ => return None,
    })
}

fn counted(inputs: &Fields, x: &str, n: &str) -> Vec<Counted> {
    let counts = numbers(&inputs[x]);
    let exposures = match &inputs[n] {
        Value::Array(_) => numbers(&inputs[n]),
        one => vec![number(one); counts.len()],
    };
    counts
        .into_iter()
        .zip(exposures)
        .map(|(x, n)| Counted::new(x, n))
        .collect()
}

fn line(t: &[f64], counted: &[Counted]) -> Value {
    let points: Vec<(f64, Counted)> = t.iter().copied().zip(counted.iter().copied()).collect();
    let Line {
        intercept,
        slope,
        slope_se,
        deviance,
        phi,
        degrees_of_freedom,
    } = fit_line(&points, Season::Ignored).expect("defined");
    let pct = |b: f64| 100.0 * b.exp_m1();
    let quantile = student_quantile_upper(0.025, degrees_of_freedom as f64).expect("defined");
    let se = slope_se * phi.max(1.0).sqrt();
    let p = stats::numerics::student_two_sided(slope / se, degrees_of_freedom as f64);
    // The Poisson figures of the file are those of plain Wald tests: not used, and cheap to check.
    let wald = 2.0 * normal_upper((slope / slope_se).abs()).expect("defined");
    let z = stats::numerics::normal_quantile_upper(0.025).expect("defined");
    json!({ "b0": intercept, "b1": slope, "se1": slope_se, "deviance": deviance, "phi": phi,
            "slope_pct": pct(slope), "p_quasi_t": p, "p_poisson": wald,
            "ci_pct_poisson": [pct(slope - z * slope_se), pct(slope + z * slope_se)],
            "ci_pct_quasi_t": [pct(slope - quantile * se), pct(slope + quantile * se)] })
}

fn ranks(inputs: &Fields) -> Value {
    let found = mann_kendall(&numbers(&inputs["x"])).expect("defined");
    let normal = 2.0 * normal_upper(found.z.abs()).expect("defined");
    json!({ "S": found.s, "varS": found.var_s, "Z": found.z, "p": found.p,
            "p_exact_two_sided": found.p, "Z_normal": found.z, "p_normal": normal,
            "p_one_sided": normal / 2.0 })
}

/// An order of 1…n with this S: the largest value is moved ahead as far as needed, then the next.
fn order_with(n: usize, s: i64) -> Vec<f64> {
    let mut inversions = (n * (n - 1) / 2) as i64 - s;
    assert_eq!(inversions % 2, 0);
    inversions /= 2;
    let mut order: Vec<f64> = Vec::new();
    for value in 1..=n {
        let ahead = inversions.min(order.len() as i64) as usize;
        // Every value moved ahead of `ahead` smaller ones makes as many inversions.
        order.insert(order.len() - ahead, value as f64);
        inversions -= ahead as i64;
    }
    order
}

/// The u-chart: Laney's with σz = 1.
fn plain_chart(inputs: &Fields) -> Value {
    let counted = counted(inputs, "counts", "n");
    let found = laney(&counted).expect("defined");
    // Its limits are those of σz where that is larger than 1: undo it.
    let sigma = found.sigma_z.max(1.0);
    let limit = |(_, upper): &(f64, f64)| found.rate + (upper - found.rate) / sigma;
    let upper: Vec<f64> = found.limits.iter().map(limit).collect();
    let lower: Vec<f64> = upper
        .iter()
        .map(|u| (2.0 * found.rate - u).max(0.0))
        .collect();
    if inputs["n"].is_array() {
        json!({ "u": found.rate, "ucl": upper, "lcl": lower })
    } else {
        json!({ "u": found.rate, "ucl": upper[0], "lcl": lower[0] })
    }
}

fn laney_chart(inputs: &Fields) -> Value {
    let per = inputs.get("per").map_or(1.0, number);
    let counted = counted(inputs, "counts", "n");
    let found = laney(&counted).expect("defined");
    let upper: Vec<f64> = found.limits.iter().map(|limit| per * limit.1).collect();
    let lower: Vec<f64> = found.limits.iter().map(|limit| per * limit.0).collect();
    let rates = || counted.iter().map(|c| per * c.with_event / c.evaluable);
    let above_laney = rates()
        .zip(&upper)
        .filter(|(rate, limit)| rate > limit)
        .count();
    let plain = |c: &Counted| per * (found.rate + 3.0 * (found.rate / c.evaluable).sqrt());
    let above_plain = rates()
        .zip(&counted)
        .filter(|(rate, c)| *rate > plain(c))
        .count();
    let phi = stats::dispersion::phi_from_series(&counted).map(|found| found.phi);
    let mut answer = json!({ "u": per * found.rate, "sigma_z": found.sigma_z,
        "sigma_z_raw": found.sigma_z, "sigma_z_used": found.sigma_z.max(1.0),
        "mr_bar": found.sigma_z * 1.128, "ucl": upper, "lcl": lower, "phi_pearson": phi,
        "n_above_laney": above_laney, "n_above_plain_3sigma": above_plain,
        "cl": per * found.rate, "ucl_1": upper[0], "lcl_1": lower[0], "ucl_4": upper[3] });
    if counted.iter().all(|c| c.evaluable == counted[0].evaluable) {
        answer["ucl"] = json!(upper[0]);
    }
    answer
}
