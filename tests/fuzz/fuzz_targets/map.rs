//! A `fleet.toml` of any bytes, parameter maps and all, is opened or refused without a panic.
#![no_main]

use std::fs;
use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use tempfile::TempDir;

static FOLDER: LazyLock<TempDir> = LazyLock::new(|| {
    let folder = TempDir::new().expect("a folder");
    fs::create_dir(folder.path().join("records")).expect("a folder");
    folder
});

fuzz_target!(|text: &str| {
    // Other files are not what is looked at, and absolute paths are nobody's business here.
    if text.contains("= \"/") || text.contains("= '/") || text.contains("..") {
        return;
    }
    fs::write(FOLDER.path().join("fleet.toml"), text).expect("a file");
    match records::fleet::open(FOLDER.path()) {
        Ok(fleet) => {
            let _ = records::knowable::knowable(&fleet);
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
