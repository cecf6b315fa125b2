//! Roughness: how much a parameter moves within seconds and within half a minute, against the real
//! recorder flight.
//!
//! Within seconds: the standard deviation from a nine-second moving mean, which leaves gusts, small
//! corrections and the recorder's steps. Within half a minute: that of five-second means from a
//! thirty-second one, which leaves what crew and wind do. One real flight is no distribution, so the
//! fleet's middle need only be of the same order: between a third and three times.

use super::{Figure, Shown, figures_of, quantile};
use crate::fleet::flown::{Flown, Moment};
use std::collections::BTreeMap;

/// Time scales: name, seconds of the inner and of the outer mean.
const SCALES: [(&str, usize, usize); 2] = [("seconds", 1, 9), ("half a minute", 5, 31)];

/// Parameters looked at, with their unit.
const PARAMETERS: [(&str, &str); 7] = [
    ("CAS", "kt"),
    ("ground speed", "kt"),
    ("vertical speed", "ft/min"),
    ("pitch", "deg"),
    ("roll", "deg"),
    ("normal acceleration", "g"),
    ("N1", "%"),
];

/// Parts of an approach, by height.
const PARTS: [(&str, f64, f64); 2] = [
    ("1,000 to 150 ft", 150.0, 1000.0),
    ("10,000 to 3,000 ft", 3000.0, 10_000.0),
];

/// Part, parameter and scale.
type Key = (usize, usize, usize);

/// Roughness of every approach, by part and parameter.
#[derive(Default)]
pub(crate) struct Roughness {
    found: BTreeMap<Key, Vec<f64>>,
}

impl Roughness {
    pub(super) fn add(&mut self, flown: &Flown<'_>) {
        if !flown.truth.as_ref().is_some_and(|truth| truth.landed()) {
            return;
        }
        for (key, value) in rough(flown) {
            self.found.entry(key).or_default().push(value);
        }
    }

    pub(super) fn figures(&self, real: &Flown<'_>) -> Vec<Figure> {
        let real: BTreeMap<Key, f64> = rough(real).into_iter().collect();
        let figure = |(key, known): (&Key, &f64)| {
            let (part, parameter) = (PARTS[key.0].0, PARAMETERS[key.1]);
            let mut values = self.found.get(key).cloned().unwrap_or_default();
            Figure {
                name: format!("{} within {}, {part}", parameter.0, SCALES[key.2].0),
                published: format!("{} {}", figures_of(*known), parameter.1),
                source: "the real recorder flight",
                range: (known / 3.0, known * 3.0),
                shown: Shown::Middle(quantile(&mut values, 0.5), values.len(), parameter.1),
            }
        };
        real.iter().map(figure).collect()
    }
}

fn rough(flown: &Flown<'_>) -> Vec<(Key, f64)> {
    let mut found = Vec::new();
    for (part, (_, low_ft, high_ft)) in PARTS.iter().enumerate() {
        let moments: Vec<&Moment> = flown
            .approach()
            .filter(|moment| (*low_ft..*high_ft).contains(&moment.height_ft))
            .collect();
        for parameter in 0..PARAMETERS.len() {
            let values = values(&moments, parameter);
            for (scale, (_, inner_s, outer_s)) in SCALES.iter().enumerate() {
                if let Some(value) = deviation(&values, *inner_s, *outer_s) {
                    found.push(((part, parameter, scale), value));
                }
            }
        }
    }
    found
}

fn values(moments: &[&Moment], parameter: usize) -> Vec<f64> {
    let pick = |value: &dyn Fn(&Moment) -> Option<f64>| {
        moments.iter().filter_map(|moment| value(moment)).collect()
    };
    match parameter {
        0 => pick(&|moment| Some(moment.cas_kt)),
        1 => pick(&|moment| Some(moment.ground_speed_kt)),
        // Of both from the altitude, over three seconds: the real flight has no vertical speed.
        2 => moments
            .windows(4)
            .map(|four| (four[3].pressure_altitude_ft - four[0].pressure_altitude_ft) * 20.0)
            .collect(),
        3 => pick(&|moment| moment.pitch_deg),
        4 => pick(&|moment| moment.roll_deg),
        5 => pick(&|moment| moment.normal_accel_g),
        _ => pick(&|moment| moment.n1_pct.or_else(|| n1_of(moment.fuel_flow_kg_h?))),
    }
}

/// N1 that a fuel flow of both engines of a narrow-body jet stands for: proportional to N1^2.8,
/// 55 % at 1,900 kg/h on final (from memory; only the order of its changes is used).
fn n1_of(fuel_flow_kg_h: f64) -> Option<f64> {
    Some(55.0 * (fuel_flow_kg_h / 1900.0).powf(1.0 / 2.8))
}

/// Standard deviation of inner means from the outer mean around them.
fn deviation(values: &[f64], inner_s: usize, outer_s: usize) -> Option<f64> {
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
    let from = (outer_s - inner_s) / 2;
    let squares: Vec<f64> = values
        .windows(outer_s)
        .map(|window| (mean(&window[from..from + inner_s]) - mean(window)).powi(2))
        .collect();
    (squares.len() > 20).then(|| mean(&squares).sqrt())
}
