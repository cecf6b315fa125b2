//! A test file of any bytes is read and laid out as samples without a panic.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use records::catalogue::Catalogue;
use records::samples;
use rules::rule_test::{SampleSchema, read_tests};

static SCHEMA: LazyLock<SampleSchema> = LazyLock::new(|| samples::schema(&Catalogue::default()));

fuzz_target!(|text: &str| {
    if let Err(detail) = read_tests(&SCHEMA, text) {
        assert!(!detail.is_empty());
    }
});
