//! The whole pack as the arguments of one aggregate.
//!
//! Each rule becomes one or more *slots*: a code per sample, and the values to follow along runs of
//! equal code. The code is a set of bits that only says what was true of a sample; what a sequence
//! of such samples means (hold, bridge, levels) is `judge`'s business. No SQL text is glued here
//! and no sample is touched.

mod gate;
mod parts;

use datafusion::arrow::datatypes::DataType;
use datafusion::common::DFSchema;
use datafusion::error::DataFusionError;
use datafusion::functions::core::expr_fn::{coalesce, named_struct};
use datafusion::logical_expr::{Expr, ExprSchemable, and, cast, lit};

use self::parts::{all_known, bits, column, float, in_segment, int8, segment_code};
use crate::expression::{Expression, lower};
use crate::rule_file::{CheckedRule, MeasureKind, Shape, limit_case};
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

/// How far above the gate a criterion's samples are followed: room for the coverage around it, and for the
/// height from which everything stayed true. Well managed approaches are settled by 2,000 ft (common
/// practice, no source): this reaches beyond.
const ABOVE_GATE: f64 = 2_000.0;

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
                ..
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

    fn change(&mut self, rule: &CheckedRule, of: &str) -> Result<Places, DataFusionError> {
        let state = and(in_segment(rule.segment), column(of).is_not_null()).is_true();
        let code =
            bits(state, 1) * coalesce(vec![cast(column(of), DataType::Int8) + int8(1), int8(0)]);
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
