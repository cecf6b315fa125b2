//! Where a review may write to: refused before any work is done.

use std::path::Path;

use records::fleet::Fleet;
use rules::stages::restricted_folder;

use crate::arguments::Stage;
use crate::context::store_folder;
use crate::failure::Failure;

/// Refuses what cannot be written to.
pub(super) fn outputs(stage: &Stage, fleet: &Fleet) -> Result<(), Failure> {
    for (option, folder) in [
        ("--out", Some(&stage.out)),
        ("--store", stage.store.as_ref()),
    ] {
        if let Some(folder) = folder {
            outside_records(option, folder, fleet)?;
        }
    }
    let folders = [
        store_folder(stage),
        stage.out.join("share"),
        stage.out.join("restricted"),
    ];
    if let Some(folder) = folders.iter().find(|folder| fleet.privacy.lies_in(folder)) {
        return Err(Failure::text(format!(
            "the privacy key lies in {}: whoever gets that could tell the ids; give the key another place with \
             [privacy] key_file",
            folder.display()
        )));
    }
    writable(&stage.out)?;
    restricted_folder(&stage.out).map_err(Failure::plain)?;
    Ok(())
}

/// Refuses a folder that lies where records are looked for: it would be read back as input.
fn outside_records(option: &str, folder: &Path, fleet: &Fleet) -> Result<(), Failure> {
    let records = fleet.records.canonicalize()?;
    // The folder may not be there yet: its nearest parent that is tells where it will be.
    let place = std::path::absolute(folder)?;
    let there = place
        .ancestors()
        .find(|parent| parent.exists())
        .unwrap_or(&place);
    if there.canonicalize()?.starts_with(&records) {
        return Err(Failure::text(format!(
            "{option} {} lies in the folder of the records, {}, and would be read as input; choose \
             a folder elsewhere",
            folder.display(),
            records.display()
        )));
    }
    Ok(())
}

/// Refuses an output folder before any work is done.
fn writable(out: &Path) -> Result<(), Failure> {
    let refuse = |error: std::io::Error| {
        Failure::text(format!(
            "cannot write to the output folder {}: {error}; choose another with --out",
            out.display()
        ))
    };
    std::fs::create_dir_all(out).map_err(refuse)?;
    let probe = out.join(".glidetally-probe");
    std::fs::write(&probe, b"").map_err(refuse)?;
    std::fs::remove_file(&probe).map_err(refuse)
}
