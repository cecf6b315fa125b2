//! Gates: one slot for the crossing with the values at it, and one for each criterion.

use datafusion::error::DataFusionError;
use datafusion::logical_expr::Expr;

use super::parts::{column, in_segment, number};
use super::slots::Coding;
use super::{ABOVE_GATE, Compiler, CriterionPlaces, Places};
use crate::conditions::{Comparison, all_of, any_of, compare};
use crate::rule_file::{CheckedRule, Criterion};

impl Compiler<'_> {
    pub(super) fn gate(
        &mut self,
        rule: &CheckedRule,
        gate: &str,
        level: f64,
        to: Option<f64>,
        criteria: &[Criterion],
    ) -> Result<Places, DataFusionError> {
        let inside = in_segment(rule.segment);
        let seen = all_of(vec![inside.clone(), column(gate).is_not_null()]);
        let heights = [Some(level), to].into_iter().flatten();
        let below: Result<Vec<Expr>, _> = heights.map(|height| self.below(gate, height)).collect();
        let slot = self.slots.shared(Coding::flags(seen, below?));
        let gate_at = self.slots.end(slot, column(gate))?;
        let place = self.place(slot)?;
        let near = all_of(vec![inside, self.below(gate, level + ABOVE_GATE)?]);
        let mut places = Vec::with_capacity(criteria.len());
        for criterion in criteria {
            let value = self.lower(rule, &criterion.value)?;
            let value = self.slots.end(slot, value)?;
            let applies = match &criterion.applies {
                Some(applies) => {
                    let applies = self.lower(rule, applies)?;
                    Some(self.slots.end(slot, applies)?)
                }
                None => None,
            };
            let watched = self.criterion(rule, near.clone(), criterion)?;
            self.slots.end(watched, column(gate))?;
            places.push(CriterionPlaces {
                value,
                applies,
                slot: watched,
            });
        }
        Ok(Places::Gate {
            slot,
            gate: gate_at,
            place,
            criteria: places,
        })
    }

    fn below(&self, gate: &str, height: f64) -> Result<Expr, DataFusionError> {
        compare(Comparison::Less, column(gate), number(height), self.schema)
    }

    fn criterion(
        &mut self,
        rule: &CheckedRule,
        near: Expr,
        criterion: &Criterion,
    ) -> Result<usize, DataFusionError> {
        let value = self.lower(rule, &criterion.value)?;
        let mut beyond = Vec::new();
        let bounds = [
            (&criterion.lower, Comparison::Less),
            (&criterion.upper, Comparison::Greater),
        ];
        for (bound, comparison) in bounds {
            if let Some(bound) = bound {
                let bound = self.lower(rule, bound)?;
                beyond.push(compare(comparison, value.clone(), bound, self.schema)?);
            }
        }
        let outside = any_of(beyond);
        let (known, outside) = match &criterion.applies {
            // Not applicable is known, whatever the value.
            Some(applies) => {
                let applies = self.lower(rule, applies)?;
                let known = any_of(vec![
                    applies.clone().is_false(),
                    all_of(vec![applies.clone(), value.is_not_null()]),
                ]);
                (known, all_of(vec![applies, outside]))
            }
            None => (value.is_not_null(), outside),
        };
        Ok(self.slots.shared(Coding::flags(near, vec![known, outside])))
    }
}
