//! Airports and runways compared, subject by subject: standardised, shrunk, classed and ranked.
//!
//! All places take part in the fit, suppressed ones too: what is shown of the others does not
//! depend on who looks. Places that are not known by name are left out.

use stats::{Class, HotSpot, Place, Thresholds, hot_spots};

use super::count::{ANY_LEVEL, Tally};
use super::group::{Group, UNKNOWN};
use super::months::why;
use super::rows::{HotspotRow, withheld};
use super::scene::Scene;
use super::subject::{Status, Subject};
use super::suppress::Hidden;
use super::window::Window;
use super::{GIVES_AWAY, Shown, three_digits};

/// The rows of one subject: airports, then runways.
pub(super) fn rows(scene: &Scene<'_>, subject: &Subject, window: &Window) -> Vec<HotspotRow> {
    let frame = &scene.frame;
    let totals = subject.grid.totals(&window.months);
    let within = (totals.as_slice(), window.months.as_slice());
    let hidden = Hidden::new(&frame.families, &subject.grid, within, scene.options);
    let mut rows = Vec::new();
    for kind in ["airport", "runway"] {
        let places: Vec<(usize, &Group, &Tally)> = frame
            .groups
            .iter()
            .enumerate()
            .filter(|(_, group)| group.kind() == kind && is_named(group))
            .map(|(number, group)| (number, group, &totals[number]))
            .filter(|(.., tally)| tally.approaches > 0)
            .collect();
        let classed = Ranked::new(scene, subject, window, &places);
        for (place, (number, group, tally)) in places.iter().enumerate() {
            let hidden = hidden
                .total(*number)
                .or_else(|| hidden_by_all_months(subject, *number, tally, scene));
            rows.push(classed.row(place, (group, tally), hidden));
        }
    }
    rows
}

fn is_named(group: &Group) -> bool {
    match group {
        Group::Airport(airport) => airport != UNKNOWN,
        Group::Runway(airport, runway) => airport != UNKNOWN && runway != UNKNOWN,
        _ => false,
    }
}

/// The months before the window are what is shown of all months, less these: they may be few.
fn hidden_by_all_months(
    subject: &Subject,
    group: usize,
    tally: &Tally,
    scene: &Scene<'_>,
) -> Option<&'static str> {
    let all = &subject.totals[group];
    let before = all.flights.saturating_sub(tally.flights);
    (before > 0 && before < scene.options.min_flights).then_some(GIVES_AWAY)
}

/// All places of one kind with what is said of them.
struct Ranked<'a> {
    scene: &'a Scene<'a>,
    subject: &'a Subject,
    window: &'a Window,
    expected: Vec<Option<f64>>,
    /// Rate at all places, per 1,000.
    rate_of_all: Option<f64>,
    found: Option<Vec<HotSpot>>,
}

impl<'a> Ranked<'a> {
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    fn new(
        scene: &'a Scene<'a>,
        subject: &'a Subject,
        window: &'a Window,
        places: &[(usize, &Group, &Tally)],
    ) -> Self {
        let mix = subject.mix[ANY_LEVEL].as_ref();
        let months = || window.months.iter().copied();
        let raw: Vec<Option<f64>> = places
            .iter()
            .map(|(number, ..)| Some(mix?.elsewhere(*number, months())))
            .collect();
        let seen: f64 = sum(places, |tally| tally.at_least[ANY_LEVEL]);
        let judged: f64 = sum(places, |tally| tally.evaluable);
        // As many in all as were seen: the multipliers were fitted to other months and places too.
        let scale = seen / raw.iter().flatten().sum::<f64>();
        let expected: Vec<Option<f64>> = raw
            .into_iter()
            .map(|raw| raw.map(|raw| raw * scale).filter(|raw| raw.is_finite()))
            .collect();
        let counted: Vec<Place> = places
            .iter()
            .zip(&expected)
            .map(|((.., tally), expected)| {
                let with_event = tally.at_least[ANY_LEVEL] as f64;
                let evaluable = tally.evaluable as f64;
                expected
                    .and_then(|expected| {
                        Place::standardised(with_event, evaluable, expected, seen / judged)
                    })
                    .unwrap_or_else(|| Place::plain(with_event, evaluable))
            })
            .collect();
        let found = hot_spots(&counted, subject.phi, &thresholds(scene));
        Self {
            scene,
            subject,
            window,
            expected,
            rate_of_all: (judged > 0.0).then(|| three_digits(1000.0 * seen / judged)),
            found,
        }
    }

