//! The cautions every reader gets, worded once for the report, the README and the rule listing.

/// What this tool is not, and how its figures must not be used. One sentence or two each, plain
/// text, in the order to show them.
pub const CAUTIONS: &[&str] = &[
    "The limits that come with the demo are invented. Each operator enters the limits of its own \
     approved flight manual and of its own procedures before any figure is used.",
    "This report supports a safety programme. It is not airworthiness or maintenance data, and it \
     does not clear an aircraft after a limit was exceeded.",
    "It replaces neither the operator's procedures, nor the authority's rules, nor the judgement \
     of licensed people.",
    "An event says that a condition was met in recorded data. It does not say that someone erred.",
    "The data are de-identified and stay so: cells that rest on few flights are suppressed, and \
     nothing here is to be used to find out who flew.",
];

#[cfg(test)]
mod tests {
    use super::CAUTIONS;

    #[test]
    fn each_caution_is_whole_sentences_without_stray_blanks() {
        for caution in CAUTIONS {
            assert!(caution.ends_with('.'), "{caution}");
            assert!(!caution.contains("  "), "{caution}");
        }
    }
}
