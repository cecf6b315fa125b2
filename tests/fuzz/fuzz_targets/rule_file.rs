//! A rule file of any bytes is checked, warned about and spelled out without a panic.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use records::catalogue::Catalogue;
use rules::rule_file::{RuleContext, RuleText, check_pack, meaning, warnings};

static CONTEXT: LazyLock<RuleContext> = LazyLock::new(|| RuleContext::of(&Catalogue::default()));

fuzz_target!(|text: &str| {
    let files = || {
        vec![RuleText {
            path: "a_rule.toml".to_owned(),
            stem: "a_rule".to_owned(),
            text: text.to_owned(),
        }]
    };
    match check_pack(files(), &CONTEXT) {
        Ok(rules) => {
            for rule in &rules {
                assert!(!meaning(rule).is_empty());
                let _ = (rule.inputs(), rule.limits_for(None, Some("ZSTP"), None));
            }
            let _ = warnings(files(), &CONTEXT, None);
        }
        Err(faults) => {
            assert!(!faults.faults.is_empty());
            for fault in &faults.faults {
                assert!(fault.span.end <= text.len() && !fault.to_string().is_empty());
            }
        }
    }
});
