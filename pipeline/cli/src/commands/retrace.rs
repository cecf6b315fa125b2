//! `retrace`: one approach of the store as a page and as a table.

mod checkpoints;
mod columns;
pub(super) mod found;
mod measures;

use std::io::Write;
use std::path::{Path, PathBuf};

use report::retrace::{Checkpoint, Retrace as Page};
use rules::stages::restricted_folder;
use rules::store::Store;

use super::{Outcome, access};
use crate::arguments::{Global, Retrace};
use crate::context::note_to_stderr;
use crate::failure::Failure;
use crate::show::Sheet;

pub(crate) fn run(global: &Global, command: &Retrace) -> Result<Outcome, Failure> {
    let store = open(command)?;
    let approach = found::approach(&store, &command.flight, command.approach)?;
    let page = found::page(&store, &approach)?;
    let html = report::retrace::render(&page).map_err(Failure::plain)?;
    // Noted before anything is shown: what cannot be noted is not shown.
    let restricted = restricted_folder(&command.out).map_err(Failure::plain)?;
    let path = place(command, &restricted, &page)?;
    access::note(
        &restricted,
        "retrace",
        &page.flight_id,
        &page.approach_no.to_string(),
    )?;
    let written = access::own_file(&path).and_then(|mut file| file.write_all(html.as_bytes()));
    written.map_err(|error| {
        Failure::text(format!(
            "cannot write the page {}: {error}; choose another file with --html",
            path.display()
        ))
    })?;
    sheet(&page.checkpoints).print(global)?;
    note_to_stderr(global, &format!("page: {}", path.display()))?;
    if !page.judged {
        let text = "no rule has judged this approach yet, so that nothing is said about events and gates: run \
                    `glidetally review` or `glidetally detect`";
        note_to_stderr(global, text)?;
    }
    Ok(Outcome::Clean)
}

fn open(command: &Retrace) -> Result<Store, Failure> {
    let inside = command.out.join("restricted").join("store");
    let (option, folder) = match &command.store {
        Some(folder) => ("--store", folder.clone()),
        None => ("--out", inside),
    };
    if !folder.join("runs").is_dir() {
        return Err(Failure::text(format!(
            "{} is no store: expected the output folder of a review as --out, or its store as --store; correct \
             {option}, or run `glidetally review` first",
            folder.display()
        )));
    }
    Store::open_existing(&folder).map_err(Failure::plain)
}

/// Where the page goes.
fn place(command: &Retrace, restricted: &Path, page: &Page) -> Result<PathBuf, Failure> {
    if let Some(path) = &command.html {
        access::outside_share(&command.out, "--html", path, "a page of a single approach")?;
        return Ok(path.clone());
    }
    let folder = restricted.join("retraces");
    std::fs::create_dir_all(&folder).map_err(|error| {
        Failure::text(format!(
            "cannot create {}: {error}; choose another place with --html",
            folder.display()
        ))
    })?;
    Ok(folder.join(access::page_name(&page.flight_id, page.approach_no)))
}

/// The checkpoints as a table; blank is unknown, and all blank is not passed or nothing known.
fn sheet(checkpoints: &[Checkpoint]) -> Sheet {
    let mut sheet = Sheet::new(&[
        "checkpoint",
        "time_s",
        "distance_nm",
        "height_ft",
        "over_profile_ft",
        "energy_excess_ft",
        "energy_class",
        "loss_needed_ft_per_nm",
        "cas_kt",
        "target_cas_kt",
        "flap_lever",
        "gear_down",
        "speedbrake",
        "thrust_pct",
        "headwind_kt",
    ]);
    let cell = |value: Option<f64>, places: usize| {
        // Adding zero takes the sign off a zero.
        let round = |v: f64| format!("{v:.places$}").parse().unwrap_or(v) + 0.0;
        value.map_or_else(String::new, |v| format!("{:.places$}", round(v)))
    };
    for row in checkpoints {
        sheet.row([
            row.name.clone(),
            cell(row.time_s, 1),
            cell(row.distance_nm, 2),
            cell(row.height_ft, 0),
            cell(row.over_profile_ft, 0),
            cell(row.energy_excess_ft, 0),
            row.energy_class.clone().unwrap_or_default(),
            cell(row.loss_needed_ft_per_nm, 0),
            cell(row.cas_kt, 1),
            cell(row.target_cas_kt, 1),
            cell(row.flap_lever, 0),
            cell(row.gear_down, 0),
            cell(row.speedbrake, 2),
            cell(row.thrust_pct, 1),
            cell(row.headwind_kt, 1),
        ]);
    }
    sheet
}
