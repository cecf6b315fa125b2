//! `rules diff`: two packs over one store.

use records::samples;
use rules::stages::restricted_folder;
use rules::what_if::{PackChange, compare_packs};

use super::super::{Outcome, access};
use crate::arguments::{DiffCommand, Global};
use crate::context::{engine, folders_of, note_to_stderr, read_rules};
use crate::failure::Failure;
use crate::progress::bar;
use crate::show::{Sections, Sheet};

pub(super) fn diff(global: &Global, command: &DiffCommand) -> Result<Outcome, Failure> {
    let (fleet, store) = super::stored::open(global, &command.stored)?;
    let before = read_rules(&fleet.catalogue, &folders_of(&fleet, &command.before))?;
    let after = read_rules(&fleet.catalogue, &command.after)?;
    let engine = engine(global)?;
    let progress = bar(global, "judging", "store files");
    let change = compare_packs(
        &engine,
        (&before, &after),
        &samples::schema(&fleet.catalogue),
        &store,
        &|done, all| {
            progress.set_length(all as u64);
            progress.set_position(done as u64);
        },
    );
    progress.finish_and_clear();
    let change = change.map_err(Failure::plain)?;
    if !change.verdicts.is_empty() {
        // Noted before anything is shown: what cannot be noted is not shown.
        let restricted = restricted_folder(&command.stored.out).map_err(Failure::plain)?;
        let many = format!("{} approaches", change.verdicts.len());
        access::note(&restricted, "rules diff", "-", &many)?;
    }
    sheets(&change).print(global)?;
    let text = format!(
        "{} rules differ, {} say the same; {} verdicts change",
        change.rules.len(),
        change.alike,
        change.verdicts.len()
    );
    note_to_stderr(global, &text)?;
    Ok(Outcome::Clean)
}

fn sheets(change: &PackChange) -> Sections {
    let mut rules = Sheet::new(&[
        "rule",
        "evaluable_before",
        "evaluable_after",
        "with_event_before",
        "with_event_after",
        "what_differs",
    ]);
    for rule in &change.rules {
        rules.row([
            rule.rule.clone(),
            rule.evaluable[0].to_string(),
            rule.evaluable[1].to_string(),
            rule.with_event[0].to_string(),
            rule.with_event[1].to_string(),
            rule.why.join("\n"),
        ]);
    }
    let mut approaches = Sheet::new(&[
        "rule",
        "flight_id",
        "approach_no",
        "change",
        "before",
        "after",
        "worst_before",
        "worst_after",
        "reason",
    ]);
    let number = |worst: Option<f64>| worst.map(|worst| format!("{worst:.2}")).unwrap_or_default();
    for one in &change.verdicts {
        approaches.row([
            one.rule.clone(),
            one.flight_id.clone(),
            one.approach_no.to_string(),
            one.change.to_owned(),
            one.before.clone().unwrap_or_default(),
            one.after.clone().unwrap_or_default(),
            number(one.worst[0]),
            number(one.worst[1]),
            one.reason.clone().unwrap_or_default(),
        ]);
    }
    let mut sections = Sections::default();
    sections.add("Rules", rules);
    sections.add("Approaches", approaches);
    sections
}
