//! Rates: unstable approaches, go-arounds, and how many of the first lead to the second.

use super::{Figure, Shown};
use crate::fleet::flown::Flown;
use std::collections::BTreeMap;

/// Counts over a fleet.
#[derive(Default)]
pub(crate) struct Rates {
    approaches: usize,
    went_around: usize,
    unstable_500: (usize, usize),
    unstable_1000: (usize, usize),
    unstable: usize,
    unstable_went_around: usize,
    unmet: BTreeMap<String, usize>,
}

impl Rates {
    pub(super) fn add(&mut self, flown: &Flown<'_>) {
        // Training flights are no part of line rates.
        let Some(truth) = flown.truth.as_ref().filter(|truth| truth.line) else {
            return;
        };
        self.approaches += 1;
        self.went_around += usize::from(truth.went_around());
        let mut unstable = false;
        for (gate, tally) in [
            ("unstable_500", &mut self.unstable_500),
            ("unstable_1000", &mut self.unstable_1000),
        ] {
            if let Some(event) = truth.event(gate) {
                tally.0 += usize::from(event);
                tally.1 += 1;
                unstable |= event;
                for criterion in truth.unmet(gate) {
                    *self.unmet.entry(criterion.to_owned()).or_default() += usize::from(event);
                }
            }
        }
        self.unstable += usize::from(unstable);
        self.unstable_went_around += usize::from(unstable && truth.went_around());
    }

    pub(super) fn figures(&self) -> Vec<Figure> {
        const UNSTABLE: &str = "FSF official, quoted; corporate flying 4.5 % (2009)";
        let figure = |name: &str, published: &str, source, range, shown| Figure {
            name: name.to_owned(),
            published: published.to_owned(),
            source,
            range,
            shown,
        };
        let total: usize = self.unmet.values().sum();
        let of = |names: [&str; 2]| names.iter().filter_map(|name| self.unmet.get(*name)).sum();
        vec![
            figure(
                "approaches unstable at 500 ft",
                "about 4 %",
                UNSTABLE,
                (2.0, 8.0),
                Shown::Share(self.unstable_500.0, self.unstable_500.1, 100.0),
            ),
            figure(
                "approaches unstable at 1,000 ft",
                "about 4 %",
                UNSTABLE,
                (2.0, 8.0),
                Shown::Share(self.unstable_1000.0, self.unstable_1000.1, 100.0),
            ),
            figure(
                "go-arounds",
                "1–3 per 1,000; 1.5–6 by airport",
                "Go-Around Forum F1; J. Open Aviation Science 7219",
                (1.0, 6.0),
                Shown::Share(self.went_around, self.approaches, 1000.0),
            ),
            figure(
                "unstable approaches that go around",
                "about 3 %; 1.4–5 %",
                "flightsafety.org; AIN 2013, Forum F4",
                (1.4, 5.0),
                Shown::Share(self.unstable_went_around, self.unstable, 100.0),
            ),
            figure(
                "criteria not met that are speed or thrust",
                "top contributors: high airspeed, low thrust",
                "IATA Notice 002/20",
                (40.0, 100.0),
                Shown::Share(of(["speed", "thrust"]), total, 100.0),
            ),
        ]
    }
}
