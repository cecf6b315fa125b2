//! Of `gates`: how every approach met every criterion.

use std::collections::{BTreeMap, BTreeSet};

use arrow::array::{Array, RecordBatch};

use super::names::Names;
use super::places::Rows;
use super::{Fold, Places, needed};
use crate::store::{flags, numbers, texts, whole_numbers};

/// How one approach met one criterion.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(in super::super) enum Met {
    /// It does not apply, or nobody knows.
    #[default]
    NotKnown,
    Failed,
    Passed,
    /// Passed at the gate and left again below it.
    LeftLater,
}

impl Met {
    fn of(applies: Option<bool>, passed: Option<bool>, held: Option<bool>) -> Self {
        match (applies, passed) {
            (Some(true), Some(false)) => Self::Failed,
            (Some(true), Some(true)) if held == Some(false) => Self::LeftLater,
            (Some(true), Some(true)) => Self::Passed,
            _ => Self::NotKnown,
        }
    }
}

/// Which of two rows comes first in the order of the table: number of the approach, and of the row among those
/// of its file.
type Order = (usize, usize);

/// One criterion of a gate.
#[derive(Debug, Clone, Default)]
pub(in super::super) struct Criterion {
    pub(in super::super) name: String,
    /// By the number of the approach; of line flights only.
    pub(in super::super) met: Vec<Met>,
    /// Its first row of a line flight.
    first: Option<Order>,
}

/// One gate.
#[derive(Debug, Clone, Default)]
struct Gate {
    criteria: Vec<Criterion>,
    /// Height of the first row of a line flight that has one.
    gate_ft: Option<(Order, f64)>,
    /// At which heights which criteria stand, whoever flies: bits of the height, number of the criterion.
    heights: BTreeSet<(u64, usize)>,
}

/// How every approach met every criterion.
#[derive(Debug, Clone, Default)]
pub struct Gates {
    rules: Names,
    of: Vec<Gate>,
    rows: usize,
}

impl Gates {
    /// Every gate with a row of a line flight, in the order of the rule ids: its height, and its criteria in the
    /// order of the rule file.
    pub(in super::super) fn by_rule(&self) -> Vec<(&str, Option<f64>, Vec<&Criterion>)> {
        let names = self.rules.texts().iter().map(String::as_str);
        let mut rules: Vec<(&str, Option<f64>, Vec<&Criterion>)> = names
            .zip(&self.of)
            .map(|(name, gate)| {
                let met = gate.criteria.iter().filter(|one| one.first.is_some());
                let mut criteria: Vec<&Criterion> = met.collect();
                criteria.sort_by_key(|one| one.first);
                (name, gate.gate_ft.map(|(_, height)| height), criteria)
            })
            .filter(|(_, _, criteria)| !criteria.is_empty())
            .collect();
        rules.sort_by_key(|(name, ..)| *name);
        rules
    }

    /// The rule whose gate stands at a height. Of several the one with the most criteria, which says most of what
    /// being stable asks for; of these the first by name.
    #[must_use]
    pub fn rule_at(&self, height_ft: f64) -> Option<String> {
        let mut criteria: BTreeMap<&str, usize> = BTreeMap::new();
        for (rule, gate) in self.rules.texts().iter().zip(&self.of) {
            let there = gate.heights.iter();
            let there = there.filter(|(height, _)| f64::from_bits(*height) == height_ft);
            criteria.insert(rule, there.count());
        }
        let mut best: Option<(&str, usize)> = None;
        for (rule, criteria) in criteria.into_iter().filter(|(_, criteria)| *criteria > 0) {
            if best.is_none_or(|(_, most)| criteria > most) {
                best = Some((rule, criteria));
            }
        }
        best.map(|(rule, _)| rule.to_owned())
    }
}

impl Fold for Gates {
    const TABLE: &'static str = "gates";
    const COLUMNS: &'static [&'static str] = &[
        "flight_id",
        "approach_no",
        "rule",
        "gate_ft",
        "criterion",
        "applies",
        "passed",
        "held_to_50ft",
    ];

    fn add(&mut self, batch: &RecordBatch, places: &Places<'_>) -> Result<(), String> {
        let flights = needed(texts(batch, "flight_id")?, "flight_id")?;
        let approaches = needed(whole_numbers(batch, "approach_no")?, "approach_no")?;
        let rules = needed(texts(batch, "rule")?, "rule")?;
        let heights = needed(numbers(batch, "gate_ft")?, "gate_ft")?;
        let criteria = needed(texts(batch, "criterion")?, "criterion")?;
        let applies = needed(flags(batch, "applies")?, "applies")?;
        let passed = needed(flags(batch, "passed")?, "passed")?;
        let held = needed(flags(batch, "held_to_50ft")?, "held_to_50ft")?;

        let rule_of: Vec<usize> = rules
            .distinct()
            .map(|rule| self.rule_number(rule))
            .collect();
        // By rule and distinct text: number of the criterion of the rule.
        let mut known: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        let mut rows = Rows::new(places, &flights, &approaches);
        for row in 0..batch.num_rows() {
            self.rows += 1;
            let Some(place) = rows.place(row) else {
                continue;
            };
            let (Some(rule), Some(criterion)) = (rules.number(row), criteria.number(row)) else {
                continue;
            };
            let gate = &mut self.of[rule_of[rule]];
            let number = *known
                .entry((rule, criterion))
                .or_insert_with(|| gate.number(criteria.text(row).unwrap_or_default()));
            let height = heights.is_valid(row).then(|| heights.value(row));
            if let Some(height) = height {
                gate.heights.insert((height.to_bits(), number));
            }
            if !places.is_line(place) {
                continue;
            }
            let order = (place, self.rows);
            if let Some(height) = height
                && gate.gate_ft.is_none_or(|(first, _)| order < first)
            {
                gate.gate_ft = Some((order, height));
            }
            let flag = |of: &arrow::array::BooleanArray| of.is_valid(row).then(|| of.value(row));
            let criterion = &mut gate.criteria[number];
            criterion.first = Some(criterion.first.map_or(order, |first| first.min(order)));
            criterion.met.resize(places.len(), Met::NotKnown);
            let met = Met::of(flag(&applies), flag(&passed), flag(&held));
            if met != Met::NotKnown {
                criterion.met[place] = met;
            }
        }
        Ok(())
    }
}

impl Gates {
    fn rule_number(&mut self, rule: &str) -> usize {
        let number = self.rules.number(rule);
        if number == self.of.len() {
            self.of.push(Gate::default());
        }
        number
    }
}

impl Gate {
    fn number(&mut self, criterion: &str) -> usize {
        let known = self.criteria.iter().position(|one| one.name == criterion);
        known.unwrap_or_else(|| {
            self.criteria.push(Criterion {
                name: criterion.to_owned(),
                ..Criterion::default()
            });
            self.criteria.len() - 1
        })
    }
}
