//! Whether a score needs a look, and why.

use super::{RuleScore, Score};

/// A rule whose recall or precision is below this needs a look.
pub const LEAST_SHARE: f64 = 0.97;

impl Score {
    /// What needs a look, in words; empty = nothing does.
    #[must_use]
    pub fn findings(&self) -> Vec<String> {
        let mut findings: Vec<String> = self.rules.iter().filter_map(RuleScore::finding).collect();
        for damage in self.damages.iter().flatten() {
            if damage.silent > 0 {
                findings.push(format!(
                    "damage `{}` passed in silence on {} of {} flights",
                    damage.kind, damage.silent, damage.flights
                ));
            }
            if damage.events_caused > 0 {
                findings.push(format!(
                    "damage `{}`: {} events that did not happen",
                    damage.kind, damage.events_caused
                ));
            }
        }
        findings
    }
}

impl RuleScore {
    fn finding(&self) -> Option<String> {
        if !self.in_review {
            return Some(format!("`{}` is not in the review at all", self.rule));
        }
        let low = |name: &str, share: Option<super::Share>| {
            let share = share.filter(|share| share.share < LEAST_SHARE)?;
            Some(format!("{name} {:.3}", share.share))
        };
        let low: Vec<String> = [
            low("recall", self.undamaged.recall),
            low("precision", self.undamaged.precision),
        ]
        .into_iter()
        .flatten()
        .collect();
        (!low.is_empty()).then(|| {
            format!(
                "`{}`: {}, below {LEAST_SHARE}",
                self.rule,
                low.join(" and ")
            )
        })
    }
}
