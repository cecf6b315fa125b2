//! The months of one group under one subject: which may be used, and what each is compared with.

use stats::{Counted, Period};

use super::calendar::same_season;
use super::count::Tally;
use super::frame::Frame;
use super::scene::Scene;
use super::subject::Subject;

/// Fewest months that make a baseline.
pub(super) const FEWEST_MONTHS: usize = 6;
/// Months before the tested one that are its baseline.
const BASELINE_MONTHS: i32 = 12;
/// History from which on the same season of earlier years is the baseline.
const MONTHS_FOR_SEASON: i32 = 24;
/// Of a family, a rule with fewer approaches in scope says nothing about coverage.
const IN_SCOPE: i64 = 20;

/// Why a month or a series is not compared, in words.
pub(super) mod why {
    pub(in super::super) const TRIAL: &str = "on trial";
    pub(in super::super) const FEW_APPROACHES: &str = "too few approaches";
    pub(in super::super) const NOTHING: &str = "nothing evaluable";
    pub(in super::super) const FEW_MONTHS: &str = "too few months before";
    pub(in super::super) const VERSION: &str = "rule version changed";
    pub(in super::super) const LOW_COVERAGE: &str = "coverage too low";
    pub(in super::super) const COVERAGE_MOVED: &str = "coverage moved";
}

/// What a month is compared with.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Baseline {
    /// Months, by number.
    pub(super) months: Vec<usize>,
    /// Whether they are of the same season as the month.
    pub(super) season_controlled: bool,
}

/// One group under one subject.
pub(super) struct Months<'a> {
    pub(super) scene: &'a Scene<'a>,
    pub(super) subject: &'a Subject,
    /// Place of the group in the frame.
    pub(super) group: usize,
}

#[allow(clippy::cast_precision_loss)] // counts of approaches
impl<'a> Months<'a> {
    pub(super) fn frame(&self) -> &'a Frame<'a> {
        &self.scene.frame
    }

    pub(super) fn tally(&self, month: usize) -> &Tally {
        self.subject.grid.cell(self.group, month)
    }

    /// Counts of these months together, for events of at least `level`.
    pub(super) fn counted(&self, months: &[usize], level: usize) -> Counted {
        let sum = self.subject.grid.counts(self.group, months.iter().copied());
        Counted::new(sum.at_least[level] as f64, sum.evaluable as f64)
    }

    /// Months that may be used: shown, named, with something evaluable. What is shown of other months must
    /// not tell what is hidden of these.
    pub(super) fn usable(&self) -> Vec<usize> {
        (0..self.frame().months.len())
            .filter(|month| self.frame().is_known(*month))
            .filter(|month| self.tally(*month).evaluable > 0)
            .filter(|month| self.subject.is_shown(self.group, *month))
            .collect()
    }

    /// The baseline of a month.
    ///
    /// # Errors
    /// Why there is none, in words.
    pub(super) fn baseline(&self, month: usize) -> Result<Baseline, &'static str> {
        let Some(at) = self.frame().calendar[month] else {
            return Err(why::NOTHING);
        };
        let era = self.subject.era(self.group, month);
        let earlier: Vec<(usize, i32)> = self
            .usable()
            .into_iter()
            .filter_map(|other| Some((other, at - self.frame().calendar[other]?)))
            .filter(|(_, lag)| *lag > 0)
            .collect();
        let lags = |wanted: &dyn Fn(i32) -> bool| -> Vec<usize> {
            let found = earlier.iter().filter(|(_, lag)| wanted(*lag));
            found.map(|(month, _)| *month).collect()
        };
        let same_rules = |months: &[usize]| -> Vec<usize> {
            let same = months.iter().copied();
            same.filter(|other| self.subject.era(self.group, *other) == era)
                .collect()
        };
        let judged = |months: Vec<usize>| -> Vec<usize> {
            let held = months.into_iter();
            held.filter(|month| !self.is_poorly_covered(&[*month]))
                .collect()
        };
        let first = earlier.iter().map(|(_, lag)| *lag).max().unwrap_or(0);
        if first >= MONTHS_FOR_SEASON {
            let months = judged(same_rules(&lags(&same_season)));
            if months.len() >= FEWEST_MONTHS {
                return Ok(Baseline {
                    months,
                    season_controlled: true,
                });
            }
        }
        let recent = lags(&|lag| lag <= BASELINE_MONTHS);
        if recent.len() < FEWEST_MONTHS {
            return Err(why::FEW_MONTHS);
        }
        let same = same_rules(&recent);
        if same.len() < FEWEST_MONTHS {
            return Err(why::VERSION);
        }
        let months = judged(same);
        if months.len() < FEWEST_MONTHS {
            return Err(why::LOW_COVERAGE);
        }
        Ok(Baseline {
            months,
            season_controlled: false,
        })
    }

    /// Whether coverage allows to compare some months with others.
    ///
    /// # Errors
    /// Why not, in words.
    pub(super) fn coverage_allows(
        &self,
        months: &[usize],
        others: &[usize],
    ) -> Result<(), &'static str> {
        if self.is_poorly_covered(months) || self.is_poorly_covered(others) {
            return Err(why::LOW_COVERAGE);
        }
        let least = if self.subject.name.rule.is_some() {
            1
        } else {
            IN_SCOPE
        };
        let moved = self.subject.coverage.iter().any(|coverage| {
            let share = |months: &[usize]| {
                let (in_scope, judged) = coverage.sum(self.group, months.iter().copied());
                (in_scope >= least).then(|| judged as f64 / in_scope as f64)
            };
            match (share(months), share(others)) {
                (Some(one), Some(other)) => {
                    (one - other).abs() > self.scene.options.flags.max_coverage_move
                }
                _ => false,
            }
        });
        if moved {
            Err(why::COVERAGE_MOVED)
        } else {
            Ok(())
        }
    }

    /// Whether data are missing on too many of the approaches in scope.
    pub(super) fn is_poorly_covered(&self, months: &[usize]) -> bool {
        let sum = self.subject.grid.counts(self.group, months.iter().copied());
        sum.known_share()
            .is_some_and(|share| share < self.scene.options.flags.min_coverage)
    }

    /// Months as the statistics take them.
    pub(super) fn periods(&self, months: &[usize], level: usize) -> Vec<Period> {
        let periods = months.iter().filter_map(|month| {
            Some(Period {
                index: self.frame().calendar[*month]?,
                counted: self.counted(&[*month], level),
            })
        });
        periods.collect()
    }

    /// Approaches with an event to expect in `months` at the rate of `others`, for the mix of `months`;
    /// none where no mix is known.
    pub(super) fn expected(&self, months: &[usize], others: &[usize], level: usize) -> Option<f64> {
        let mix = self.subject.mix[level].as_ref()?;
        let weight = |months: &[usize]| mix.weight(self.group, months.iter().copied());
        let per_weight = self.counted(others, level).with_event / weight(others);
        let expected = per_weight * weight(months);
        expected.is_finite().then_some(expected)
    }
}
