//! `run.json`: what a review was made with, for whoever has only what is shared.

use std::collections::BTreeSet;

use rules::rule_file::{CheckedRule, Status};
use rules::stages::{Before, Collected, loaded_inputs};
use rules::summarise::Summary;

use super::Run;
use crate::failure::Failure;
use crate::report_input::Subject;

impl Run<'_> {
    /// The bytes of the file.
    pub(super) fn run_json(
        &self,
        subject: &Subject<'_>,
        month: Option<&str>,
        rows: &Collected,
        summary: &Summary,
    ) -> Result<Vec<u8>, Failure> {
        // By content alone: a file may be named after its flight.
        let inputs: BTreeSet<String> = loaded_inputs(&self.store).into_values().collect();
        let rules: Vec<_> = self
            .pack
            .iter()
            .map(|rule| {
                serde_json::json!({
                    "id": rule.id, "version": rule.version, "hash": rule.text_hash,
                    "status": status(rule), "family": rule.family, "topics": rule.topics,
                    "limits": rule.limits,
                    "overrides": rule.overrides.iter().map(|one| serde_json::json!({
                        "aircraft_type": one.aircraft_type, "airport": one.airport,
                        "runway": one.runway, "limits": one.limits, "why": one.why,
                    })).collect::<Vec<_>>(),
                })
            })
            .collect();
        let json = serde_json::json!({
            "program": { "name": "glidetally", "version": env!("CARGO_PKG_VERSION") },
            "run": subject.run_number,
            "month": month,
            "rules_hash": subject.rules_hash,
            "config_hash": subject.config_hash,
            "rules": rules,
            "thresholds": {
                "min_flights": subject.options.min_flights,
                "min_tail_days": subject.options.min_tail_days,
                "confidence": subject.options.confidence,
                "governing_gate_ft": subject.options.governing_gate_ft,
                "flags": subject.options.flags,
            },
            "restated_against": match subject.before {
                Before::Review { number, .. } => Some(number),
                Before::None | Before::Unreadable { .. } => None,
            },
            "against": self.against.as_ref().map(|before| serde_json::json!({
                "run": before.marks.run,
                "month": before.tables().latest_month(),
                "rules_hash": before.marks.rules_hash,
            })),
            "counts": {
                "flights": rows.flights.len(),
                "approaches": rows.approaches.len(),
                "measurements": rows.measured.len(),
                "events": rows.events.len(),
                "quarantined": rows.quarantine.len(),
                "rates": summary.rates.len(),
            },
            "inputs": inputs,
        });
        let mut bytes = serde_json::to_vec_pretty(&json).map_err(Failure::plain)?;
        bytes.push(b'\n');
        Ok(bytes)
    }
}

fn status(rule: &CheckedRule) -> &'static str {
    match rule.status {
        Status::Core => "core",
        Status::Trial => "trial",
    }
}
