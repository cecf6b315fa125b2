//! Gates, sample by sample, as `docs/rules.md` tells them: crossing, known, failing, held.

use proptest::prelude::*;

use super::{Event, Sample, Verdict, deal, fleet, judged, rule, status};

/// The same samples with their heights in falling order: an approach that comes down to the end.
fn descending(mut samples: Vec<Sample>) -> Vec<Sample> {
    let mut heights: Vec<f32> = samples.iter().filter_map(|sample| sample.height).collect();
    heights.sort_by(f32::total_cmp);
    for sample in samples.iter_mut().filter(|sample| sample.height.is_some()) {
        sample.height = heights.pop();
        sample.approach = true;
    }
    samples
}

#[derive(Debug, Clone, Copy)]
struct Asked {
    held: bool,
    grace: usize,
    coverage: f64,
}

const GATE_FT: f32 = 500.0;
const TO_FT: f32 = 50.0;

/// One criterion at a sample: whether it applies, its value, whether that is outside.
struct Seen {
    applies: Option<bool>,
    value: Option<f64>,
    outside: bool,
}

fn speed(sample: &Sample) -> Seen {
    Seen {
        applies: Some(true),
        value: sample.cas.map(f64::from),
        outside: sample.cas.is_some_and(|cas| cas > 100.0),
    }
}

/// Applies only with the flap out.
fn gear(sample: &Sample) -> Seen {
    let applies = sample.flap.map(|flap| flap > 0);
    Seen {
        applies,
        value: sample.gear.map(f64::from),
        outside: applies == Some(true) && sample.gear.is_some_and(|gear| gear < 1),
    }
}

struct Judged {
    passed: Option<bool>,
    applies: Option<bool>,
    held: Option<bool>,
}

fn reference(samples: &[Sample], asked: &Asked) -> Verdict {
    let nothing = Verdict {
        status: "not_evaluable",
        worst: None,
        events: Vec::new(),
    };
    let height = |k: usize| samples[k].height.filter(|_| samples[k].approach);
    let known: Vec<usize> = (0..samples.len())
        .filter(|k| height(*k).is_some())
        .collect();
    let crossing = known
        .windows(2)
        .rev()
        .find(|pair| height(pair[0]).unwrap() >= GATE_FT && height(pair[1]).unwrap() < GATE_FT);
    let Some(&[above, below]) = crossing else {
        return nothing;
    };
    if below != above + 1 {
        return nothing;
    }
    let (high, low) = (
        f64::from(height(above).unwrap()),
        f64::from(height(below).unwrap()),
    );
    let fraction = (high - f64::from(GATE_FT)) / (high - low);
    let past = (below..samples.len()).find(|k| height(*k).is_some_and(|height| height < TO_FT));
    let segment_end = samples.iter().rposition(|sample| sample.approach).unwrap() + 1;
    let end = past.unwrap_or(segment_end);

    let watched = |k: usize| height(k).is_some_and(|height| height < GATE_FT + 2000.0);
    let judge = |see: fn(&Sample) -> Seen, interpolated: bool, grace: usize| -> Judged {
        let known = |k: usize| {
            let seen = see(&samples[k]);
            seen.applies == Some(false) || (seen.applies == Some(true) && seen.value.is_some())
        };
        let (before, after) = (see(&samples[above]), see(&samples[below]));
        let value = if interpolated {
            before
                .value
                .zip(after.value)
                .map(|(one, two)| one + fraction * (two - one))
        } else {
            before.value
        };
        let around: Vec<usize> = ((above + 1).saturating_sub(5)..(below + 5).min(samples.len()))
            .filter(|k| watched(*k))
            .collect();
        let share = around.iter().filter(|k| known(**k)).count() as f64;
        let value = value.filter(|_| share >= asked.coverage * around.len() as f64);
        let inside = |value: f64| {
            if interpolated {
                value <= 100.0
            } else {
                value >= 1.0
            }
        };
        let passed = match (before.applies, value) {
            (Some(true), Some(value)) => Some(inside(value)),
            _ => None,
        };
        let mut excursion = 0;
        let mut left = false;
        for (k, sample) in samples.iter().enumerate().take(end).skip(below) {
            excursion = if watched(k) && see(sample).outside {
                excursion + 1
            } else {
                0
            };
            left |= excursion > grace;
        }
        let mut all = (below..end).filter(|k| watched(*k)).peekable();
        let any = all.peek().is_some();
        let whole = any && all.all(known) && past.is_some();
        let held = if left {
            Some(false)
        } else {
            whole.then_some(true)
        };
        Judged {
            passed,
            applies: before.applies,
            held: held.filter(|_| before.applies == Some(true)),
        }
    };
    let criteria = [judge(speed, true, asked.grace), judge(gear, false, 0)];
    let unknown = criteria.iter().any(|one| {
        one.applies != Some(false) && (one.passed.is_none() || (asked.held && one.held.is_none()))
    });
    let failed = criteria
        .iter()
        .filter(|one| one.passed == Some(false))
        .count();
    let not_held = criteria
        .iter()
        .filter(|one| one.applies == Some(true) && one.held == Some(false))
        .count();
    let faults = if asked.held { not_held } else { failed };
    let worst = (!unknown || faults > 0).then_some(faults as f64);
    let at = above as f64 + fraction;
    let events: Vec<Event> = (faults > 0)
        .then_some(Event {
            start: at,
            end: at,
            level: if faults == 2 { "high" } else { "low" },
            worst,
            partial: unknown,
        })
        .into_iter()
        .collect();
    Verdict {
        status: status(!unknown, &events),
        worst,
        events,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn a_gate_is_what_plain_loops_find(
        held in any::<bool>(),
        grace in 0..3_usize,
        coverage in prop::sample::select(vec![0.3, 0.9]),
        falls in any::<bool>(),
        fleet in fleet(),
        deal in deal(),
    ) {
        let fleet: Vec<Vec<Sample>> = if falls {
            fleet.into_iter().map(descending).collect()
        } else {
            fleet
        };
        let asked = Asked { held, grace, coverage };
        let asks = if held { "asks = \"held\"\n" } else { "" };
        let counted = if held { "not_held" } else { "failed" };
        let rule = rule(&format!(
            "coverage = {coverage}\n[gate]\nat = 'height_aal_ft = 500'\nto = 50\n{asks}\
             [[criterion]]\nname = \"speed\"\nvalue = 'cas_kt'\nupper = 100\ngrace = \"{grace}s\"\n\
             [[criterion]]\nname = \"gear\"\nvalue = 'gear_down'\nlower = 1\napplies = 'flap_lever > 0'\n\
             [[levels]]\nname = \"high\"\nwhen = '{counted} >= 2'\n[[levels]]\nname = \"low\"\nwhen = '{counted} >= 1'\n"
        ));
        let wanted: Vec<Verdict> = fleet.iter().map(|samples| reference(samples, &asked)).collect();
        for found in judged(&rule, &fleet, &deal) {
            for (found, wanted) in found.iter().zip(&wanted) {
                prop_assert_eq!(found.status, wanted.status);
                prop_assert_eq!(found.worst, wanted.worst);
                prop_assert_eq!(found.events.len(), wanted.events.len());
                for (found, wanted) in found.events.iter().zip(&wanted.events) {
                    prop_assert!((found.start - wanted.start).abs() < 1e-6);
                    prop_assert_eq!(found.level, wanted.level);
                    prop_assert_eq!(found.partial, wanted.partial);
                }
            }
        }
    }
}
