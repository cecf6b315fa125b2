//! Conditional denominators: a rule that counts only the approaches on which another one fired.

use std::collections::BTreeMap;

use crate::judge::{Evaluable, Judged};

/// What the other rule says, by approach key; an approach it did not judge is unknown.
pub(crate) struct Among {
    id: String,
    verdicts: BTreeMap<i64, Option<bool>>,
}

impl Among {
    pub(crate) fn new(
        id: &str,
        keys: impl Iterator<Item = i64>,
        verdicts: &[Option<bool>],
    ) -> Self {
        Self {
            id: id.to_owned(),
            verdicts: keys.zip(verdicts.iter().copied()).collect(),
        }
    }

    fn verdict(&self, key: i64) -> Option<bool> {
        self.verdicts.get(&key).copied().flatten()
    }

    /// Why an approach is not in the denominator, if it is not.
    pub(super) fn why_not(&self, key: i64) -> Option<String> {
        match self.verdict(key) {
            Some(true) => None,
            Some(false) => Some(format!("no event of {}", self.id)),
            None => Some(format!("not evaluable: {}", self.id)),
        }
    }

    /// Takes an approach out of the denominator where the other rule did not fire. Where nobody knows
    /// whether it did, what was seen stays, as partial.
    pub(super) fn apply(&self, key: i64, judged: &mut Judged) {
        if let Some(reason) = self.why_not(key) {
            if self.verdict(key) == Some(false) {
                judged.found.clear();
            }
            judged.evaluable = Evaluable::No(reason);
        }
    }
}
