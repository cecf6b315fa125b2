//! `rules …`: what the rules say, whether they are sound, and what others would say.

mod check;
mod copy;
mod diff;
mod explain;
mod reference;
mod show;
mod stored;
mod sweep;
mod test;
mod words;

use std::path::Path;

use records::catalogue::Catalogue;

use super::Outcome;
use crate::arguments::{Global, Pack, Rules};
use crate::context::{note_to_stderr, open_fleet, read_rules};
use crate::failure::Failure;
use crate::show::Sheet;

pub(crate) fn run(global: &Global, command: &Rules) -> Result<Outcome, Failure> {
    match command {
        Rules::List(pack) => list(global, pack),
        Rules::Check(pack) => check::check(global, pack),
        Rules::Test(pack) => test::test(global, pack),
        Rules::Show(one) => show::show(global, one),
        Rules::Explain(command) => explain::explain(global, command),
        Rules::Reference(pack) => reference::reference(global, pack),
        Rules::Sweep(command) => sweep::sweep(global, command),
        Rules::Copy(command) => copy::copy(global, command),
        Rules::Diff(command) => diff::diff(global, command),
    }
}

/// The columns rules may read: the built-in ones, and those of a fleet where one is given.
fn catalogue(global: &Global, fleet: Option<&Path>) -> Result<Catalogue, Failure> {
    match fleet {
        Some(fleet) => Ok(open_fleet(global, fleet)?.catalogue),
        None => Ok(Catalogue::default()),
    }
}

fn list(global: &Global, pack: &Pack) -> Result<Outcome, Failure> {
    let mut sheet = Sheet::new(&["rule", "version", "status", "family", "title", "source"]);
    for rule in read_rules(&catalogue(global, pack.fleet.as_deref())?, &pack.folders)? {
        let status = words::status(&rule).to_owned();
        sheet.row([
            rule.id,
            rule.version.to_string(),
            status,
            rule.family,
            rule.title,
            rule.source,
        ]);
    }
    sheet.print(global)?;
    for caution in report::CAUTIONS {
        note_to_stderr(global, caution)?;
    }
    Ok(Outcome::Clean)
}
