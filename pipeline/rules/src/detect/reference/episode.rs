//! Episodes, sample by sample, as `docs/rules.md` tells them under "Order of judging".

use proptest::prelude::*;

use super::{Event, Sample, Verdict, deal, fleet, judged, rule, status};

#[derive(Debug, Clone, Copy)]
struct Asked {
    release: Option<&'static str>,
    hold: usize,
    bridge: usize,
    coverage: f64,
    least: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum State {
    Outside,
    Unknown,
    On,
    Between,
    Off,
}

fn classify(sample: &Sample, asked: &Asked) -> State {
    if !sample.approach {
        return State::Outside;
    }
    let Some(height) = sample.height else {
        return State::Unknown;
    };
    if height >= 1000.0 {
        return State::Outside;
    }
    let Some(cas) = sample.cas else {
        return State::Unknown;
    };
    if cas > 100.0 {
        return State::On;
    }
    match asked.release {
        None => State::Off,
        Some("cas_kt < 95") if cas < 95.0 => State::Off,
        Some("cas_kt < 95") => State::Between,
        // The release reads the gear: what it reads must be known too.
        _ => match sample.gear {
            None => State::Unknown,
            Some(1) => State::Off,
            Some(_) => State::Between,
        },
    }
}

fn reference(samples: &[Sample], asked: &Asked) -> Verdict {
    let states: Vec<State> = samples
        .iter()
        .map(|sample| classify(sample, asked))
        .collect();
    // The machine: which samples belong to an episode, and to which.
    let mut episodes: Vec<Vec<usize>> = Vec::new();
    let mut open = false;
    let mut unknown = 0;
    for (k, state) in states.iter().enumerate() {
        match state {
            State::Unknown => {
                unknown += 1;
                continue;
            }
            State::On | State::Between if open && unknown <= asked.bridge => {
                episodes.last_mut().unwrap().push(k);
            }
            State::On => {
                episodes.push(vec![k]);
                open = true;
            }
            _ => open = false,
        }
        unknown = 0;
    }
    // Bridging.
    let mut joined: Vec<Vec<usize>> = Vec::new();
    for episode in episodes {
        if let Some(last) = joined.last_mut() {
            let (from, to) = (last[last.len() - 1] + 1, episode[0]);
            let inside = states[from..to]
                .iter()
                .all(|state| *state != State::Outside);
            if to - from <= asked.bridge && inside {
                last.extend(episode);
                continue;
            }
        }
        joined.push(episode);
    }
    // Hold: its own seconds, without the bridged ones.
    joined.retain(|episode| episode.len() >= asked.hold);

    let in_window =
        |sample: &&Sample| sample.approach && sample.height.is_none_or(|height| height < 1000.0);
    let reads_gear = asked
        .release
        .is_some_and(|release| release.contains("gear"));
    let known = |sample: &Sample| {
        sample.height.is_some() && sample.cas.is_some() && (!reads_gear || sample.gear.is_some())
    };
    let window: Vec<&Sample> = samples.iter().filter(in_window).collect();
    let known_share =
        window.iter().filter(|sample| known(sample)).count() as f64 / window.len().max(1) as f64;
    let evaluable = !window.is_empty() && known_share >= asked.coverage;
    let extreme = |values: &mut dyn Iterator<Item = f32>| -> Option<f64> {
        let best = if asked.least {
            values.reduce(f32::min)
        } else {
            values.reduce(f32::max)
        };
        best.map(f64::from)
    };
    let events: Vec<Event> = joined
        .iter()
        .filter_map(|episode| {
            let worst = extreme(&mut episode.iter().filter_map(|k| samples[*k].cas));
            let level = match worst {
                Some(worst) if worst > 110.0 => "high",
                Some(worst) if worst > 98.0 => "low",
                _ => return None,
            };
            let unsure = |k: &&usize| states[**k] == State::On && !known(&samples[**k]);
            Some(Event {
                start: episode[0] as f64,
                end: (episode[episode.len() - 1] + 1) as f64,
                level,
                worst,
                partial: episode.iter().any(|k| unsure(&k)) || !evaluable,
            })
        })
        .collect();
    let certain = |sample: &&&Sample| sample.height.is_some();
    Verdict {
        status: status(evaluable, &events),
        worst: extreme(
            &mut window
                .iter()
                .filter(certain)
                .filter_map(|sample| sample.cas),
        ),
        events,
    }
}

fn asked() -> impl Strategy<Value = Asked> {
    (
        prop::sample::select(vec![None, Some("cas_kt < 95"), Some("gear_down = 1")]),
        0..7_usize,
        0..5_usize,
        prop::sample::select(vec![0.3, 0.9]),
        any::<bool>(),
    )
        .prop_map(|(release, hold, bridge, coverage, least)| Asked {
            release,
            hold,
            bridge,
            coverage,
            least,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn an_episode_is_what_plain_loops_find(asked in asked(), fleet in fleet(), deal in deal()) {
        let release = asked.release.map_or_else(String::new, |release| format!("release = '{release}'\n"));
        let which = if asked.least { "min" } else { "max" };
        let rule = rule(&format!(
            "coverage = {}\n[episode]\nwithin = 'height_aal_ft < 1000'\nwhen = 'cas_kt > 100'\n{release}\
             hold = \"{}s\"\nbridge = \"{}s\"\n[measures]\nworst = '{which}(cas_kt)'\n\
             [[levels]]\nname = \"high\"\nwhen = 'worst > 110'\n[[levels]]\nname = \"low\"\nwhen = 'worst > 98'\n",
            asked.coverage, asked.hold, asked.bridge
        ));
        let wanted: Vec<Verdict> = fleet.iter().map(|samples| reference(samples, &asked)).collect();
        for found in judged(&rule, &fleet, &deal) {
            prop_assert_eq!(&found, &wanted);
        }
    }
}
