//! Gates: one slot for the crossing with the values at it, and one for each criterion.

use datafusion::error::DataFusionError;
use datafusion::logical_expr::{Expr, and, lit};

use super::parts::{column, in_segment, number};
use super::slots::Coding;
use super::{ABOVE_GATE, Compiler, CriterionPlaces, Places};
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
        let seen = and(inside.clone(), column(gate).is_not_null());
        let below = [Some(level), to].into_iter().flatten();
        let below = below.map(|height| column(gate).lt(number(height)));
        let slot = self.slots.shared(Coding::flags(seen, below.collect()));
        let gate_at = self.slots.end(slot, column(gate))?;
        let place = self.place(slot)?;
        let near = and(inside, column(gate).lt(number(level + ABOVE_GATE)));
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

    fn criterion(
        &mut self,
        rule: &CheckedRule,
        near: Expr,
        criterion: &Criterion,
    ) -> Result<usize, DataFusionError> {
        let value = self.lower(rule, &criterion.value)?;
        let mut outside: Option<Expr> = None;
        for (bound, upper) in [(&criterion.lower, false), (&criterion.upper, true)] {
            if let Some(bound) = bound {
                let bound = self.lower(rule, bound)?;
                let beyond = if upper {
                    value.clone().gt(bound)
                } else {
                    value.clone().lt(bound)
                };
                outside = Some(match outside {
                    Some(outside) => outside.or(beyond),
                    None => beyond,
                });
            }
        }
        let outside = outside.unwrap_or_else(|| lit(false));
        let (known, outside) = match &criterion.applies {
            // Not applicable is known, whatever the value.
            Some(applies) => {
                let applies = self.lower(rule, applies)?;
                let known = applies
                    .clone()
                    .is_false()
                    .or(and(applies.clone(), value.is_not_null()));
                (known, and(applies, outside))
            }
            None => (value.is_not_null(), outside),
        };
        Ok(self.slots.shared(Coding::flags(near, vec![known, outside])))
    }
}
