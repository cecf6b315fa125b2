//! The whole pack as the arguments of one aggregate.
//!
//! Each rule becomes one or more *slots*: a code per sample, and the values to follow along runs of
//! equal code. The code is a set of bits that only says what was true of a sample; what a sequence
//! of such samples means (hold, bridge, levels) is `judge`'s business. No SQL text is glued here
//! and no sample is touched.

use std::collections::BTreeSet;

use datafusion::arrow::datatypes::DataType;
use datafusion::common::{Column, DFSchema, ScalarValue};
use datafusion::error::DataFusionError;
use datafusion::functions::core::expr_fn::named_struct;
use datafusion::logical_expr::{Cast, Expr, ExprSchemable, and, cast, lit};

use crate::expression::{Expression, lower};
use crate::rule_file::{CheckedRule, Criterion, MeasureKind, Segment, Shape, limit_case};
use crate::runs::{CARRIED_PREFIX, CODE, VALUE_PREFIX};

/// Bits of an episode's code.
pub(crate) mod bit {
    /// In the window.
    pub(crate) const WINDOW: i8 = 1;
    /// Every required input is known.
    pub(crate) const KNOWN: i8 = 2;
    /// The condition holds.
    pub(crate) const ON: i8 = 4;
    /// The release holds.
    pub(crate) const OFF: i8 = 8;
    /// Whether in the window is unknown.
    pub(crate) const UNSURE: i8 = 16;
    /// The lever position is not between two samples.
    pub(crate) const CERTAIN: i8 = 32;
}

/// Codes of a gate's slot.
pub(crate) mod side {
    /// At or above the gate.
    pub(crate) const ABOVE: i8 = 1;
    /// Below the gate, at or above its end.
    pub(crate) const BELOW: i8 = 2;
    /// Below the end.
    pub(crate) const PAST: i8 = 3;
}

/// Bits of a criterion's slot.
pub(crate) mod check {
    /// In the segment and not far above the gate.
    pub(crate) const WINDOW: i8 = 1;
    /// Value and applicability are known.
    pub(crate) const KNOWN: i8 = 2;
    /// Applies and is outside its limits.
    pub(crate) const OUTSIDE: i8 = 4;
}

/// How far above the gate a criterion's samples are followed: room for the coverage around it.
const ABOVE_GATE: f64 = 500.0;

/// Where a rule finds its slots.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Places {
    Episode { slot: usize },
    Gate { slot: usize, criteria: Vec<usize> },
    Change { slot: usize },
    Outcome,
}

/// The pack, compiled.
pub(crate) struct Compiled {
    /// Arguments of the aggregate after `k`.
    pub(crate) slots: Vec<Expr>,
    /// One entry a rule, in the order of the pack.
    pub(crate) places: Vec<Places>,
}

/// Slot 0 counts every sample and places it in time: code = segment, value = time.
pub(crate) const FRAME_SLOT: usize = 0;

/// Carried with every extreme: where it was.
pub(crate) const CARRIED_PLACE: [&str; 2] = ["height_aal_ft", "distance_to_threshold_nm"];

/// Compiles a pack against the schema of the samples.
///
/// # Errors
/// An expression does not lower, which a checked pack should never meet.
pub(crate) fn compile(
    pack: &[CheckedRule],
    schema: &DFSchema,
) -> Result<Compiled, DataFusionError> {
    let mut compiler = Compiler {
        schema,
        slots: Vec::new(),
    };
    let frame = segment_code();
    compiler.slot(
        frame,
        vec![("time".to_owned(), column("time_s"))],
        Vec::new(),
    )?;
    let mut places = Vec::with_capacity(pack.len());
    for rule in pack {
        places.push(compiler.rule(rule)?);
    }
    Ok(Compiled {
        slots: compiler.slots,
        places,
    })
}

struct Compiler<'a> {
    schema: &'a DFSchema,
    slots: Vec<Expr>,
}

