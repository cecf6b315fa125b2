//! Shape: whether speed comes back in steps, thrust stays at idle, and sink varies as on the real
//! flight. One flight is no distribution: the fleet's middle need only be within half and double.

use super::{Figure, Shown, figures_of, quantile};
use crate::fleet::flown::{Flown, Moment};
use std::collections::BTreeMap;

/// Seconds over which a steady speed is looked for, and the change that is still steady, kt.
const STEADY_S: usize = 20;
const STEADY_KT: f64 = 2.0;

/// Traits of one approach, in the order of [`NAMES`].
type Traits = [Option<f64>; 4];

const NAMES: [(&str, &str); 4] = [
    (
        "share of the time between 35 and 5 NM at a steady speed",
        "%",
    ),
    ("greatest deceleration over an air mile", "kt/NM"),
    ("share of the time between 35 and 12 NM at idle", "%"),
    ("level for twenty seconds or more between 35 and 5 NM", "s"),
];

/// What was gathered, by trait.
#[derive(Default)]
pub(crate) struct Shapes {
    found: BTreeMap<usize, Vec<f64>>,
}

impl Shapes {
    pub(super) fn add(&mut self, flown: &Flown<'_>) {
        let ordinary = |truth: &crate::fleet::truth::Approach| truth.landed() && truth.number == 1;
        if !flown.truth.as_ref().is_some_and(ordinary) {
            return;
        }
        for (index, value) in traits(flown).into_iter().enumerate() {
            self.found.entry(index).or_default().extend(value);
        }
    }

    pub(super) fn figures(&self, real: &Flown<'_>) -> Vec<Figure> {
        let real = traits(real);
        let named = NAMES.iter().zip(real).enumerate();
        named
            .filter_map(|(index, ((name, unit), known))| {
                let known = known?;
                let mut values = self.found.get(&index).cloned().unwrap_or_default();
                Some(Figure {
                    name: (*name).to_owned(),
                    published: format!("{} {unit}", figures_of(known)),
                    source: "the real recorder flight",
                    range: (known / 2.0, known * 2.0),
                    shown: Shown::Middle(quantile(&mut values, 0.5), values.len(), unit),
                })
            })
            .collect()
    }
}

fn traits(flown: &Flown<'_>) -> Traits {
    let between = |near_nm: f64, far_nm: f64| -> Vec<&Moment> {
        let inside = |moment: &&Moment| (near_nm..far_nm).contains(&moment.to_go_nm);
        flown.approach().filter(inside).collect()
    };
    let middle = between(5.0, 35.0);
    let pairs = |moments: &[&Moment], steady: &dyn Fn(&Moment, &Moment) -> bool| {
        let all: Vec<bool> = moments
            .windows(STEADY_S + 1)
            .map(|window| steady(window[0], window[STEADY_S]))
            .collect();
        let yes = all.iter().filter(|steady| **steady).count();
        (yes as f64, all.len() as f64)
    };
    let (steady, of) = pairs(&middle, &|a, b| (a.cas_kt - b.cas_kt).abs() < STEADY_KT);
    let (level, _) = pairs(&middle, &|a, b| (a.height_ft - b.height_ft).abs() < 50.0);
    [
        (of > 0.0).then(|| 100.0 * steady / of),
        hardest_deceleration(flown),
        idle_share(&between(12.0, 35.0)),
        Some(level),
    ]
}

/// The greatest loss of CAS within an air mile, outside the flare.
fn hardest_deceleration(flown: &Flown<'_>) -> Option<f64> {
    let moments: Vec<&Moment> = flown
        .approach()
        .filter(|moment| moment.height_ft > 300.0)
        .collect();
    let mut greatest: Option<f64> = None;
    for (index, from) in moments.iter().enumerate() {
        let mut air_nm = 0.0;
        let end = moments[index..].iter().find(|moment| {
            air_nm += moment.tas_kt / 3600.0;
            air_nm >= 1.0
        });
        let lost = end.map(|end| from.cas_kt - end.cas_kt);
        greatest = greatest.into_iter().chain(lost).reduce(f64::max);
    }
    greatest
}

/// Share of moments within two percent of N1 of the least, or within 250 kg/h of the least flow.
fn idle_share(moments: &[&Moment]) -> Option<f64> {
    let share = |values: Vec<f64>, near: f64| {
        let mut sorted = values.clone();
        let idle = quantile(&mut sorted, 0.05);
        let count = values.iter().filter(|value| **value < idle + near).count();
        (values.len() > 60).then(|| 100.0 * count as f64 / values.len() as f64)
    };
    let n1: Vec<f64> = moments.iter().filter_map(|moment| moment.n1_pct).collect();
    if !n1.is_empty() {
        return share(n1, 2.0);
    }
    let flows = moments.iter().filter_map(|moment| moment.fuel_flow_kg_h);
    share(flows.collect(), 250.0)
}
