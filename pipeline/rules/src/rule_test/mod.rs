//! Rules prove themselves: `RULE.test.toml` beside the rule, small series in, whole tables out.
//!
//! Each case runs in several shapes, see [`shapes`]: the shape of the data must never change a verdict.

mod case;
mod compare;
mod run;
mod series;
mod shapes;

use std::path::{Path, PathBuf};

use datafusion::arrow::datatypes::SchemaRef;

use crate::detect::Engine;
use crate::rule_file::CheckedRule;

/// What became of one case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseReport {
    /// Rule id.
    pub rule: String,
    /// Name of the case.
    pub case: String,
    /// Empty where it passed; else what was expected and what came, line by line.
    pub differences: Vec<String>,
    /// Whether the case expects an event.
    pub fires: bool,
}

/// Why a test file could not be run.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RuleTestError {
    /// There is no test file.
    #[error(
        "rule {rule} has no test: write {} with at least one case that fires and one that does not",
        path.display()
    )]
    Missing {
        /// Rule id.
        rule: String,
        /// Where it is looked for.
        path: PathBuf,
    },
    /// The file does not parse.
    #[error("{}: {detail}", path.display())]
    File {
        /// Which file.
        path: PathBuf,
        /// Line, column and what is wrong.
        detail: String,
    },
    /// A case cannot be laid out as samples.
    #[error("{}: case \"{case}\": {detail}", path.display())]
    Case {
        /// Which file.
        path: PathBuf,
        /// Which case.
        case: String,
        /// What is wrong.
        detail: String,
    },
    /// There is no case that fires, or none that stays silent.
    #[error("{}: no case {what}: a rule needs at least one that fires and one that does not", path.display())]
    OneSided {
        /// Which file.
        path: PathBuf,
        /// `expects an event` or `expects none`.
        what: &'static str,
    },
}

/// Schema of samples.
pub use datafusion::arrow::datatypes::SchemaRef as SampleSchema;

/// Reads a test file and lays its cases out as samples, without judging them; says how many there are.
///
/// # Errors
/// What is wrong, with the line or the case.
pub fn read_tests(schema: &SchemaRef, text: &str) -> Result<usize, String> {
    let cases = case::parse(text)?;
    for case in &cases {
        run::lay_out(schema, case).map_err(|detail| format!("case \"{}\": {detail}", case.name))?;
    }
    Ok(cases.len())
}

/// Runs the tests of one rule; `folder` is where the rule file lies.
///
/// # Errors
/// The test file is missing, does not parse, or shows only one side of the rule.
pub fn test_rule(
    engine: &Engine,
    schema: &SchemaRef,
    rule: &CheckedRule,
    folder: &Path,
) -> Result<Vec<CaseReport>, RuleTestError> {
    let path = folder.join(format!("{}.test.toml", rule.id));
    let text = std::fs::read_to_string(&path).map_err(|_| RuleTestError::Missing {
        rule: rule.id.clone(),
        path: path.clone(),
    })?;
    let cases = case::parse(&text).map_err(|detail| RuleTestError::File {
        path: path.clone(),
        detail,
    })?;
    for (fires, what) in [(true, "expects an event"), (false, "expects none")] {
        if !cases.iter().any(|case| case.expect.is_empty() != fires) {
            return Err(RuleTestError::OneSided { path, what });
        }
    }
    let mut reports = Vec::with_capacity(cases.len());
    for case in &cases {
        let differences =
            run::differences(engine, schema, rule, case).map_err(|detail| RuleTestError::Case {
                path: path.clone(),
                case: case.name.clone(),
                detail,
            })?;
        reports.push(CaseReport {
            rule: rule.id.clone(),
            case: case.name.clone(),
            differences,
            fires: !case.expect.is_empty(),
        });
    }
    Ok(reports)
}

#[cfg(test)]
mod tests {
    use records::catalogue::Catalogue;
    use records::samples;

    use super::read_tests;

    #[test]
    fn what_fuzzing_kept_is_laid_out_without_a_panic() {
        let top = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
        let schema = samples::schema(&Catalogue::default());
        let (mut replayed, mut whole) = (0, 0);
        for entry in std::fs::read_dir(top.join("tests/fuzz/corpus/test_file")).unwrap() {
            let bytes = std::fs::read(entry.unwrap().path()).unwrap();
            let Ok(text) = String::from_utf8(bytes) else {
                continue;
            };
            replayed += 1;
            whole += usize::from(read_tests(&schema, &text).is_ok());
        }
        assert!(replayed >= 50 && whole >= 1, "{replayed}, {whole}");
    }

    #[test]
    fn a_series_beyond_all_measure_is_refused_before_it_is_laid_out() {
        let schema = samples::schema(&Catalogue::default());
        for series in ["1*99999999999", "0..1/4000000000", "1*50000 1*50000"] {
            let text = format!("[[case]]\nname = \"n\"\ngiven.cas_kt = \"{series}\"\n");
            let refused = read_tests(&schema, &text).unwrap_err();
            assert!(refused.contains("50000"), "{refused}");
        }
    }
}
