//! Expected counts where several things make a difference at once: type, runway, kind of approach, month.
//!
//! A stratum's rate is an overall rate times one multiplier for each factor, so that strata of a few
//! approaches borrow from all others that share a type, a runway or a month with them. A table of single
//! strata, of which most are nearly empty, would only repeat their noise.

use crate::Counted;

/// One combination of levels with its counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Stratum {
    /// The level of each factor, numbered from 0.
    pub levels: Vec<usize>,
    /// What was counted there.
    pub counted: Counted,
}

/// An overall rate and a multiplier for each level of each factor.
#[derive(Debug, Clone, PartialEq)]
pub struct Effects {
    overall: f64,
    multipliers: Vec<Vec<f64>>,
}

/// Rounds at most; what has not settled by then is settled to more digits than counts have.
const ROUNDS: usize = 500;
/// Relative change of every multiplier at which the fit has settled.
const SETTLED: f64 = 1e-12;

/// Fits the multipliers to counts that are Poisson.
///
/// Each multiplier is (events + `prior_events`) / (expected without it + `prior_events`): drawn towards 1 as
/// if it had come with so many events more, as many as expected (the posterior mode under a gamma prior with
/// mode 1). With `prior_events` = 0 this is iterative proportional fitting, which comes to the maximum
/// likelihood of the Poisson model with main effects. The overall rate makes the expected total the observed
/// one.
///
/// `None` without approaches, for strata with different numbers of factors, or for unusable numbers.
#[must_use]
pub fn fit_effects(strata: &[Stratum], prior_events: f64) -> Option<Effects> {
    let factors = strata.first()?.levels.len();
    let sound = strata
        .iter()
        .all(|one| one.counted.is_sound() && one.levels.len() == factors);
    let events: f64 = strata.iter().map(|one| one.counted.with_event).sum();
    let approaches: f64 = strata.iter().map(|one| one.counted.evaluable).sum();
    if !sound || !crate::is_count(prior_events) || approaches <= 0.0 {
        return None;
    }
    let levels = |factor: usize| strata.iter().map(|one| one.levels[factor] + 1).max();
    let mut effects = Effects {
        overall: events / approaches,
        multipliers: (0..factors)
            .map(|factor| vec![1.0; levels(factor).unwrap_or(0)])
            .collect(),
    };
    if events <= 0.0 {
        return Some(effects);
    }
    for _ in 0..ROUNDS {
        let mut change = 0.0_f64;
        for factor in 0..factors {
            change = change.max(effects.settle(strata, factor, prior_events));
        }
        let expected: f64 = strata.iter().map(|one| effects.of(one)).sum();
        effects.overall *= events / expected;
        if change < SETTLED {
            break;
        }
    }
    Some(effects)
}

impl Effects {
    /// Rate of a stratum whose multipliers are all 1.
    #[must_use]
    pub fn overall(&self) -> f64 {
        self.overall
    }

    /// The multiplier of a level; 1 for one that was not fitted.
    #[must_use]
    pub fn multiplier(&self, factor: usize, level: usize) -> f64 {
        let levels = self.multipliers.get(factor);
        levels
            .and_then(|levels| levels.get(level))
            .copied()
            .unwrap_or(1.0)
    }

    /// Events expected of so many approaches; a factor that is `None` makes no difference.
    #[must_use]
    pub fn expected(&self, levels: &[Option<usize>], evaluable: f64) -> f64 {
        let factors = levels.iter().enumerate();
        let product: f64 = factors
            .filter_map(|(factor, level)| Some(self.multiplier(factor, (*level)?)))
            .product();
        self.overall * product * evaluable
    }

    fn of(&self, one: &Stratum) -> f64 {
        let product: f64 = one
            .levels
            .iter()
            .zip(&self.multipliers)
            .map(|(level, multipliers)| multipliers[*level])
            .product();
        self.overall * product * one.counted.evaluable
    }

    /// Sets the multipliers of one factor, given all others; returns the largest relative change.
    fn settle(&mut self, strata: &[Stratum], factor: usize, prior_events: f64) -> f64 {
        let size = self.multipliers[factor].len();
        let (mut events, mut expected) = (vec![0.0; size], vec![0.0; size]);
        for one in strata {
            let level = one.levels[factor];
            events[level] += one.counted.with_event;
            // A multiplier of zero leaves no way to tell what the others expect: its level has no events.
            let own = self.multipliers[factor][level];
            if own > 0.0 {
                expected[level] += self.of(one) / own;
            }
        }
        let mut change = 0.0_f64;
        for level in 0..size {
            let before = self.multipliers[factor][level];
            let room = expected[level] + prior_events;
            if before > 0.0 && room > 0.0 {
                let now = (events[level] + prior_events) / room;
                change = change.max((now - before).abs() / now.max(before));
                self.multipliers[factor][level] = now;
            }
        }
        change
    }
}
