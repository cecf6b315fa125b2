//! Invented counts for simulations: approaches flown day by day, some days bad for all that fly on them.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use stats::{Cluster, Counted};

/// The generator of one simulation; the seed is part of the check.
pub(crate) fn dice(seed: u64) -> ChaCha8Rng {
    ChaCha8Rng::seed_from_u64(seed)
}

/// Three days in a hundred are bad.
const BAD_DAYS: f64 = 0.03;

/// How approaches come: so many a day, with an event in this share of them.
#[derive(Clone, Copy)]
pub(crate) struct Days {
    pub(crate) approaches: u64,
    pub(crate) share: f64,
    /// Dispersion of the days: 1 + (approaches − 1)·ρ, ρ the correlation within a day.
    pub(crate) phi: f64,
}

impl Days {
    /// The same days at another rate.
    pub(crate) fn times(self, factor: f64) -> Self {
        Self {
            share: self.share * factor,
            ..self
        }
    }

    /// Flies `days` of them.
    ///
    /// Good and bad days have shares g and b with mean `share` and variance ρ·share·(1 − share).
    pub(crate) fn fly(self, days: u64, dice: &mut impl Rng) -> Vec<Cluster> {
        let rho = (self.phi - 1.0) / (self.approaches - 1) as f64;
        let variance = rho * self.share * (1.0 - self.share);
        let apart = (variance / (BAD_DAYS * (1.0 - BAD_DAYS))).sqrt();
        let good = self.share - apart * BAD_DAYS;
        let bad = good + apart;
        assert!(good >= 0.0 && bad <= 1.0, "no such days: {good}, {bad}");
        (0..days)
            .map(|_| {
                let share = if dice.random_bool(BAD_DAYS) {
                    bad
                } else {
                    good
                };
                let with_event = (0..self.approaches).filter(|_| dice.random_bool(share));
                Cluster {
                    evaluable: self.approaches,
                    with_event: with_event.count() as u64,
                }
            })
            .collect()
    }
}

/// Clusters taken together.
pub(crate) fn counted(clusters: &[Cluster]) -> Counted {
    let sum = |of: fn(&Cluster) -> u64| clusters.iter().map(of).sum::<u64>() as f64;
    Counted::new(sum(|c| c.with_event), sum(|c| c.evaluable))
}
