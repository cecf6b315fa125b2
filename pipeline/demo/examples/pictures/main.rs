//! Draws single approaches of a written fleet, and a real one on the same scale:
//! `cargo run --profile quick -p demo --example pictures -- [FLEET] [OUT]`.
//!
//! Without arguments it reads `sample-data` and writes `docs/demo-fleet`, and the table of published
//! figures in `docs/demo-fleet.md`. The approaches are chosen by what the fleet's truth says of
//! them; see `choose.rs`.

mod choose;
mod energy;
mod fault;
mod figures;
mod fleet;
mod height;
mod page;
mod panel;
mod picture;
mod real;
mod setting;
mod sheet;
mod speed;

use choose::{Choice, STORIES, Story};
use fault::Fault;
use figures::Gathered;
use fleet::Fleet;
use fleet::truth::Approach;
use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

fn main() -> ExitCode {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut arguments = std::env::args_os().skip(1).map(PathBuf::from);
    let folder = arguments.next().unwrap_or_else(|| top.join("sample-data"));
    let out = arguments
        .next()
        .unwrap_or_else(|| top.join("docs/demo-fleet"));
    match draw(&folder, &out) {
        Ok(told) => {
            // Nobody is left to tell when the terminal is gone.
            let _ = std::io::stdout().write_all(told.as_bytes());
            ExitCode::SUCCESS
        }
        Err(fault) => {
            let _ = writeln!(std::io::stderr(), "error: {fault}");
            ExitCode::from(2)
        }
    }
}

fn draw(folder: &Path, out: &Path) -> Result<String, Fault> {
    let fleet = Fleet::open(folder)?;
    let aircraft = folder.join("aircraft");
    let planned = fleet
        .types
        .get("corvan-c20")
        .or(fleet.types.values().next());
    let planned = planned.ok_or_else(|| Fault::text(&aircraft, "no type file in this folder"))?;
    let real = real::read(&real::folder(), planned)?;
    let files = fleet.record_files()?;
    let mut choice = Choice::default();
    let mut gathered = Gathered::default();
    let mut where_is: BTreeMap<String, &PathBuf> = BTreeMap::new();
    for file in &files {
        for flown in fleet.flown(file)? {
            choice.offer(&flown);
            gathered.add(&flown);
            if let Some(truth) = &flown.truth {
                where_is.insert(truth.flight_id.clone(), file);
            }
        }
    }
    std::fs::create_dir_all(out).map_err(|source| Fault::Write {
        path: out.to_owned(),
        source,
    })?;
    let mut told = String::new();
    let made = choice.made();
    for story in &STORIES {
        let found = made.iter().find(|(made, _, _)| made.name == story.name);
        let drawn = match found {
            Some((_, flight, number)) => match where_is.get(*flight) {
                Some(file) => draw_one(&fleet, file, (flight, *number), story)?,
                None => None,
            },
            None => None,
        };
        told += &match drawn {
            Some(svg) => format!("{:16} {} bytes\n", story.name, put(out, story.name, &svg)?),
            None => {
                // A picture of an earlier fleet would say something that this one does not show.
                let _ = std::fs::remove_file(out.join(format!("{}.svg", story.name)));
                format!("{:16} none in this fleet\n", story.name)
            }
        };
    }
    let svg = picture::draw(&real, "A real flight, on the same scale")?;
    told += &format!(
        "{:16} {} bytes\n",
        "real-recorder",
        put(out, "real-recorder", &svg)?
    );
    told += &page::write(&out.with_extension("md"), &gathered.figures(&real))?;
    Ok(told)
}

/// The picture of one approach, read again: a whole fleet is not kept in memory.
fn draw_one(
    fleet: &Fleet,
    file: &Path,
    (flight, number): (&str, i32),
    story: &Story,
) -> Result<Option<String>, Fault> {
    let flown = fleet.flown(file)?;
    let this = |truth: &Approach| truth.flight_id == flight && truth.number == number;
    let found = flown
        .iter()
        .find(|flown| flown.truth.as_ref().is_some_and(this));
    found
        .map(|flown| picture::draw(flown, story.title))
        .transpose()
}

fn put(out: &Path, name: &str, svg: &str) -> Result<usize, Fault> {
    let path = out.join(format!("{name}.svg"));
    std::fs::write(&path, svg).map_err(|source| Fault::Write { path, source })?;
    Ok(svg.len())
}
