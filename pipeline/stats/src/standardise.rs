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
    if events <= 0.0 || factors == 0 {
        return Some(effects);
    }
    let mut fit = Fit::new(strata, &effects);
    for _ in 0..ROUNDS {
        let mut change = 0.0_f64;
        for factor in 0..factors {
            change = change.max(fit.settle(factor, prior_events));
        }
        fit.overall *= events / fit.expected();
        if change < SETTLED {
            break;
        }
    }
    effects.overall = fit.overall;
    for (factor, multipliers) in effects.multipliers.iter_mut().enumerate() {
        multipliers.copy_from_slice(&fit.multipliers[fit.starts[factor]..fit.starts[factor + 1]]);
    }
    Some(effects)
}

/// A fit under way: hundreds of rounds go over all strata, so that what they read lies side by side.
struct Fit {
    overall: f64,
    /// Those of all factors, one factor after the other.
    multipliers: Vec<f64>,
    /// Where the multipliers of each factor begin, and where the last end.
    starts: Vec<usize>,
    /// Of each stratum, the place of its multiplier of each factor.
    places: Vec<usize>,
    evaluable: Vec<f64>,
    /// Events by the place of the multiplier.
    events: Vec<f64>,
    /// Scratch for the events expected without the multiplier at each place.
    expected: Vec<f64>,
}

impl Fit {
    /// `effects` is where the fit begins.
    fn new(strata: &[Stratum], effects: &Effects) -> Self {
        let mut starts = vec![0];
        for multipliers in &effects.multipliers {
            starts.push(starts[starts.len() - 1] + multipliers.len());
        }
        let multipliers: Vec<f64> = effects.multipliers.concat();
        let mut events = vec![0.0; multipliers.len()];
        let mut places = Vec::with_capacity(strata.len() * effects.multipliers.len());
        for one in strata {
            for (level, start) in one.levels.iter().zip(&starts) {
                places.push(start + level);
                events[start + level] += one.counted.with_event;
            }
        }
        Self {
            overall: effects.overall,
            expected: vec![0.0; multipliers.len()],
            multipliers,
            starts,
            places,
            evaluable: strata.iter().map(|one| one.counted.evaluable).collect(),
            events,
        }
    }

    /// The strata: the places of their multipliers, and what is expected of them.
    fn strata(&self) -> impl Iterator<Item = (&[usize], f64)> {
        let places = self.places.chunks_exact(self.starts.len() - 1);
        places.zip(&self.evaluable).map(|(places, evaluable)| {
            let product: f64 = places
                .iter()
                .map(|place| self.multipliers[*place])
                .product();
            (places, self.overall * product * evaluable)
        })
    }

    fn expected(&self) -> f64 {
        self.strata().map(|(_, expected)| expected).sum()
    }

    /// Sets the multipliers of one factor, given all others; returns the largest relative change.
    fn settle(&mut self, factor: usize, prior_events: f64) -> f64 {
        let mut without = std::mem::take(&mut self.expected);
        without.fill(0.0);
        for (places, expected) in self.strata() {
            let place = places[factor];
            // A multiplier of zero leaves no way to tell what the others expect: its level has no events.
            let own = self.multipliers[place];
            if own > 0.0 {
                without[place] += expected / own;
            }
        }
        let mut change = 0.0_f64;
        let range = self.starts[factor]..self.starts[factor + 1];
        for (place, without) in range.clone().zip(&without[range]) {
            let before = self.multipliers[place];
            let room = without + prior_events;
            if before > 0.0 && room > 0.0 {
                let now = (self.events[place] + prior_events) / room;
                change = change.max((now - before).abs() / now.max(before));
                self.multipliers[place] = now;
            }
        }
        self.expected = without;
        change
    }
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
}
