//! The arguments of the aggregate while they are put together.
//!
//! Rules that cut an approach into the same runs share a slot: the crossing of a gate and what a criterion makes
//! of it are asked once, whatever the number of rules that read it.

use datafusion::arrow::datatypes::DataType;
use datafusion::common::DFSchema;
use datafusion::error::DataFusionError;
use datafusion::functions::core::expr_fn::named_struct;
use datafusion::logical_expr::{Expr, ExprSchemable, cast, lit};

use crate::runs::{CARRIED_PREFIX, CODE, END_PREFIX, FLAG_PREFIX, VALUE_PREFIX, WINDOW, is_end};

/// What cuts an approach into runs.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Coding {
    /// An Int8.
    Code(Expr),
    /// Conditions; null counts as false, but for the window, where it is a code of its own.
    Flags { window: Expr, flags: Vec<Expr> },
}

impl Coding {
    pub(super) fn flags(window: Expr, flags: Vec<Expr>) -> Self {
        Self::Flags { window, flags }
    }
}

struct Slot {
    coding: Coding,
    values: Vec<Expr>,
    ends: Vec<Expr>,
    carried: Vec<Expr>,
}

/// Slots in the order in which they were asked for.
pub(super) struct Slots<'a> {
    schema: &'a DFSchema,
    slots: Vec<Slot>,
}

impl<'a> Slots<'a> {
    pub(super) fn new(schema: &'a DFSchema) -> Self {
        Self {
            schema,
            slots: Vec::new(),
        }
    }

    /// A slot that follows no values along its runs, shared by all that cut in the same way.
    pub(super) fn shared(&mut self, coding: Coding) -> usize {
        let same = |slot: &Slot| slot.values.is_empty() && slot.coding == coding;
        if let Some(at) = self.slots.iter().position(same) {
            return at;
        }
        self.push(coding, Vec::new(), Vec::new())
    }

    /// A slot that follows `values`, and at their extremes carries `carried`.
    pub(super) fn own(
        &mut self,
        coding: Coding,
        values: Vec<Expr>,
        carried: Vec<Expr>,
    ) -> Result<usize, DataFusionError> {
        if values.is_empty() {
            return Ok(self.shared(coding));
        }
        let numbers = |list: Vec<Expr>| {
            let list = list.into_iter().map(|expr| self.number(expr));
            list.collect::<Result<Vec<_>, _>>()
        };
        let (values, carried) = (numbers(values)?, numbers(carried)?);
        Ok(self.push(coding, values, carried))
    }

    /// Keeps a value at the ends of the runs of a slot, and says where.
    pub(super) fn end(&mut self, slot: usize, value: Expr) -> Result<usize, DataFusionError> {
        let value = match is_end(&value.get_type(self.schema)?) {
            true => value,
            false => cast(value, DataType::Float32),
        };
        let ends = &mut self.slots[slot].ends;
        if let Some(at) = ends.iter().position(|end| *end == value) {
            return Ok(at);
        }
        ends.push(value);
        Ok(ends.len() - 1)
    }

    /// One struct a slot, as the aggregate takes it.
    pub(super) fn arguments(self) -> Vec<Expr> {
        self.slots.into_iter().map(Slot::argument).collect()
    }

    fn push(&mut self, coding: Coding, values: Vec<Expr>, carried: Vec<Expr>) -> usize {
        self.slots.push(Slot {
            coding,
            values,
            ends: Vec::new(),
            carried,
        });
        self.slots.len() - 1
    }

    fn number(&self, expr: Expr) -> Result<Expr, DataFusionError> {
        if expr.get_type(self.schema)? == DataType::Float32 {
            return Ok(expr);
        }
        Ok(cast(expr, DataType::Float32))
    }
}

impl Slot {
    fn argument(self) -> Expr {
        let mut fields = match self.coding {
            Coding::Code(code) => vec![lit(CODE), code],
            Coding::Flags { window, flags } => {
                let mut fields = vec![lit(WINDOW), window];
                for (number, flag) in flags.into_iter().enumerate() {
                    fields.extend([lit(format!("{FLAG_PREFIX}{number}")), flag]);
                }
                fields
            }
        };
        let lists = [
            (VALUE_PREFIX, self.values),
            (END_PREFIX, self.ends),
            (CARRIED_PREFIX, self.carried),
        ];
        for (prefix, list) in lists {
            for (number, expr) in list.into_iter().enumerate() {
                fields.extend([lit(format!("{prefix}{number}")), expr]);
            }
        }
        named_struct(fields)
    }
}
