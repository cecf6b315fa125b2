//! Whether a month differs from those before it, among many months, rules and groups that are looked at.

use crate::compare::{Comparison, compare, one_sided_p};
use crate::numerics::{bisect, first_whole};
use crate::{Counted, benjamini_hochberg, upper_tail};

/// Thresholds of the signal; judgement, not a standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignalRules {
    /// Largest adjusted p of a signal.
    pub q: f64,
    /// Largest p of a signal where no dispersion could be estimated.
    pub p_without_phi: f64,
    /// Smallest ratio that is called higher; its reciprocal is the largest that is called lower.
    pub ratio: f64,
    /// Fewest approaches with an event in a month that is called higher; fewest expected in one that is
    /// called lower.
    pub fewest_events: f64,
    /// Probability with which a detectable rise is found.
    pub power: f64,
    /// Confidence of the ratio's interval.
    pub confidence: f64,
}

impl Default for SignalRules {
    fn default() -> Self {
        Self {
            q: 0.05,
            p_without_phi: 0.001,
            ratio: 1.25,
            fewest_events: 5.0,
            power: 0.80,
            confidence: 0.95,
        }
    }
}

/// One month against its baseline, which never contains it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonthTest {
    /// The month.
    pub month: Counted,
    /// The months it is compared with.
    pub baseline: Counted,
    /// Approaches with an event expected in the month at the baseline's rate for the month's own mix;
    /// `None` where that is not known.
    pub expected: Option<f64>,
    /// Dispersion; `None` where it could not be estimated.
    pub phi: Option<f64>,
}

/// What a month shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    /// A higher rate than before.
    Higher,
    /// A lower rate than before.
    Lower,
    /// Neither is shown.
    None(WhyNoSignal),
}

/// Why a month has no signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyNoSignal {
    /// No event in either period, or nothing evaluable in one of them.
    NothingToTest,
    /// Too few events for any difference to be called.
    TooFewEvents,
    /// There is a difference, and it is too small to matter.
    ChangeTooSmall,
    /// There may well be no difference.
    NotSignificant,
    /// Alone it would be shown, among so many it is not.
    NotSignificantAfterCorrection,
    /// It would be shown if the counts were known to vary like independent ones.
    PhiNotEstimated,
    /// Another mix of types, runways and kinds of approach would do the same.
    MixExplainsIt,
}

/// The answer to a [`MonthTest`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonthVerdict {
    /// The comparison; `None` where one side has nothing evaluable.
    pub comparison: Option<Comparison>,
    /// p adjusted within the family; `None` for a test that took no part in it.
    pub q: Option<f64>,
    /// What the month shows.
    pub signal: Signal,
}

/// Judges one family of tests, each answer in the place of its test.
///
/// Tests whose two periods together have fewer than `fewest_events` approaches with an event take no part:
/// they could flag nothing, and the test conditions on that total, so that leaving them out favours neither
/// direction.
#[must_use]
pub fn judge_months(family: &[MonthTest], rules: &SignalRules) -> Vec<MonthVerdict> {
    let compared: Vec<Option<Comparison>> = family
        .iter()
        .map(|test| compare(test.month, test.baseline, rules.confidence, test.phi))
        .collect();
    let p: Vec<Option<f64>> = family
        .iter()
        .zip(&compared)
        .map(|(test, compared)| {
            let takes_part = total(test) >= rules.fewest_events;
            compared
                .as_ref()
                .filter(|_| takes_part)
                .map(|c| c.p_central)
        })
        .collect();
    let adjusted = benjamini_hochberg(&p);
    family
        .iter()
        .zip(compared)
        .zip(adjusted)
        .map(|((test, comparison), q)| MonthVerdict {
            signal: signal(test, comparison.as_ref(), q, rules),
            comparison,
            q,
        })
        .collect()
}

fn total(test: &MonthTest) -> f64 {
    test.month.with_event + test.baseline.with_event
}

