//! The headline figures of a review, and their JSON.

use std::collections::BTreeMap;

use rules::headline::{Flights, Headline, HeadlineInput, headline};
use rules::stages::Summaries;
use rules::summarise::RuleNote;

use crate::failure::Failure;
use crate::report_input::{Subject, received};

pub(super) fn headlines(
    subject: &Subject<'_>,
    tables: &Summaries<'_>,
    rules: &BTreeMap<String, RuleNote>,
) -> Headline {
    let (received, used) = received(subject);
    headline(&HeadlineInput {
        tables,
        rules,
        options: subject.options,
        version: env!("CARGO_PKG_VERSION"),
        run: subject.run_number,
        flights: Flights {
            received,
            used,
            quarantined: received - used,
        },
        cautions: report::CAUTIONS,
    })
}

/// The bytes of `headline.json`; the same go to stdout, with the path of the report.
pub(super) fn as_json(headline: &Headline) -> Result<Vec<u8>, Failure> {
    let mut bytes = serde_json::to_vec_pretty(headline).map_err(Failure::plain)?;
    bytes.push(b'\n');
    Ok(bytes)
}
