//! Episodes: one slot a rule, with its measures followed and what they carry.

use datafusion::error::DataFusionError;
use datafusion::logical_expr::Expr;

use super::parts::{all_known, column, in_segment, int8};
use super::slots::Coding;
use super::{CARRIED_PLACE, Compiler, Places};
use crate::conditions::all_of;
use crate::expression::Expression;
use crate::rule_file::{CheckedRule, MeasureKind};
use crate::runs::flag_bit;

impl Compiler<'_> {
    pub(super) fn episode(
        &mut self,
        rule: &CheckedRule,
        within: &Expression,
        when: &Expression,
        release: Option<&Expression>,
    ) -> Result<Places, DataFusionError> {
        let window = all_of(vec![in_segment(rule.segment), self.lower(rule, within)?]);
        let mut flags = vec![all_known(&rule.required_inputs()), self.lower(rule, when)?];
        let mut further = |flag: Expr| {
            flags.push(flag);
            flag_bit(flags.len() - 1)
        };
        let released = match release {
            Some(release) => Some(further(self.lower(rule, release)?)),
            None => None,
        };
        let certain =
            doubts_lever(rule).then(|| further(column("flap_uncertain").eq(int8(1)).is_not_true()));
        let (mut values, mut ends) = (Vec::new(), Vec::new());
        let mut carried: Vec<_> = CARRIED_PLACE.into_iter().map(column).collect();
        for measure in &rule.measures {
            let value = self.lower(rule, &measure.expression)?;
            match measure.kind {
                MeasureKind::AtWorst => carried.push(value),
                MeasureKind::First | MeasureKind::Last => ends.push(value),
                MeasureKind::Min | MeasureKind::Max => values.push(value),
            }
        }
        let slot = self
            .slots
            .own(Coding::flags(window, flags), values, carried)?;
        let ends = ends.into_iter().map(|value| self.slots.end(slot, value));
        let ends = ends.collect::<Result<_, _>>()?;
        Ok(Places::Episode {
            slot,
            ends,
            released,
            certain,
        })
    }
}

/// Whether the verdict can hang on a lever position that lay between two samples.
fn doubts_lever(rule: &CheckedRule) -> bool {
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
