//! A proposal as `fleet.toml`, for the user to edit.

use std::collections::BTreeSet;

use super::{Confidence, Inspection, Kind, Proposal};

/// Maps from most required columns to fewest: the first that fits a file is used.
pub fn fleet_toml(inspection: &Inspection) -> String {
    let mut text = String::from(
        "# Proposed by `glidetally inspect`. Read every line against what is known of the recorder, correct\n\
         # it, and take the comments out. Lines that are comments are guesses: nothing reads them.\n",
    );
    let usable = |kind: &&Kind| kind.proposals.iter().any(|p| p.parameter == "time_s");
    let mut kinds: Vec<&Kind> = inspection.kinds.iter().filter(usable).collect();
    kinds.sort_by_key(|kind| std::cmp::Reverse(required(kind).len()));
    let mut known: Vec<BTreeSet<String>> = Vec::new();
    for kind in kinds {
        let columns = required(kind);
        // Of two maps of the same columns the first would always be taken.
        if known.contains(&columns) {
            continue;
        }
        map(kind, &mut text);
        known.push(columns);
    }
    text
}

fn required(kind: &Kind) -> BTreeSet<String> {
    let active = kind
        .proposals
        .iter()
        .filter(|p| p.confidence > Confidence::Guess);
    active
        .filter(|p| !p.keys.iter().any(|(key, _)| *key == "optional"))
        .map(|p| p.column.clone())
        .collect()
}

fn map(kind: &Kind, text: &mut String) {
    let file = kind
        .files
        .first()
        .and_then(|f| f.file_name())
        .unwrap_or_default()
        .to_string_lossy();
    text.push_str(&format!(
        "\n# Files: {}, such as {}\n[[map]]\n",
        kind.files.len(),
        plain(&file)
    ));
    let lines = |p: &Proposal| {
        let mut entry = format!("column = {}", toml::Value::String(p.column.clone()));
        for (key, value) in &p.keys {
            entry.push_str(&format!(", {key} = {value}"));
        }
        let reasons = plain(&p.reasons.join("; "));
        format!(
            "{} = {{ {entry} }} # {}: {reasons}\n",
            p.parameter,
            p.confidence.as_str()
        )
    };
    for proposal in kind
        .proposals
        .iter()
        .filter(|p| p.confidence > Confidence::Guess)
    {
        text.push_str(&lines(proposal));
    }
    for proposal in kind
        .proposals
        .iter()
        .filter(|p| p.confidence == Confidence::Guess)
    {
        text.push_str(&format!("# {}", plain(lines(proposal).trim_end())));
        text.push('\n');
    }
    for (column, why) in &kind.unmapped {
        text.push_str(&format!(
            "# not mapped: {}: {}\n",
            plain(column),
            plain(why)
        ));
    }
}

/// A comment ends with its line.
fn plain(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}
