//! Writes report, brief and pictures over a large invented fleet, and tells how long it took and how much it is:
//! `cargo run --example large_report FOLDER [RULES AIRPORTS MONTHS]`.

#![allow(clippy::print_stdout, reason = "its figures are what it is for")]

mod invented;

use std::fs;
use std::path::PathBuf;
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args_os().skip(1);
    let folder: PathBuf = arguments
        .next()
        .ok_or("name the folder to write to")?
        .into();
    let mut number = |otherwise: usize| -> Result<usize, Box<dyn std::error::Error>> {
        match arguments.next() {
            Some(text) => Ok(text.to_string_lossy().parse()?),
            None => Ok(otherwise),
        }
    };
    let (rules, airports, months) = (number(100)?, number(60)?, number(36)?);
    let input = invented::large(rules, airports, months);
    let start = Instant::now();
    let rendered = report::render_all(&input)?;
    let took = start.elapsed();
    fs::create_dir_all(folder.join("pictures"))?;
    fs::write(folder.join("report.html"), &rendered.report)?;
    fs::write(folder.join("brief.html"), &rendered.brief)?;
    for picture in &rendered.pictures {
        let path = folder
            .join("pictures")
            .join(format!("{}.svg", picture.name));
        fs::write(path, &picture.svg)?;
    }
    println!(
        "{rules} rules, {airports} airports, {months} months: report {} kB, {} pictures, rendered in {} ms",
        rendered.report.len() / 1000,
        rendered.pictures.len(),
        took.as_millis()
    );
    Ok(())
}
