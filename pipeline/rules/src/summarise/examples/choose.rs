//! Which candidates become examples, so that no aircraft and no place is on the list more often than it must.

use std::cmp::{Ordering, Reverse};
use std::collections::BTreeMap;

use super::candidate::Candidate;

/// Examples of one topic.
const PLACES: usize = 3;
/// Of these, how many are typical before one that came out of it is looked for.
const TYPICAL: usize = 2;

/// How often each approach and each tail is an example already. Tails that are not known may all be one.
#[derive(Default)]
struct Used<'a> {
    approaches: BTreeMap<(&'a str, i32), usize>,
    tails: BTreeMap<Option<&'a str>, usize>,
}

/// The examples of each topic, in the order to show them, and why each was taken. Topics with few candidates
/// choose first: those with many find others.
pub(super) fn choose<'a, 'b>(
    topics: &'b [Vec<Candidate<'a>>],
) -> Vec<Vec<(&'b Candidate<'a>, &'static str)>> {
    let mut order: Vec<usize> = (0..topics.len()).collect();
    order.sort_by_key(|topic| (topics[*topic].len(), *topic));
    let mut used = Used::default();
    let mut chosen = vec![Vec::new(); topics.len()];
    for topic in order {
        for place in 0..PLACES {
            let Some((one, why)) = next(&topics[topic], &chosen[topic], &used, place) else {
                break;
            };
            used.add(one);
            chosen[topic].push((one, why));
        }
    }
    chosen
}

/// The next example of a topic; none where every candidate is one.
fn next<'a, 'b>(
    all: &'b [Candidate<'a>],
    chosen: &[(&Candidate<'a>, &str)],
    used: &Used<'_>,
    place: usize,
) -> Option<(&'b Candidate<'a>, &'static str)> {
    let is_free = |one: &&Candidate<'_>| {
        !chosen
            .iter()
            .any(|(other, _)| approach(other) == approach(one))
    };
    let best = |recovered: bool| {
        let fit = all.iter().filter(is_free);
        fit.filter(|one| !recovered || one.recovered)
            .min_by(|a, b| compare(a, b, chosen, used, recovered))
    };
    let typical = best(false)?;
    // One that came out of it, unless another would spare an aircraft a second example.
    let recovered =
        best(true).filter(|one| place >= TYPICAL && used.times(one) <= used.times(typical));
    Some(match recovered {
        Some(one) => (one, "recovered"),
        None => (typical, "typical"),
    })
}

/// What comes first: new approaches, new tails, go-arounds where a recovery is looked for, the highest level,
/// the middle half, what shares least with the other examples, the middle itself, the first by id.
fn compare(
    a: &Candidate<'_>,
    b: &Candidate<'_>,
    chosen: &[(&Candidate<'_>, &str)],
    used: &Used<'_>,
    recovered: bool,
) -> Ordering {
    let key = |one: &Candidate<'_>| {
        let shares: usize = chosen.iter().map(|(other, _)| shared(one, other)).sum();
        (
            used.times(one),
            recovered && !one.of.row.outcome.starts_with("go_around"),
            Reverse(one.of.level),
            !one.is_typical,
            shares,
        )
    };
    key(a)
        .cmp(&key(b))
        .then(a.from_median.total_cmp(&b.from_median))
        .then(a.of.key().cmp(&b.of.key()))
}

/// In how many ways two examples would show the same.
fn shared(a: &Candidate<'_>, b: &Candidate<'_>) -> usize {
    let (one, other) = (a.of.row, b.of.row);
    [
        one.airport == other.airport,
        one.month == other.month,
        one.aircraft_type == other.aircraft_type,
        a.of.event.rule == b.of.event.rule,
    ]
    .into_iter()
    .filter(|same| *same)
    .count()
}

fn approach<'a>(one: &Candidate<'a>) -> (&'a str, i32) {
    (&one.of.row.flight_id, one.of.row.approach_no)
}

impl<'a> Used<'a> {
    /// How often the approach and the tail of a candidate are examples already.
    fn times(&self, one: &Candidate<'_>) -> (usize, usize) {
        let times = |count: Option<&usize>| count.copied().unwrap_or(0);
        let tail = one.of.row.tail_id.as_deref();
        (
            times(self.approaches.get(&approach(one))),
            times(self.tails.get(&tail)),
        )
    }

    fn add(&mut self, one: &Candidate<'a>) {
        *self.approaches.entry(approach(one)).or_default() += 1;
        *self.tails.entry(one.of.row.tail_id.as_deref()).or_default() += 1;
    }
}
