//! `rules show`: everything about one rule.

use rules::rule_file::{CheckedRule, RuleContext};

use super::super::Outcome;
use super::words;
use crate::arguments::{Global, OneRule};
use crate::context::{note_to_stderr, read_rules};
use crate::failure::Failure;
use crate::show::Sheet;

pub(super) fn show(global: &Global, command: &OneRule) -> Result<Outcome, Failure> {
    let catalogue = super::catalogue(global, command.fleet.as_deref())?;
    let pack = read_rules(&catalogue, &command.rules)?;
    let rule = one(&pack, &command.rule)?;
    let mut sheet = Sheet::new(&["what", "text"]);
    let mut line = |what: &str, text: String| sheet.row([what.to_owned(), text]);
    line("rule", rule.id.clone());
    line("title", rule.title.clone());
    line("family", rule.family.clone());
    line("version", rule.version.to_string());
    line("status", words::status(rule).to_owned());
    line("why", rule.why.clone());
    line("source", rule.source.clone());
    line("topics", rule.topics.join(", "));
    line("segment", rule.segment.name().to_owned());
    for (what, text) in words::asks(rule).into_iter().chain(words::limits(rule)) {
        line(&what, text);
    }
    line("denominator", words::denominator(rule));
    let context = RuleContext::of(&catalogue);
    let required = rule.required_inputs();
    for name in rule.inputs() {
        let need = if required.contains(&name) {
            "required"
        } else {
            "read where known"
        };
        line(
            &format!("reads {name}"),
            format!("{}, {need}", unit(&context, rule, &name)),
        );
    }
    let readers: Vec<&str> = pack
        .iter()
        .filter(|other| other.may_read().contains(&rule.id))
        .map(|other| other.id.as_str())
        .collect();
    line("read by", readers.join(", "));
    line("file", rule.path.clone());
    line("hash", rule.text_hash.chars().take(16).collect());
    sheet.print(global)?;
    for caution in report::CAUTIONS {
        note_to_stderr(global, caution)?;
    }
    Ok(Outcome::Clean)
}

/// A rule of the pack, or what it may have been meant to be.
pub(super) fn one<'p>(pack: &'p [CheckedRule], id: &str) -> Result<&'p CheckedRule, Failure> {
    if let Some(rule) = pack.iter().find(|rule| rule.id == id) {
        return Ok(rule);
    }
    let ids: Vec<&str> = pack.iter().map(|rule| rule.id.as_str()).collect();
    let near = rules::rule_file::nearest_name(id, ids.iter().copied());
    let hint = match near {
        Some(near) => format!("did you mean `{near}`?"),
        None if ids.len() > 12 => "`glidetally rules list` shows what there is".to_owned(),
        None => format!("the pack has {}", ids.join(", ")),
    };
    Err(Failure::text(format!("no rule `{id}` in the pack; {hint}")))
}

fn unit(context: &RuleContext, rule: &CheckedRule, name: &str) -> String {
    let columns = if matches!(rule.shape, rules::rule_file::Shape::Outcome { .. }) {
        &context.approach_columns
    } else {
        &context.columns
    };
    match columns.iter().find(|column| column.name == name) {
        Some(column) if column.text => "text".to_owned(),
        Some(column) if column.unit.is_empty() => "number".to_owned(),
        Some(column) => column.unit.clone(),
        None => "another rule".to_owned(),
    }
}
