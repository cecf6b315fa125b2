//! Gates: one slot for the crossing with the values at it, and one for each criterion.

use datafusion::error::DataFusionError;
use datafusion::logical_expr::{Expr, and, lit};

use super::parts::{bits, column, float, in_segment, int8, number};
use super::{ABOVE_GATE, CARRIED_PLACE, Compiler, Places, check, side};
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
        let at_or_above = column(gate).gt_eq(number(level));
        let below = column(gate).lt(number(level));
        let mut code = bits(and(inside.clone(), at_or_above).is_true(), side::ABOVE)
            + bits(and(inside.clone(), below).is_true(), side::BELOW);
        if let Some(to) = to {
            let past = column(gate).lt(number(to));
            code = code
                + bits(
                    and(inside.clone(), past).is_true(),
                    side::PAST - side::BELOW,
                );
        }
        let mut values = vec![("gate".to_owned(), column(gate))];
        for (place, name) in CARRIED_PLACE.iter().enumerate() {
            values.push((format!("place{place}"), column(name)));
        }
        for (number, criterion) in criteria.iter().enumerate() {
            values.push((
                format!("criterion{number}"),
                self.lower(rule, &criterion.value)?,
            ));
            if let Some(applies) = &criterion.applies {
                let applies = float(self.lower(rule, applies)?);
                values.push((format!("applies{number}"), applies));
            }
        }
        let slot = self.slot(code, values, Vec::new())?;
        let near = and(inside, column(gate).lt(number(level + ABOVE_GATE))).is_true();
        let slots = criteria
            .iter()
            .map(|criterion| self.criterion(rule, near.clone(), gate, criterion));
        let slots = slots.collect::<Result<_, _>>()?;
        Ok(Places::Gate {
            slot,
            criteria: slots,
        })
    }

    fn criterion(
        &mut self,
        rule: &CheckedRule,
        near: Expr,
        gate: &str,
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
        let outside = outside.unwrap_or_else(|| lit(false)).is_true();
        let (known, outside) = match &criterion.applies {
            // Not applicable is known, whatever the value.
            Some(applies) => {
                let applies = self.lower(rule, applies)?;
                let known = applies
                    .clone()
                    .is_false()
                    .or(and(applies.clone().is_true(), value.is_not_null()));
                (known, and(applies.is_true(), outside))
            }
            None => (value.is_not_null(), outside),
        };
        let inside =
            int8(check::WINDOW) + bits(known, check::KNOWN) + bits(outside, check::OUTSIDE);
        let place = vec![("gate".to_owned(), column(gate))];
        self.slot(bits(near, 1) * inside, place, Vec::new())
    }
}
