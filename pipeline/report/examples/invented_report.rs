//! Writes a report over an invented fleet, to look at: `cargo run --example invented_report FILE`.

mod invented;

use std::path::PathBuf;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let target = std::env::args_os()
        .nth(1)
        .map(PathBuf::from)
        .ok_or("name the HTML file to write")?;
    std::fs::write(target, report::render(&invented::fleet())?)?;
    Ok(())
}
