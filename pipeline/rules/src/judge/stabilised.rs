//! From where on everything was right and, each criterion allowed its grace time, stayed so.

use crate::compile::check;
use crate::runs::RunView;

/// The last good stretch of one criterion, up to where holding ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Good {
    /// Its first sample.
    from_k: i32,
    /// The gate's column there.
    value: Option<f64>,
    before: Before,
}

/// What lies before a good stretch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Before {
    /// Samples outside the limits for longer than the grace time.
    Outside,
    /// Samples on which it is not known.
    Unknown,
    /// Where following begins: it was good earlier already.
    Start,
}

/// The height, or other gate column, from which an approach was settled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stabilised {
    /// `from`, `earlier` (than the value, where following begins), `never` or `unknown`.
    pub(crate) state: &'static str,
    /// The value; none where never or unknown.
    pub(crate) value: Option<f64>,
}

/// The good stretch of a criterion that ends before sample `end_k`.
pub(super) fn good(runs: &[RunView<'_>], end_k: i32, grace_samples: i32) -> Good {
    let mut good = Good {
        from_k: end_k,
        value: None,
        before: Before::Start,
    };
    // An excursion that may still turn out to be longer than its grace: its samples, and what was good
    // after it.
    let mut excursion = 0;
    let inside = runs.iter().rev().filter(|run| run.k_first < end_k);
    let mut next = end_k;
    for run in inside {
        let code = run.code.unwrap_or(0);
        let last = run.k_last.min(end_k - 1);
        if last + 1 != next || code & check::WINDOW == 0 {
            break;
        }
        next = run.k_first;
        if code & check::OUTSIDE != 0 {
            excursion += last - run.k_first + 1;
            if excursion > grace_samples {
                good.before = Before::Outside;
                return good;
            }
            continue;
        }
        if code & check::KNOWN == 0 {
            good.before = Before::Unknown;
            return good;
        }
        excursion = 0;
        good.from_k = run.k_first;
        good.value = run.first(0).map(f64::from);
    }
    good
}

/// All criteria together: the one that came right last decides; none without criteria.
pub(super) fn together(criteria: &[Good]) -> Option<Stabilised> {
    let last = criteria.iter().map(|one| one.from_k).max()?;
    let deciding = criteria.iter().filter(|one| one.from_k == last);
    let is = |before: Before| deciding.clone().any(|one| one.before == before);
    let value = deciding.clone().find_map(|one| one.value);
    let state = if is(Before::Unknown) {
        "unknown"
    } else if value.is_none() {
        "never"
    } else if is(Before::Outside) {
        "from"
    } else {
        "earlier"
    };
    let known = matches!(state, "from" | "earlier");
    Some(Stabilised {
        state,
        value: value.filter(|_| known),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::runs::{Decoder, Ends, Run};

    const IN: i8 = check::WINDOW | check::KNOWN;
    const OUT: i8 = IN | check::OUTSIDE;

    /// One run a pair of (code, samples); the height falls by 10 ft a sample from 1,000 ft.
    fn runs(parts: &[(i8, i32)]) -> (Vec<Run>, i32) {
        let mut k = 0;
        let runs = parts
            .iter()
            .map(|(code, samples)| {
                #[allow(clippy::cast_precision_loss)]
                let value = |k: i32| Some(1_000.0 - 10.0 * k as f32);
                let run = Run {
                    k_first: k,
                    k_last: k + samples - 1,
                    code: Some(*code),
                    values: Vec::new(),
                    ends: vec![Ends {
                        first: value(k),
                        last: value(k + samples - 1),
                    }],
                };
                k += samples;
                run
            })
            .collect();
        (runs, k)
    }

    fn good_of(runs: &[Run], end_k: i32, grace: i32) -> Good {
        let runs = Decoder::of_ends(runs);
        let runs: Vec<RunView<'_>> = runs.views(0, 0).collect();
        good(&runs, end_k, grace)
    }

    fn state(parts: &[(i8, i32)], grace: i32) -> (&'static str, Option<f64>) {
        let (runs, end) = runs(parts);
        let all = together(&[good_of(&runs, end, grace)]).unwrap();
        (all.state, all.value)
    }

    #[test]
    fn it_begins_after_the_last_excursion_beyond_its_grace() {
        assert_eq!(state(&[(OUT, 20), (IN, 30)], 3), ("from", Some(800.0)));
        assert_eq!(
            state(&[(OUT, 20), (IN, 10), (OUT, 3), (IN, 30)], 3),
            ("from", Some(800.0))
        );
        assert_eq!(
            state(&[(OUT, 20), (IN, 10), (OUT, 4), (IN, 30)], 3),
            ("from", Some(660.0))
        );
        assert_eq!(state(&[(IN, 50)], 3), ("earlier", Some(1_000.0)));
        assert_eq!(state(&[(IN, 50), (OUT, 10)], 3), ("never", None));
        // It ends within its grace: what came before was not undone.
        assert_eq!(
            state(&[(OUT, 9), (IN, 50), (OUT, 3)], 3),
            ("from", Some(910.0))
        );
    }

    #[test]
    fn what_is_not_known_is_not_good() {
        assert_eq!(
            state(&[(IN, 20), (check::WINDOW, 5), (IN, 20)], 3),
            ("unknown", None)
        );
        // Unknown before an excursion does not matter.
        assert_eq!(
            state(&[(check::WINDOW, 5), (OUT, 9), (IN, 20)], 3),
            ("from", Some(860.0))
        );
        assert_eq!(state(&[(IN, 20), (check::WINDOW, 5)], 3), ("unknown", None));
    }

    #[test]
    fn the_criterion_that_came_right_last_decides() {
        let (early, end) = runs(&[(OUT, 5), (IN, 45)]);
        let (late, _) = runs(&[(OUT, 30), (IN, 20)]);
        let all = together(&[good_of(&early, end, 0), good_of(&late, end, 0)]).unwrap();
        assert_eq!(all.value, Some(700.0));
        // One is not known from higher up: the later one decides.
        let (unknown, _) = runs(&[(check::WINDOW, 10), (IN, 40)]);
        let all = together(&[good_of(&unknown, end, 0), good_of(&late, end, 0)]).unwrap();
        assert_eq!((all.state, all.value), ("from", Some(700.0)));
        let (never, _) = runs(&[(IN, 10), (OUT, 40)]);
        let all = together(&[good_of(&early, end, 0), good_of(&never, end, 0)]).unwrap();
        assert_eq!(all.state, "never");
        assert_eq!(together(&[]), None);
    }
}
