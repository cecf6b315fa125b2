//! Rule files to checked rules to one aggregate scan to results; the store and its summaries.

pub mod expression;
pub mod rule_file;
