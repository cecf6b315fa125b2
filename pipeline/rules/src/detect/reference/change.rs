//! Changes, sample by sample.

use proptest::prelude::*;

use super::{Event, Sample, Verdict, deal, fleet, judged, rule, status};

#[derive(Debug, Clone, Copy)]
struct Asked {
    direction: &'static str,
    before: usize,
    coverage: f64,
}

fn reference(samples: &[Sample], asked: &Asked) -> Verdict {
    let mut last: Option<(usize, i8)> = None;
    let mut changes: Vec<usize> = Vec::new();
    let mut unseen = false;
    let (mut segment, mut seen) = (0, 0);
    for (k, sample) in samples.iter().enumerate() {
        segment += usize::from(sample.approach);
        let Some(flap) = sample.flap.filter(|_| sample.approach) else {
            continue;
        };
        seen += 1;
        if let Some((at, before)) = last {
            let wanted = match asked.direction {
                "up" => flap > before,
                "down" => flap < before,
                _ => flap != before,
            };
            if wanted && k - at - 1 <= asked.before {
                changes.push(k);
            } else if wanted {
                unseen = true;
            }
        }
        last = Some((k, flap));
    }
    let measured: Vec<(usize, f64)> = changes
        .iter()
        .filter_map(|k| Some((*k, f64::from(samples[*k].cas?))))
        .collect();
    let evaluable = !unseen
        && segment > 0
        && seen as f64 >= asked.coverage * segment as f64
        && !changes.is_empty()
        && measured.len() as f64 >= asked.coverage * changes.len() as f64;
    let events: Vec<Event> = measured
        .iter()
        .filter_map(|(k, cas)| {
            let level = match *cas {
                cas if cas > 110.0 => "high",
                cas if cas > 98.0 => "low",
                _ => return None,
            };
            Some(Event {
                start: *k as f64,
                end: *k as f64,
                level,
                worst: Some(*cas),
                partial: !evaluable,
            })
        })
        .collect();
    Verdict {
        status: status(evaluable, &events),
        worst: measured.iter().map(|(_, cas)| *cas).reduce(f64::max),
        events,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn a_change_is_what_plain_loops_find(
        direction in prop::sample::select(vec!["up", "down", "any"]),
        before in 0..4_usize,
        coverage in prop::sample::select(vec![0.3, 0.9]),
        fleet in fleet(),
        deal in deal(),
    ) {
        let asked = Asked { direction, before, coverage };
        let rule = rule(&format!(
            "coverage = {coverage}\n[change]\nof = 'flap_lever'\ndirection = \"{direction}\"\nbefore = \"{before}s\"\n\
             [measures]\nworst = 'max(cas_kt)'\n\
             [[levels]]\nname = \"high\"\nwhen = 'worst > 110'\n[[levels]]\nname = \"low\"\nwhen = 'worst > 98'\n"
        ));
        let wanted: Vec<Verdict> = fleet.iter().map(|samples| reference(samples, &asked)).collect();
        for found in judged(&rule, &fleet, &deal) {
            prop_assert_eq!(&found, &wanted);
        }
    }
}
