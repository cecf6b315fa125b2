//! Of `measurements`: status, reason, limits and deciding measure by rule and approach.

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow::array::{Array, RecordBatch};
use rayon::prelude::*;

use ::records::rows::ApproachRow;

use super::names::Names;
use super::{Fold, Places, fold_rows, needed};
use crate::judge::is_out_of_scope;
use crate::rows::MeasurementRow;
use crate::store::{StoreError, numbers, texts, whole_numbers};

/// How a rule says it: `event`, `clear`, `not_evaluable`, or something else, such as `partial`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(in super::super) enum Said {
    /// The rule has not seen the approach.
    #[default]
    Nothing,
    Event,
    Clear,
    NotEvaluable,
    Other,
}

impl Said {
    fn of(status: &str) -> Self {
        match status {
            "event" => Self::Event,
            "clear" => Self::Clear,
            "not_evaluable" => Self::NotEvaluable,
            _ => Self::Other,
        }
    }

    /// Whether the rule could have fired, and it is known whether it did.
    pub(in super::super) fn is_evaluable(self) -> bool {
        matches!(self, Self::Event | Self::Clear)
    }
}

/// What one rule says of one approach.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(in super::super) struct Cell {
    pub(in super::super) said: Said,
    /// Why not, by its place in [`Measured::reasons`]; 0 without a reason.
    pub(in super::super) reason: u16,
    /// Version and limits, by their place in [`OfRule::eras`].
    pub(in super::super) era: u16,
}

/// From where on everything was right.
#[derive(Debug, Clone, Copy)]
struct Settled {
    /// The word for it, by its place in [`Measured::reasons`]; 0 without one.
    word: u16,
    /// NaN where it is not known.
    from: f64,
}

/// Everything one rule says, by the number of the approach.
#[derive(Debug, Clone, Default)]
pub(in super::super) struct OfRule {
    pub(in super::super) cells: Vec<Cell>,
    /// The deciding measure; NaN where it is not known.
    worst: Vec<f64>,
    /// Of gates.
    settled: Vec<Settled>,
    /// Version, and hash of the limits by its place in [`Measured::limits`].
    pub(in super::super) eras: Vec<(u32, usize)>,
}

impl OfRule {
    fn new(approaches: usize) -> Self {
        Self {
            cells: vec![Cell::default(); approaches],
            worst: vec![f64::NAN; approaches],
            ..Self::default()
        }
    }

    fn era(&mut self, version: u32, limits: usize) -> u16 {
        let era = (version, limits);
        let known = self.eras.iter().rposition(|known| *known == era);
        let place = known.unwrap_or_else(|| {
            self.eras.push(era);
            self.eras.len() - 1
        });
        u16::try_from(place).unwrap_or(u16::MAX)
    }

    /// The deciding measure of an approach, where it is known.
    pub(in super::super) fn worst(&self, approach: usize) -> Option<f64> {
        self.worst
            .get(approach)
            .copied()
            .filter(|worst| !worst.is_nan())
    }
}

/// What every rule says of every approach.
#[derive(Debug, Clone, Default)]
pub struct Measured {
    rules: Names,
    of: Vec<OfRule>,
    reasons: Names,
    limits: Names,
    rows: usize,
}

impl Measured {
    /// Folds rows that are in memory.
    ///
    /// # Errors
    /// Never for rows that were made here.
    pub fn of(approaches: &[ApproachRow], rows: &[MeasurementRow]) -> Result<Self, StoreError> {
        fold_rows(approaches, rows)
    }

