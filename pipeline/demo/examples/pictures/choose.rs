//! Which approaches are worth a picture: one for each story, found by what truth and record say.
//!
//! A story gives every approach that tells it a score; the highest score wins, then the lowest
//! flight id, so the same fleet always gives the same pictures.

use crate::fleet::flown::{Flown, Moment};
use std::collections::{BTreeMap, BTreeSet};

/// What a picture shows, and how well an approach shows it.
pub(crate) struct Story {
    /// Name of the file.
    pub(crate) name: &'static str,
    pub(crate) title: &'static str,
    score: fn(&Traits) -> Option<f64>,
}

/// What an approach was like, as far as stories ask.
#[derive(Clone, Debug)]
pub(crate) struct Traits {
    outcome: String,
    planted: String,
    intercept: String,
    shortcut_nm: f64,
    holding_nm: f64,
    vectored: bool,
    excess_20_ft: f64,
    excess_10_ft: f64,
    unstable_1000: bool,
    unstable_500: bool,
    flap_limit_over_kt: f64,
    /// Least distance of the airspeed from the limit of a position when it was selected, kt.
    selection_margin_kt: f64,
    glide_path_deg: f64,
    mass_ratio: f64,
    /// Seconds of speedbrake outside 4 NM.
    brake_s: f64,
    /// Longest level stretch between 25 and 5 NM, s.
    level_s: f64,
    over_path_8nm_ft: f64,
    over_path_4nm_ft: f64,
    turned_deg: f64,
    from_nm: f64,
    first: bool,
}

impl Traits {
    /// Nothing where the recorder lost a channel: such a picture would have holes.
    pub(crate) fn of(flown: &Flown<'_>) -> Option<Self> {
        let truth = flown
            .truth
            .as_ref()
            .filter(|truth| !truth.lost && truth.line)?;
        let over = |distance_nm: f64| {
            flown.at_distance(distance_nm).map_or(0.0, |moment| {
                moment.height_ft - flown.end.glide_path_ft(moment.to_go_nm)
            })
        };
        let excess = |rule: &str| truth.worst(rule).unwrap_or(f64::NAN);
        let braking = |moment: &&Moment| {
            moment.to_go_nm > 4.0 && moment.speedbrake.is_some_and(|out| out > 0.3)
        };
        Some(Self {
            outcome: truth.outcome.clone(),
            planted: truth.planted.clone(),
            intercept: truth.intercept.clone(),
            shortcut_nm: truth.shortcut_nm,
            holding_nm: truth.holding_nm,
            vectored: truth.vectored,
            excess_20_ft: excess("energy_excess_20nm"),
            excess_10_ft: excess("energy_excess_10nm"),
            unstable_1000: truth.event("unstable_1000")?,
            unstable_500: truth.event("unstable_500").unwrap_or(false),
            flap_limit_over_kt: truth
                .rules
                .get("flap_limit_exceeded")
                .and_then(|verdict| verdict.margin)
                .unwrap_or(f64::NAN),
            selection_margin_kt: truth.worst("flap_selection_margin").unwrap_or(f64::NAN),
            glide_path_deg: flown.end.glide_path_deg,
            mass_ratio: flown.mass_kg.unwrap_or(0.0) / flown.aircraft.maximum_landing_mass_kg,
            brake_s: flown.approach().filter(braking).count() as f64,
            level_s: longest_level_s(flown),
            over_path_8nm_ft: over(8.0),
            over_path_4nm_ft: over(4.0),
            turned_deg: turned_deg(flown),
            from_nm: flown.moments.first()?.to_go_nm,
            first: truth.number == 1,
        })
    }

    fn landed(&self) -> bool {
        self.outcome == "landing"
    }

    fn stable(&self) -> bool {
        !self.unstable_1000 && !self.unstable_500
    }

    /// Ordinary in everything but what a story is about.
    fn plain(&self) -> bool {
        self.stable() && self.landed() && self.first && self.flap_limit_over_kt < 0.0
    }
}

/// Height changes less than this over twenty seconds on a level stretch, ft.
const LEVEL_FT: f64 = 40.0;

fn longest_level_s(flown: &Flown<'_>) -> f64 {
    let inside: Vec<&Moment> = flown
        .approach()
        .filter(|moment| (5.0..25.0).contains(&moment.to_go_nm) && moment.height_ft < 7000.0)
        .collect();
    let (mut longest, mut now) = (0.0_f64, 0.0);
    for pair in inside.windows(20) {
        let level = (pair[0].height_ft - pair[19].height_ft).abs() < LEVEL_FT;
        now = if level { now + 1.0 } else { 0.0 };
        longest = longest.max(now + 19.0 * f64::from(u8::from(level)));
    }
    longest
}

/// Degrees turned to either side over the whole approach.
fn turned_deg(flown: &Flown<'_>) -> f64 {
    let points: Vec<(f64, f64)> = flown
        .approach()
        .step_by(12)
        .filter_map(|moment| moment.frame_nm)
        .collect();
    let courses: Vec<f64> = points
        .windows(2)
        .map(|pair| (pair[1].1 - pair[0].1).atan2(pair[1].0 - pair[0].0))
        .collect();
    let turn = |pair: &[f64]| {
        let change = (pair[1] - pair[0]).to_degrees();
        ((change + 540.0).rem_euclid(360.0) - 180.0).abs()
    };
    courses.windows(2).map(turn).sum()
}

