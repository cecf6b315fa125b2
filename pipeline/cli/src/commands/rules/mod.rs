//! `rules list`, `rules check`, `rules test`.

use std::path::{Path, PathBuf};

use records::catalogue::Catalogue;
use records::samples;
use rules::rule_file::BUILTIN_NAME;
use rules::rule_test::test_rule;

use super::Outcome;
use crate::arguments::{Global, Pack, Rules};
use crate::context::{engine, note_to_stderr, open_fleet, read_rules};
use crate::failure::Failure;
use crate::show::Sheet;

pub(crate) fn run(global: &Global, command: &Rules) -> Result<Outcome, Failure> {
    match command {
        Rules::List(pack) => list(global, pack),
        Rules::Check(pack) => check(global, pack),
        Rules::Test(pack) => test(global, pack),
    }
}

/// The columns rules may read: the built-in ones, and those of a fleet where one is given.
fn catalogue(global: &Global, pack: &Pack) -> Result<Catalogue, Failure> {
    match &pack.fleet {
        Some(fleet) => Ok(open_fleet(global, fleet)?.catalogue),
        None => Ok(Catalogue::default()),
    }
}

fn list(global: &Global, pack: &Pack) -> Result<Outcome, Failure> {
    let mut sheet = Sheet::new(&["rule", "version", "family", "title", "source"]);
    for rule in read_rules(&catalogue(global, pack)?, &pack.folders)? {
        sheet.row([
            rule.id,
            rule.version.to_string(),
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

fn check(global: &Global, pack: &Pack) -> Result<Outcome, Failure> {
    let rules = read_rules(&catalogue(global, pack)?, &pack.folders)?;
    let mut sheet = Sheet::new(&["rule", "version", "reads"]);
    for rule in &rules {
        let inputs: Vec<String> = rule.inputs().into_iter().collect();
        sheet.row([rule.id.clone(), rule.version.to_string(), inputs.join(", ")]);
    }
    sheet.print(global)?;
    note_to_stderr(global, &format!("{} rules, no fault", rules.len()))?;
    Ok(Outcome::Clean)
}

fn test(global: &Global, pack: &Pack) -> Result<Outcome, Failure> {
    let folders = match pack.folders.as_slice() {
        [] => vec![PathBuf::from("rules")],
        named => named.to_vec(),
    };
    if folders.iter().any(|folder| folder.as_os_str() == BUILTIN_NAME) {
        return Err(Failure::text(
            "the built-in rules carry no tests with them: give the folder `rules` of the sources",
        ));
    }
    let catalogue = catalogue(global, pack)?;
    let rules = read_rules(&catalogue, &folders)?;
    let engine = engine(global)?;
    let schema = samples::schema(&catalogue);
    let mut sheet = Sheet::new(&["rule", "case", "result"]);
    let mut failed = 0;
    for rule in &rules {
        let folder = Path::new(&rule.path).parent().unwrap_or(Path::new("."));
        match test_rule(&engine, &schema, rule, folder) {
            Ok(cases) => {
                for case in cases {
                    let passed = case.differences.is_empty();
                    failed += usize::from(!passed);
                    let result = if passed {
                        "passed".to_owned()
                    } else {
                        case.differences.join("\n")
                    };
                    sheet.row([case.rule, case.case, result]);
                }
            }
            Err(error) => {
                failed += 1;
                sheet.row([rule.id.clone(), "-".to_owned(), error.to_string()]);
            }
        }
    }
    sheet.print(global)?;
    note_to_stderr(
        global,
        &format!("{} rules tested, {failed} faults", rules.len()),
    )?;
    Ok(if failed == 0 {
        Outcome::Clean
    } else {
        Outcome::Findings
    })
}