    fn row(
        &self,
        place: usize,
        (group, tally): (&Group, &Tally),
        hidden: Option<&'static str>,
    ) -> HotspotRow {
        let name = &self.subject.name;
        let options = self.scene.options;
        let shown = Shown::new(tally, ANY_LEVEL, options, self.subject.phi).unless(hidden);
        let spot = self
            .found
            .as_ref()
            .map(|spots| spots[place])
            .filter(|_| hidden.is_none());
        let posterior = spot.and_then(|spot| spot.posterior);
        let expected = self.expected[place].filter(|_| hidden.is_none());
        let why = self.why(tally, spot.as_ref());
        // A rule on trial flags no place, and neither does one that could often not be judged there.
        let judged = spot.filter(|_| name.status == Status::Core);
        let class = match why {
            Some(why::LOW_COVERAGE) => judged.map(|_| Class::InsufficientData),
            _ => judged.map(|spot| spot.class),
        };
        let (airport, runway) = match group {
            Group::Runway(airport, runway) => (airport.clone(), Some(runway.clone())),
            other => (other.name(), None),
        };
        HotspotRow {
            airport,
            runway,
            rule: name.rule.clone(),
            family: name.family.clone(),
            rule_status: name.status.as_str().to_owned(),
            from_month: self.window.from(&self.scene.frame),
            to_month: self.window.to(&self.scene.frame),
            evaluable: shown.evaluable,
            approaches_with_event: shown.approaches_with_event,
            rate_per_1000: shown.rate.map(|rate| rate.per_1000),
            ci_low: shown.rate.map(|rate| rate.low),
            ci_high: shown.rate.map(|rate| rate.high),
            rate_of_all: self.rate_of_all,
            // Both rest on all places, hidden ones too: more digits would let these be solved for.
            expected: expected.map(three_digits),
            #[allow(clippy::cast_precision_loss)] // counts of approaches
            standardised_ratio: expected
                .filter(|expected| *expected > 0.0)
                .map(|expected| three_digits(tally.at_least[ANY_LEVEL] as f64 / expected)),
            #[allow(clippy::cast_precision_loss)] // counts of approaches
            upper_tail_p: expected
                .and_then(|expected| {
                    let with_event = tally.at_least[ANY_LEVEL] as f64;
                    stats::upper_tail(with_event, expected, self.subject.phi)
                })
                .map(three_digits),
            shrunk_rate: posterior.map(|posterior| three_digits(1000.0 * posterior.mean)),
            shrunk_low_5pct: posterior
                .and_then(|posterior| posterior.low_5pct)
                .map(|low| three_digits(1000.0 * low)),
            prob_above_fleet: posterior.and_then(|posterior| posterior.prob_above_fleet),
            prob_above_1_5x: posterior.and_then(|posterior| posterior.prob_above_ratio),
            class: class.map(|class| class.label().to_owned()),
            why: why.filter(|_| hidden.is_none()).map(str::to_owned),
            rank: judged
                .filter(|_| class != Some(Class::InsufficientData))
                .and_then(|spot| spot.rank)
                .and_then(|rank| i64::try_from(rank).ok()),
            suppressed: withheld(hidden),
        }
    }

    /// Why a place is not called, in words; none where it is.
    fn why(&self, tally: &Tally, spot: Option<&HotSpot>) -> Option<&'static str> {
        let flags = &self.scene.options.flags;
        let spot = spot?;
        if self.subject.name.status == Status::Trial {
            return Some(why::TRIAL);
        }
        #[allow(clippy::cast_precision_loss)] // counts of approaches
        if (tally.evaluable as f64) < flags.min_approaches {
            return Some(why::FEW_APPROACHES);
        }
        if tally
            .known_share()
            .is_some_and(|share| share < flags.min_coverage)
        {
            return Some(why::LOW_COVERAGE);
        }
        match spot.class {
            Class::HotSpot | Class::Watch => None,
            Class::InsufficientData => Some("nothing to compare with"),
            #[allow(clippy::cast_precision_loss)] // counts of approaches
            Class::NotElevated
                if (tally.at_least[ANY_LEVEL] as f64) < thresholds(self.scene).min_with_event =>
            {
                Some("too few events")
            }
            Class::NotElevated if spot.posterior.is_some_and(|found| found.low_5pct.is_none()) => {
                Some("places differ no more than chance")
            }
            Class::NotElevated => Some("not probable enough"),
        }
    }
}

#[allow(clippy::cast_precision_loss)] // counts of approaches
fn sum(places: &[(usize, &Group, &Tally)], of: fn(&Tally) -> i64) -> f64 {
    places.iter().map(|(.., tally)| of(tally) as f64).sum()
}

pub(super) fn thresholds(scene: &Scene<'_>) -> Thresholds {
    let flags = &scene.options.flags;
    Thresholds {
        min_evaluable: flags.min_approaches,
        hot_ratio: flags.hot_spot_ratio,
        hot_probability: flags.hot_spot_probability,
        watch_probability: flags.watch_probability,
        ..Thresholds::default()
    }
}