/// All stories, in the order in which they choose: the rarest first.
pub(crate) const STORIES: [Story; 11] = [
    Story {
        name: "unstable-landed",
        title: "Too much energy: unstable at 500 ft, and landed",
        score: |t| {
            let late = t.landed() && t.unstable_500 && t.first;
            (late && t.excess_10_ft > 200.0).then_some(t.excess_10_ft + 0.3 * t.excess_20_ft)
        },
    },
    Story {
        name: "go-around",
        title: "Broken off",
        score: |t| {
            let broken = t.outcome.starts_with("go_around") && t.first;
            let reason = f64::from(u8::from(t.unstable_1000 || t.unstable_500));
            broken.then_some(1000.0 * reason + t.excess_10_ft)
        },
    },
    Story {
        name: "flap-limit",
        title: "A flap limit exceeded",
        score: |t| {
            let over = t.flap_limit_over_kt > 0.0 && t.landed() && t.first;
            // Rather by the hand that selected than by a gust afterwards.
            let selected = 100.0 * f64::from(u8::from(t.selection_margin_kt < 3.0));
            over.then_some(selected + t.flap_limit_over_kt.min(8.0) - t.selection_margin_kt)
        },
    },
    Story {
        name: "steep",
        title: "A steep path",
        score: |t| (t.glide_path_deg > 3.9 && t.plain()).then_some(-t.excess_10_ft.abs()),
    },
    Story {
        name: "holding",
        title: "A holding pattern before the approach",
        score: |t| {
            let held = t.turned_deg > 400.0 || t.holding_nm > 0.0;
            (held && t.first && t.landed()).then_some(-(t.holding_nm - 20.0).abs())
        },
    },
    Story {
        name: "vectors",
        title: "The long way round: vectors",
        score: |t| {
            let long = t.vectored || (130.0..400.0).contains(&t.turned_deg);
            let held = t.holding_nm > 0.0;
            let told = 200.0 * f64::from(u8::from(t.vectored)) + t.turned_deg;
            (long && !held && t.plain()).then_some(told)
        },
    },
    Story {
        name: "shortcut",
        title: "Track miles taken away: high through a shortcut",
        score: |t| {
            let cut = t.shortcut_nm > 3.0 && t.excess_20_ft > 200.0;
            (cut && t.plain()).then_some(t.shortcut_nm + t.excess_20_ft / 200.0)
        },
    },
    Story {
        name: "from-above",
        title: "The path captured from above",
        score: |t| {
            let named = f64::from(u8::from(t.intercept.contains("above")));
            let above = t.over_path_8nm_ft > 120.0 && t.over_path_4nm_ft < 120.0;
            ((above || named > 0.0) && t.plain()).then_some(300.0 * named + t.over_path_8nm_ft)
        },
    },
    Story {
        name: "heavy-level",
        title: "Heavy: slowed on a level segment",
        score: |t| {
            let heavy = t.mass_ratio >= 0.95 && t.level_s >= 25.0 && t.glide_path_deg < 3.5;
            let named = 200.0 * f64::from(u8::from(t.intercept.contains("level")));
            let shown = named + t.level_s.min(60.0) - t.excess_20_ft.abs() / 50.0;
            (heavy && t.plain()).then_some(shown)
        },
    },
    Story {
        name: "high-recovered",
        title: "High at 20 NM, recovered with drag",
        score: |t| {
            let high = t.excess_20_ft > 700.0 && t.brake_s > 20.0;
            let recovered = t.excess_10_ft < 0.6 * t.excess_20_ft;
            (high && recovered && t.plain()).then_some(t.excess_20_ft.min(1500.0) + t.brake_s)
        },
    },
    Story {
        name: "nominal",
        title: "As planned",
        score: |t| {
            let plain = t.plain() && t.planted.is_empty() && t.selection_margin_kt > 5.0;
            let middling = plain && (0.75..0.92).contains(&t.mass_ratio) && t.glide_path_deg < 3.5;
            let near = t.excess_20_ft.abs() + 2.0 * t.excess_10_ft.abs() + 4.0 * t.brake_s;
            (middling && t.turned_deg < 130.0).then_some(-near)
        },
    },
];

/// The best approaches seen so far, by story: score, flight, approach.
#[derive(Default)]
pub(crate) struct Choice {
    candidates: BTreeMap<usize, Vec<(f64, String, i32)>>,
    longest_nm: f64,
}

/// Candidates that are kept for each story: another story may have taken the first.
const KEPT: usize = 12;

impl Choice {
    /// Lets every story look at an approach.
    pub(crate) fn offer(&mut self, flown: &Flown<'_>) {
        let (Some(traits), Some(truth)) = (Traits::of(flown), &flown.truth) else {
            return;
        };
        self.longest_nm = self.longest_nm.max(traits.from_nm.min(40.0));
        // A picture that begins halfway in tells half a story.
        if traits.from_nm < 0.8 * self.longest_nm {
            return;
        }
        for (index, story) in STORIES.iter().enumerate() {
            if let Some(score) = (story.score)(&traits).filter(|score| score.is_finite()) {
                let kept = self.candidates.entry(index).or_default();
                kept.push((score, truth.flight_id.clone(), truth.number));
                kept.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
                kept.truncate(KEPT);
            }
        }
    }

    /// The approach of each story that found one: no flight serves two.
    pub(crate) fn made(&self) -> Vec<(&'static Story, &str, i32)> {
        let mut taken = BTreeSet::new();
        let mut made = Vec::new();
        for (index, story) in STORIES.iter().enumerate() {
            let candidates = self.candidates.get(&index).into_iter().flatten();
            let free = candidates.filter(|(_, flight, _)| !taken.contains(flight.as_str()));
            if let Some((_, flight, number)) = free.into_iter().next() {
                taken.insert(flight.as_str());
                made.push((story, flight.as_str(), *number));
            }
        }
        made
    }
}
