//! `rules reference`: a pack as one page of Markdown.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use rules::rule_file::CheckedRule;

use super::super::Outcome;
use super::words;
use crate::arguments::{Global, Pack};
use crate::context::read_rules;
use crate::failure::Failure;
use crate::show::print;

pub(super) fn reference(global: &Global, command: &Pack) -> Result<Outcome, Failure> {
    let catalogue = super::catalogue(global, command.fleet.as_deref())?;
    let pack = read_rules(&catalogue, &command.folders)?;
    print(global, &page(&pack))?;
    Ok(Outcome::Clean)
}

/// Writing to a string cannot fail: `_` below.
fn page(pack: &[CheckedRule]) -> String {
    let mut text = String::from("# The rules of this pack\n\n");
    let core = pack
        .iter()
        .filter(|rule| words::status(rule) == "core")
        .count();
    let _ = writeln!(
        text,
        "{} rules: {core} core, {} on trial. Rules on trial are measured and shown, and never classed or \
         flagged. Written by `glidetally rules reference`; how rules are written is in [rules.md](rules.md).\n",
        pack.len(),
        pack.len() - core
    );
    text.push_str("## Cautions\n\n");
    for caution in report::CAUTIONS {
        let _ = writeln!(text, "- {caution}");
    }
    let mut families: BTreeMap<&str, Vec<&CheckedRule>> = BTreeMap::new();
    for rule in pack {
        families.entry(&rule.family).or_default().push(rule);
    }
    for family in rules::rule_file::FAMILIES {
        let Some(rules) = families.get(family) else {
            continue;
        };
        let _ = writeln!(
            text,
            "\n## {family}\n\n| rule | status | title |\n|---|---|---|"
        );
        for rule in rules {
            let _ = writeln!(
                text,
                "| [{0}](#{0}) | {1} | {2} |",
                rule.id,
                words::status(rule),
                rule.title
            );
        }
        for rule in rules {
            one(&mut text, rule);
        }
    }
    text
}

fn one(text: &mut String, rule: &CheckedRule) {
    let _ = writeln!(
        text,
        "\n### {}\n\n**{}.** {}\n\nSource: {}\n\nTopics: {}. Version {}, {}, read in the segment `{}`.\n",
        rule.id,
        rule.title,
        rule.why,
        rule.source,
        rule.topics.join(", "),
        rule.version,
        words::status(rule),
        rule.segment.name()
    );
    text.push_str("| | |\n|---|---|\n");
    let quoted = |what: &str| {
        [
            "held for",
            "breaks bridged",
            "unknown before",
            "followed from",
        ]
        .iter()
        .all(|plain| !what.starts_with(plain))
    };
    for (what, said) in words::asks(rule) {
        let said = said.replace('|', "\\|");
        let said = if quoted(&what) {
            format!("`{said}`")
        } else {
            said
        };
        let _ = writeln!(text, "| {what} | {said} |");
    }
    for (what, said) in words::limits(rule) {
        let _ = writeln!(text, "| {what} | {said} |");
    }
    let _ = writeln!(
        text,
        "| denominator | {} |",
        words::denominator(rule).replace('|', "\\|")
    );
}
