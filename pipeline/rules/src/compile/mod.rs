//! The whole pack as the arguments of one aggregate.
//!
//! Each rule becomes one or more *slots*: a code per sample, and the values to follow along runs of
//! equal code. The code is a set of bits that only says what was true of a sample; what a sequence
//! of such samples means (hold, bridge, levels) is `judge`'s business. No SQL text is glued here
//! and no sample is touched.

mod episode;
mod gate;
mod parts;
mod slots;

use datafusion::arrow::datatypes::DataType;
use datafusion::common::DFSchema;
use datafusion::error::DataFusionError;
use datafusion::functions::core::expr_fn::coalesce;
use datafusion::logical_expr::{Expr, cast};

use self::parts::{column, in_segment, int8};
use self::slots::{Coding, Slots};
use crate::conditions::{all_of, any_of};
use crate::expression::{Expression, lower};
use crate::rule_file::{CheckedRule, Segment, Shape, limit_case};
use crate::runs::{UNSURE_CODE, WINDOW_BIT};

/// Bits of every episode's code; [`Places`] names those that only some have.
pub(crate) mod bit {
    /// In the window.
    pub(crate) const WINDOW: i8 = super::WINDOW_BIT;
    /// Every required input is known.
    pub(crate) const KNOWN: i8 = 2;
    /// The condition holds.
    pub(crate) const ON: i8 = 4;
    /// Whether in the window is unknown.
    pub(crate) const UNSURE: i8 = super::UNSURE_CODE;
}

/// Codes of a gate's slot.
pub(crate) mod side {
    /// At or above the gate.
    pub(crate) const ABOVE: i8 = super::WINDOW_BIT;
    /// Below the gate, at or above its end.
    pub(crate) const BELOW: i8 = ABOVE + 2;
    /// Below the end.
    pub(crate) const PAST: i8 = BELOW + 4;
}

/// Bits of a criterion's slot.
pub(crate) mod check {
    /// In the segment and not far above the gate.
    pub(crate) const WINDOW: i8 = super::WINDOW_BIT;
    /// Value and applicability are known.
    pub(crate) const KNOWN: i8 = 2;
    /// Applies and is outside its limits.
    pub(crate) const OUTSIDE: i8 = 4;
}

/// How far above the gate a criterion's samples are followed: room for the coverage around it, and for the
/// height from which everything stayed true. Well managed approaches are settled by 2,000 ft (common
/// practice, no source): this reaches beyond.
const ABOVE_GATE: f64 = 2_000.0;

/// Where a rule finds its runs, and what it asked for in them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Places {
    Episode {
        slot: usize,
        /// End values of the measures that are the first or the last of something, in their order.
        ends: Vec<usize>,
        /// Bit set where the release holds; none without a release: what is known and not on is off.
        released: Option<i8>,
        /// Bit set where the lever position is not between two samples; none where that decides nothing.
        certain: Option<i8>,
    },
    Gate {
        slot: usize,
        /// End value of the gate's column.
        gate: usize,
        /// End values of [`CARRIED_PLACE`].
        place: [usize; 2],
        criteria: Vec<CriterionPlaces>,
    },
    Change {
        slot: usize,
        /// End values of the measures, in their order.
        measures: Vec<usize>,
        /// End values of [`CARRIED_PLACE`].
        place: [usize; 2],
    },
    Outcome,
}

/// Where a criterion finds its runs, and its values in those of the gate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct CriterionPlaces {
    /// End value of the gate's slot.
    pub(crate) value: usize,
    /// The same of whether it applies, where the rule says when.
    pub(crate) applies: Option<usize>,
    /// Its own runs, with the gate's column as end value 0.
    pub(crate) slot: usize,
}

/// The pack, compiled.
pub(crate) struct Compiled {
    /// Arguments of the aggregate after `k`.
    pub(crate) slots: Vec<Expr>,
    /// One entry a rule, in the order of the pack.
    pub(crate) places: Vec<Places>,
}

/// Slot 0 counts every sample and places it in time: its code tells the segment, its end value 0 the time.
pub(crate) const FRAME_SLOT: usize = 0;

/// Code of a segment in [`FRAME_SLOT`].
pub(crate) fn segment_code(segment: Segment) -> i8 {
    WINDOW_BIT
        + match segment {
            Segment::Approach => 0,
            Segment::Roll => 2,
            Segment::Missed => 4,
        }
}

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
        slots: Slots::new(schema),
    };
    let [approach, roll, missed] =
        [Segment::Approach, Segment::Roll, Segment::Missed].map(in_segment);
    let window = any_of(vec![approach, roll.clone(), missed.clone()]);
    let frame = compiler
        .slots
        .shared(Coding::flags(window, vec![roll, missed]));
    compiler.slots.end(frame, column("time_s"))?;
    let mut places = Vec::with_capacity(pack.len());
    for rule in pack {
        places.push(compiler.rule(rule)?);
    }
    Ok(Compiled {
        slots: compiler.slots.arguments(),
        places,
    })
}

struct Compiler<'a> {
    schema: &'a DFSchema,
    slots: Slots<'a>,
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

    fn change(&mut self, rule: &CheckedRule, of: &str) -> Result<Places, DataFusionError> {
        let state = all_of(vec![in_segment(rule.segment), column(of).is_not_null()]).is_true();
        let code = cast(state, DataType::Int8)
            * coalesce(vec![cast(column(of), DataType::Int8) + int8(1), int8(0)]);
        let slot = self.slots.shared(Coding::Code(code));
        let mut measures = Vec::with_capacity(rule.measures.len());
        for measure in &rule.measures {
            let value = self.lower(rule, &measure.expression)?;
            measures.push(self.slots.end(slot, value)?);
        }
        Ok(Places::Change {
            slot,
            measures,
            place: self.place(slot)?,
        })
    }

    /// Where it was, as end values of a slot.
    fn place(&mut self, slot: usize) -> Result<[usize; 2], DataFusionError> {
        let [height, distance] = CARRIED_PLACE.map(|name| self.slots.end(slot, column(name)));
        Ok([height?, distance?])
    }

    fn lower(&self, rule: &CheckedRule, expression: &Expression) -> Result<Expr, DataFusionError> {
        lower(expression, self.schema, &|name| limit_case(rule, name))
    }
}
