//! The same answer by another way: all samples sorted, one loop, nothing merged.
//!
//! Written from the definition of a run; uses none of the aggregate's code but the plain types in
//! which the answer is given.

use std::collections::BTreeMap;

use super::Sample;
use crate::runs::{Extreme, Run, RunValue};

type Read = fn(&Sample) -> Option<f32>;

/// For each group the runs of the three `s` arguments.
pub(super) fn oracle(samples: &[Sample]) -> BTreeMap<i64, Vec<Vec<Run>>> {
    let mut groups: BTreeMap<i64, Vec<Sample>> = BTreeMap::new();
    for sample in samples {
        groups.entry(sample.group).or_default().push(*sample);
    }
    let mut answer = BTreeMap::new();
    for (group, mut samples) in groups {
        samples.sort_by_key(|s| s.k);
        let (a, b): (Read, Read) = (|s| s.a, |s| s.b);
        let carried: [Read; 2] = [|s| s.x, |s| s.y];
        answer.insert(
            group,
            vec![
                runs(&samples, 0, &[a, b], &carried),
                runs(&samples, 1, &[b], &[]),
                runs(&samples, 2, &[], &[]),
            ],
        );
    }
    answer
}

fn runs(samples: &[Sample], s: usize, values: &[Read], carried: &[Read]) -> Vec<Run> {
    let mut runs = vec![];
    let mut from = 0;
    for to in 1..=samples.len() {
        let ends = to == samples.len()
            || samples[to].k != samples[to - 1].k + 1
            || samples[to].codes[s] != samples[from].codes[s];
        if ends {
            let members = &samples[from..to];
            runs.push(Run {
                k_first: members[0].k,
                k_last: members[members.len() - 1].k,
                code: members[0].codes[s],
                values: values
                    .iter()
                    .map(|value| summary(members, *value, carried))
                    .collect(),
                ends: vec![],
            });
            from = to;
        }
    }
    runs
}

fn summary(members: &[Sample], value: Read, carried: &[Read]) -> RunValue {
    let extreme = |beats: fn(f32, f32) -> bool| {
        let mut best: Option<&Sample> = None;
        for member in members {
            if let Some(v) = value(member)
                && best.and_then(value).is_none_or(|b| beats(v, b))
            {
                best = Some(member);
            }
        }
        best.map(|member| Extreme {
            value: value(member).unwrap(),
            k: member.k,
            carried: carried.iter().map(|read| read(member)).collect(),
        })
    };
    RunValue {
        first: value(&members[0]),
        last: value(&members[members.len() - 1]),
        min: extreme(|v, best| v < best),
        max: extreme(|v, best| v > best),
        known: members.iter().filter(|m| value(m).is_some()).count() as i32,
    }
}