fn signal(
    test: &MonthTest,
    comparison: Option<&Comparison>,
    q: Option<f64>,
    rules: &SignalRules,
) -> Signal {
    let Some(comparison) = comparison.filter(|_| total(test) > 0.0) else {
        return Signal::None(WhyNoSignal::NothingToTest);
    };
    let Some(q) = q else {
        return Signal::None(WhyNoSignal::TooFewEvents);
    };
    if comparison.p_central > rules.q {
        return Signal::None(WhyNoSignal::NotSignificant);
    }
    if q > rules.q {
        return Signal::None(WhyNoSignal::NotSignificantAfterCorrection);
    }
    if test.phi.is_none() && comparison.p_central > rules.p_without_phi {
        return Signal::None(WhyNoSignal::PhiNotEstimated);
    }
    let expected = test.baseline.with_event / test.baseline.evaluable * test.month.evaluable;
    let x = test.month.with_event;
    // Nothing seen before: the ratio has no upper end, and is larger than any threshold.
    let higher = comparison.p_higher < comparison.p_lower;
    let far = |expected: f64| {
        if higher {
            x >= rules.ratio * expected
        } else {
            x * rules.ratio <= expected
        }
    };
    if !far(expected) {
        return Signal::None(WhyNoSignal::ChangeTooSmall);
    }
    let counted = if higher { x } else { expected };
    if counted < rules.fewest_events {
        return Signal::None(WhyNoSignal::TooFewEvents);
    }
    if !test.expected.is_none_or(far) {
        return Signal::None(WhyNoSignal::MixExplainsIt);
    }
    if higher {
        Signal::Higher
    } else {
        Signal::Lower
    }
}

/// The smallest rise of the true rate above the baseline's, in per cent, that the month would have shown
/// with probability `power`.
///
/// `family` is the number of tests in the month's family. The rise is taken to be the only one in it, which
/// asks for p ≤ q/family: with others beside it less is enough, so the figure is at most too large. All
/// conditions of the signal count. `None` where the baseline has no event or nothing is evaluable.
#[must_use]
pub fn detectable_rise_pct(test: &MonthTest, family: usize, rules: &SignalRules) -> Option<f64> {
    let expected = expected_unchanged(test)?;
    let count = smallest_flagged(test, family, rules)?;
    let missing =
        |log_mean: f64| upper_tail(count, log_mean.exp(), test.phi).unwrap_or(0.0) - rules.power;
    // From a mean that hardly ever reaches the count to one that nearly always does.
    let high = (4.0 * count + 100.0 * test.phi.unwrap_or(1.0)).ln();
    let mean = bisect((1e-6 * count).ln(), high, missing)?.exp();
    Some(100.0 * (mean / expected - 1.0).max(0.0))
}

/// Probability that the month would have shown a rise of the true rate by `rise_pct` above the baseline's.
/// Arguments and conditions as for [`detectable_rise_pct`].
#[must_use]
pub fn power_of_rise(
    test: &MonthTest,
    rise_pct: f64,
    family: usize,
    rules: &SignalRules,
) -> Option<f64> {
    let expected = expected_unchanged(test)?;
    let count = smallest_flagged(test, family, rules)?;
    upper_tail(count, expected * (1.0 + rise_pct / 100.0), test.phi)
}

/// Approaches with an event in the month at the rate of the baseline.
fn expected_unchanged(test: &MonthTest) -> Option<f64> {
    let Counted {
        with_event,
        evaluable,
    } = test.baseline;
    let expected = with_event / evaluable * test.month.evaluable;
    (expected.is_finite() && expected > 0.0).then_some(expected)
}

/// The smallest count of the month that would be called higher, alone in its family.
fn smallest_flagged(test: &MonthTest, family: usize, rules: &SignalRules) -> Option<f64> {
    let expected = expected_unchanged(test)?;
    let mut alpha = rules.q / family.max(1) as f64;
    if test.phi.is_none() {
        alpha = alpha.min(rules.p_without_phi);
    }
    let least = rules.ratio * expected.max(test.expected.unwrap_or(0.0));
    let least = least.max(rules.fewest_events).ceil();
    // Both tails are looked at: twice the upper one is p.
    let flagged = |count: f64| {
        let month = Counted::new(count, test.month.evaluable);
        let p = one_sided_p(month, test.baseline, 1.0, test.phi);
        p.is_some_and(|(higher, _)| 2.0 * higher <= alpha)
    };
    first_whole(least, flagged)
}