impl Compiler<'_> {
    fn rule(&mut self, rule: &CheckedRule) -> Result<Places, DataFusionError> {
        match &rule.shape {
            Shape::Episode {
                within,
                when,
                release,
                ..
            } => self.episode(rule, within, when, release.as_ref()),
            Shape::Gate {
                column,
                level,
                to,
                criteria,
            } => self.gate(rule, column, *level, *to, criteria),
            Shape::Change { of, .. } => self.change(rule, of),
            Shape::Outcome { .. } => Ok(Places::Outcome),
        }
    }

    fn episode(
        &mut self,
        rule: &CheckedRule,
        within: &Expression,
        when: &Expression,
        release: Option<&Expression>,
    ) -> Result<Places, DataFusionError> {
        let segment = in_segment(rule.segment);
        let window = and(segment, self.lower(rule, within)?);
        let on = self.lower(rule, when)?.is_true();
        let known = all_known(&rule.required_inputs());
        let off = match release {
            Some(release) => self.lower(rule, release)?.is_true(),
            None => and(on.clone().is_not_true(), known.clone()),
        };
        let mut inside =
            int8(1) + bits(known, bit::KNOWN) + bits(on, bit::ON) + bits(off, bit::OFF);
        if doubts_lever(rule) {
            let certain = column("flap_uncertain").eq(int8(1)).is_not_true();
            inside = inside + bits(certain, bit::CERTAIN);
        }
        let code =
            bits(window.clone().is_true(), 1) * inside + bits(window.is_unknown(), bit::UNSURE);
        let (values, carried) = self.measures(rule)?;
        Ok(Places::Episode {
            slot: self.slot(code, values, carried)?,
        })
    }

    fn gate(
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
            .map(|criterion| self.criterion(rule, near.clone(), criterion));
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
        self.slot(bits(near, 1) * inside, Vec::new(), Vec::new())
    }

    fn change(&mut self, rule: &CheckedRule, of: &str) -> Result<Places, DataFusionError> {
        let state = and(in_segment(rule.segment), column(of).is_not_null()).is_true();
        let code = bits(state, 1)
            * datafusion::functions::core::expr_fn::coalesce(vec![
                cast(column(of), DataType::Int8) + int8(1),
                int8(0),
            ]);
        let (mut values, _) = self.measures(rule)?;
        // What `at_worst` carries elsewhere is read at the change itself here.
        for (number, measure) in rule.measures.iter().enumerate() {
            if measure.kind == MeasureKind::AtWorst {
                values.push((
                    format!("carried{number}"),
                    float(self.lower(rule, &measure.expression)?),
                ));
            }
        }
        for (place, name) in CARRIED_PLACE.iter().enumerate() {
            values.push((format!("place{place}"), column(name)));
        }
        Ok(Places::Change {
            slot: self.slot(code, values, Vec::new())?,
        })
    }

    /// The values an episode follows, one per measure that is not carried, and what is carried at
    /// their extremes.
    #[allow(clippy::type_complexity)] // two lists of named expressions
    fn measures(
        &self,
        rule: &CheckedRule,
    ) -> Result<(Vec<(String, Expr)>, Vec<(String, Expr)>), DataFusionError> {
        let mut values = Vec::new();
        let mut carried: Vec<(String, Expr)> = CARRIED_PLACE
            .iter()
            .enumerate()
            .map(|(place, name)| (format!("place{place}"), column(name)))
            .collect();
        for (number, measure) in rule.measures.iter().enumerate() {
            let expr = self.lower(rule, &measure.expression)?;
            match measure.kind {
                MeasureKind::AtWorst => carried.push((format!("carried{number}"), expr)),
                _ => values.push((format!("measure{number}"), expr)),
            }
        }
        Ok((values, carried))
    }

    fn lower(&self, rule: &CheckedRule, expression: &Expression) -> Result<Expr, DataFusionError> {
        lower(expression, self.schema, &|name| limit_case(rule, name))
    }

    fn slot(
        &mut self,
        code: Expr,
        values: Vec<(String, Expr)>,
        carried: Vec<(String, Expr)>,
    ) -> Result<usize, DataFusionError> {
        let mut arguments = vec![lit(CODE), self.as_type(code, &DataType::Int8)?];
        for (prefix, list) in [(VALUE_PREFIX, values), (CARRIED_PREFIX, carried)] {
            for (name, expr) in list {
                arguments.push(lit(format!("{prefix}{name}")));
                arguments.push(self.as_type(expr, &DataType::Float32)?);
            }
        }
        self.slots.push(named_struct(arguments));
        Ok(self.slots.len() - 1)
    }

    fn as_type(&self, expr: Expr, data_type: &DataType) -> Result<Expr, DataFusionError> {
        if expr.get_type(self.schema)? == *data_type {
            return Ok(expr);
        }
        Ok(cast(expr, data_type.clone()))
    }
}

/// Whether the verdict can hang on a lever position that lay between two samples.
pub(crate) fn doubts_lever(rule: &CheckedRule) -> bool {
    const FROM_LEVER: [&str; 8] = [
        "flap_lever",
        "vfe_kt",
        "vfe_lever_kt",
        "vfe_next_kt",
        "flap_margin_kt",
        "min_manoeuvre_kt",
        "selection_window_kt",
        "flap_angle_deg",
    ];
    // What is only carried along decides nothing.
    rule.required_inputs()
        .iter()
        .any(|input| FROM_LEVER.contains(&input.as_str()))
}

fn column(name: &str) -> Expr {
    Expr::Column(Column::from_name(name))
}

/// A number of the samples' own width: wider ones would widen every sample.
#[allow(clippy::cast_possible_truncation)] // limits are far inside the range of f32
fn number(value: f64) -> Expr {
    Expr::Literal(ScalarValue::Float32(Some(value as f32)), None)
}

fn int8(value: i8) -> Expr {
    Expr::Literal(ScalarValue::Int8(Some(value)), None)
}

fn float(expr: Expr) -> Expr {
    cast(expr, DataType::Float32)
}

/// `weight` where the condition, which is never null, is true; else 0.
fn bits(condition: Expr, weight: i8) -> Expr {
    let bit = Expr::Cast(Cast::new(Box::new(condition), DataType::Int8));
    if weight == 1 { bit } else { bit * int8(weight) }
}

fn all_known(inputs: &BTreeSet<String>) -> Expr {
    inputs
        .iter()
        .map(|name| column(name).is_not_null())
        .reduce(and)
        .unwrap_or_else(|| lit(true))
}

fn in_segment(segment: Segment) -> Expr {
    column("segment").eq(lit(segment.name()))
}

/// Code of the frame: 1 approach, 2 roll, 3 missed.
fn segment_code() -> Expr {
    [Segment::Approach, Segment::Roll, Segment::Missed]
        .into_iter()
        .zip(1_i8..)
        .map(|(segment, code)| bits(in_segment(segment).is_true(), code))
        .reduce(|sum, term| sum + term)
        .unwrap_or_else(|| int8(0))
}
