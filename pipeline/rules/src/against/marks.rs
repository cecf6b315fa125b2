//! What `run.json` tells of a review: which rules it judged by, and what it took for worth a flag.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde_json::Value;

/// Status of a rule that may be flagged.
const CORE: &str = "core";

/// A rule as a review had it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct RuleMark {
    /// Rule id.
    pub id: String,
    /// Version of its meaning.
    pub version: u32,
    /// Hash of all that can change its results, limits and overrides among it.
    pub hash: String,
    /// `core` or `trial`.
    pub status: String,
    /// Family it belongs to.
    pub family: String,
    /// Topics of training it is evidence for.
    pub topics: Vec<String>,
}

impl RuleMark {
    /// Whether it may be flagged, and counts in its family and topics.
    pub(super) fn is_core(&self) -> bool {
        self.status == CORE
    }
}

/// What decides a review besides its data.
#[derive(Debug, Clone, PartialEq)]
pub struct RunMarks {
    /// Version of the program.
    pub version: String,
    /// Number of the run in its store.
    pub run: u64,
    /// Hash of the rule pack.
    pub rules_hash: String,
    /// Its rules, by id.
    pub rules: BTreeMap<String, RuleMark>,
    /// Thresholds in force, by name, those of flags among them.
    pub settings: BTreeMap<String, Value>,
}

#[derive(Deserialize)]
struct Program {
    version: String,
}

#[derive(Deserialize)]
struct Thresholds {
    flags: BTreeMap<String, Value>,
    /// Named, so that a file without it is refused.
    governing_gate_ft: f64,
    min_flights: u64,
    #[serde(flatten)]
    others: BTreeMap<String, Value>,
}

#[derive(Deserialize)]
struct Raw {
    program: Program,
    run: u64,
    rules_hash: String,
    rules: Vec<RuleMark>,
    thresholds: Thresholds,
}

impl RunMarks {
    /// Reads the bytes of a `run.json`.
    ///
    /// # Errors
    /// In words: it is no JSON, or a key is missing or of another kind.
    pub fn read(bytes: &[u8]) -> Result<Self, String> {
        let raw: Raw = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
        let mut settings = raw.thresholds.others;
        settings.extend(raw.thresholds.flags);
        let gate_ft = Value::from(raw.thresholds.governing_gate_ft);
        settings.insert("governing_gate_ft".to_owned(), gate_ft);
        settings.insert("min_flights".to_owned(), raw.thresholds.min_flights.into());
        Ok(Self {
            version: raw.program.version,
            run: raw.run,
            rules_hash: raw.rules_hash,
            rules: raw
                .rules
                .into_iter()
                .map(|rule| (rule.id.clone(), rule))
                .collect(),
            settings,
        })
    }

    /// Names and values of the thresholds that another review had otherwise, then and now; none where one
    /// of the two has no such threshold.
    #[must_use]
    pub fn settings_since(&self, before: &Self) -> Vec<(String, Option<Value>, Option<Value>)> {
        let mut names: Vec<&String> = self.settings.keys().collect();
        names.extend(before.settings.keys());
        names.sort();
        names.dedup();
        let pair = |name: &String| {
            let (then, now) = (before.settings.get(name), self.settings.get(name));
            (then != now).then(|| (name.clone(), then.cloned(), now.cloned()))
        };
        names.into_iter().filter_map(pair).collect()
    }
}
