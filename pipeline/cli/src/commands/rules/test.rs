//! `rules test`: the tests beside the rule files.

use std::path::{Path, PathBuf};

use records::samples;
use rules::rule_file::BUILTIN_NAME;
use rules::rule_test::test_rule;

use super::super::Outcome;
use crate::arguments::{Global, Pack};
use crate::context::{engine, note_to_stderr, read_rules};
use crate::failure::Failure;
use crate::show::Sheet;

pub(super) fn test(global: &Global, pack: &Pack) -> Result<Outcome, Failure> {
    let folders = match pack.folders.as_slice() {
        [] => vec![PathBuf::from("rules")],
        named => named.to_vec(),
    };
    if folders
        .iter()
        .all(|folder| folder.as_os_str() == BUILTIN_NAME)
    {
        return Err(Failure::text(
            "the built-in rules carry no tests with them: give a folder of rules to test, and `builtin` beside it \
             where these read built-in ones",
        ));
    }
    let catalogue = super::catalogue(global, pack.fleet.as_deref())?;
    // Built-in rules are there to be read; they were tested before they were built in.
    let mut rules = read_rules(&catalogue, &folders)?;
    rules.retain(|rule| !rule.is_builtin());
    let engine = engine(global)?;
    let schema = samples::schema(&catalogue);
    let mut sheet = Sheet::new(&["rule", "case", "result"]);
    let (mut cases, mut failed) = (0, 0);
    for rule in &rules {
        let folder = Path::new(&rule.path).parent().unwrap_or(Path::new("."));
        match test_rule(&engine, &schema, rule, folder) {
            Ok(reports) => {
                cases += reports.len();
                for case in reports {
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
    let text = format!(
        "{} rules tested, {cases} cases, {failed} faults",
        rules.len()
    );
    note_to_stderr(global, &text)?;
    Ok(if failed == 0 {
        Outcome::Clean
    } else {
        Outcome::Findings
    })
}