    /// How many verdicts there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows == 0
    }

    /// Why line approaches in scope could not be judged: rule → reason → approaches. Where the situation did not
    /// occur that a rule is about, nothing is missing.
    #[must_use]
    pub fn reasons_of_missing(
        &self,
        approaches: &[ApproachRow],
    ) -> BTreeMap<&str, BTreeMap<&str, u64>> {
        let rules = self.rules();
        let counted: Vec<BTreeMap<&str, u64>> = rules
            .par_iter()
            .map(|(_, rule)| self.reasons_of_rule(approaches, rule))
            .collect();
        let names = rules.iter().map(|(name, _)| *name);
        let all = names.zip(counted);
        all.filter(|(_, counts)| !counts.is_empty()).collect()
    }

    fn reasons_of_rule(&self, approaches: &[ApproachRow], rule: &OfRule) -> BTreeMap<&str, u64> {
        let mut counts = BTreeMap::new();
        let rows = approaches.iter().zip(&rule.cells).enumerate();
        let unsaid = rows.filter(|(_, (row, cell))| row.is_line() && cell.said != Said::Event);
        for (place, (row, cell)) in unsaid {
            if let Some(reason) = self.reason(*cell)
                && !is_out_of_scope(row, reason, &|rule| self.reason_at(rule, place))
            {
                *counts.entry(reason).or_default() += 1;
            }
        }
        counts
    }

    /// The reason that a rule gives for the approach of this number.
    pub(in super::super) fn reason_at(&self, rule: &str, approach: usize) -> Option<&str> {
        let cell = self.rule(rule)?.cells.get(approach)?;
        self.reason(*cell)
    }

    /// Every rule that was met, in the order of their ids.
    pub(in super::super) fn rules(&self) -> Vec<(&str, &OfRule)> {
        let names = self.rules.texts().iter().map(String::as_str);
        let mut rules: Vec<(&str, &OfRule)> = names.zip(&self.of).collect();
        rules.sort_by_key(|(name, _)| *name);
        rules
    }

    /// What one rule says.
    pub(in super::super) fn rule(&self, rule: &str) -> Option<&OfRule> {
        self.of.get(self.rules.known(rule)?)
    }

    /// All reasons, by the numbers that cells have.
    pub(in super::super) fn reasons(&self) -> Arc<[String]> {
        self.reasons.texts().into()
    }

    /// The reason of a cell; none where it has none.
    pub(in super::super) fn reason(&self, cell: Cell) -> Option<&str> {
        let text = self.reasons.texts().get(usize::from(cell.reason));
        text.map(String::as_str).filter(|text| !text.is_empty())
    }

    /// The hash of limits of this number.
    pub(in super::super) fn limits(&self, number: usize) -> &str {
        self.limits.texts().get(number).map_or("", String::as_str)
    }

    /// From where on everything was right for a gate, and the word for it; none where the rule has not seen the
    /// approach.
    pub(in super::super) fn settled(
        &self,
        rule: &OfRule,
        approach: usize,
    ) -> Option<(Option<&str>, Option<f64>)> {
        rule.cells
            .get(approach)
            .filter(|cell| cell.said != Said::Nothing)?;
        let Some(settled) = rule.settled.get(approach) else {
            return Some((None, None));
        };
        let word = self.reasons.texts().get(usize::from(settled.word));
        let word = word.map(String::as_str).filter(|word| !word.is_empty());
        Some((word, Some(settled.from).filter(|from| !from.is_nan())))
    }
}

impl Fold for Measured {
    const TABLE: &'static str = "measurements";
    const COLUMNS: &'static [&'static str] = &[
        "approach_key",
        "rule",
        "rule_version",
        "status",
        "reason",
        "worst",
        "stabilised",
        "stabilised_from",
        "limits_hash",
    ];

    fn add(&mut self, batch: &RecordBatch, places: &Places<'_>) -> Result<(), String> {
        let keys = needed(whole_numbers(batch, "approach_key")?, "approach_key")?;
        let rules = needed(texts(batch, "rule")?, "rule")?;
        let versions = needed(whole_numbers(batch, "rule_version")?, "rule_version")?;
        let statuses = needed(texts(batch, "status")?, "status")?;
        let reasons = needed(texts(batch, "reason")?, "reason")?;
        let worst = needed(numbers(batch, "worst")?, "worst")?;
        let words = texts(batch, "stabilised")?;
        let from = numbers(batch, "stabilised_from")?;
        let limits = needed(texts(batch, "limits_hash")?, "limits_hash")?;

        // No reason, and no word, is number 0.
        self.reasons.number("");
        let rule_of: Vec<usize> = rules
            .distinct()
            .map(|rule| self.rule_number(rule, places))
            .collect();
        let said_of: Vec<Said> = statuses.distinct().map(Said::of).collect();
        let reason_of: Vec<u16> = reasons
            .distinct()
            .map(|text| self.reasons.small(text))
            .collect();
        let limits_of: Vec<usize> = limits
            .distinct()
            .map(|text| self.limits.number(text))
            .collect();
        let word_of: Vec<u16> = words
            .iter()
            .flat_map(|words| words.distinct().collect::<Vec<_>>())
            .map(|word| self.reasons.small(word))
            .collect();
        let mut last = None;
        for row in 0..batch.num_rows() {
            let key = keys.value(row);
            let place = match last {
                Some((known, place)) if known == key => place,
                _ => places.of_key(key),
            };
            last = Some((key, place));
            let (Some(place), Some(rule)) = (place, rules.number(row)) else {
                continue;
            };
            self.rows += 1;
            let rule = &mut self.of[rule_of[rule]];
            let version = u32::try_from(versions.value(row)).unwrap_or(u32::MAX);
            let era = rule.era(version, limits.number(row).map_or(0, |at| limits_of[at]));
            rule.cells[place] = Cell {
                said: statuses.number(row).map_or(Said::Other, |at| said_of[at]),
                reason: reasons.number(row).map_or(0, |at| reason_of[at]),
                era,
            };
            rule.worst[place] = if worst.is_valid(row) {
                worst.value(row)
            } else {
                f64::NAN
            };
            let word = words.as_ref().and_then(|words| words.number(row));
            let from = from
                .as_ref()
                .filter(|from| from.is_valid(row))
                .map(|from| from.value(row));
            if word.is_some() || from.is_some() {
                let none = Settled {
                    word: 0,
                    from: f64::NAN,
                };
                rule.settled.resize(places.len(), none);
                rule.settled[place] = Settled {
                    word: word.map_or(0, |at| word_of[at]),
                    from: from.unwrap_or(f64::NAN),
                };
            }
        }
        Ok(())
    }
}

impl Measured {
    fn rule_number(&mut self, rule: &str, places: &Places<'_>) -> usize {
        let number = self.rules.number(rule);
        if number == self.of.len() {
            self.of.push(OfRule::new(places.len()));
        }
        number
    }
}
