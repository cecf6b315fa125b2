//! Roughness: how much a parameter moves within seconds, against the real recorder flight.
//!
//! Measured as the standard deviation from a nine-second moving mean: what is left is gusts, small
//! corrections and the recorder's steps. One real flight is no distribution, so the fleet's middle
//! need only be of the same order: between a third and three times.

use super::{Figure, Shown, quantile};
use crate::fleet::flown::{Flown, Moment};
use std::collections::BTreeMap;

/// Seconds of the moving mean, odd.
const MEAN_S: usize = 9;

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
    ("on final (1,500 to 200 ft)", 200.0, 1500.0),
    ("outside (10,000 to 3,000 ft)", 3000.0, 10_000.0),
];

/// Roughness of every approach, by part and parameter.
#[derive(Default)]
pub(crate) struct Roughness {
    found: BTreeMap<(usize, usize), Vec<f64>>,
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
        let real: BTreeMap<(usize, usize), f64> = rough(real).into_iter().collect();
        let figure = |(key, known): (&(usize, usize), &f64)| {
            let (part, parameter) = (PARTS[key.0].0, PARAMETERS[key.1]);
            let mut values = self.found.get(key).cloned().unwrap_or_default();
            Figure {
                name: format!("roughness of {} {part}", parameter.0),
                published: format!("{known:.3} {}", parameter.1),
                source: "the real recorder flight",
                range: (known / 3.0, known * 3.0),
                shown: Shown::Middle(quantile(&mut values, 0.5), values.len(), parameter.1),
            }
        };
        real.iter().map(figure).collect()
    }
}

fn rough(flown: &Flown<'_>) -> Vec<((usize, usize), f64)> {
    let mut found = Vec::new();
    for (part, (_, low_ft, high_ft)) in PARTS.iter().enumerate() {
        let moments: Vec<&Moment> = flown
            .approach()
            .filter(|moment| (*low_ft..*high_ft).contains(&moment.height_ft))
            .collect();
        for parameter in 0..PARAMETERS.len() {
            if let Some(value) = deviation(&values(&moments, parameter)) {
                found.push(((part, parameter), value));
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

fn deviation(values: &[f64]) -> Option<f64> {
    let half = MEAN_S / 2;
    let squares: Vec<f64> = values
        .windows(MEAN_S)
        .map(|window| (window[half] - window.iter().sum::<f64>() / MEAN_S as f64).powi(2))
        .collect();
    (squares.len() > 30).then(|| (squares.iter().sum::<f64>() / squares.len() as f64).sqrt())
}
