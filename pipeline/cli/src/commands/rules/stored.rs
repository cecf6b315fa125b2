//! The store behind `rules sweep` and `rules diff`.

use records::fleet::Fleet;
use rules::stages::{Loaded, loaded_under};
use rules::store::Store;

use crate::arguments::{Global, StoredFleet};
use crate::context::{note_to_stderr, open_fleet};
use crate::failure::Failure;

/// The fleet and its store, which must have been loaded as the fleet folder now says.
pub(super) fn open(global: &Global, command: &StoredFleet) -> Result<(Fleet, Store), Failure> {
    let fleet = open_fleet(global, &command.fleet)?;
    let folder = command
        .store
        .clone()
        .unwrap_or_else(|| command.out.join("restricted").join("store"));
    if !folder.join("runs").is_dir() {
        return Err(Failure::text(format!(
            "{} is no store: give the output folder of a review as --out, or its store as --store; run \
             `glidetally review` first",
            folder.display()
        )));
    }
    let store = Store::open_existing(&folder).map_err(Failure::plain)?;
    match loaded_under(&store, &fleet).map_err(Failure::plain)? {
        Loaded::Whole => {}
        Loaded::Nothing | Loaded::Changed => {
            return Err(Failure::text(
                "the store does not hold what this program makes of this fleet: run `glidetally review` or \
                 `glidetally load` first",
            ));
        }
        Loaded::Mapped(_) | Loaded::Stale(_) | Loaded::Interrupted(_) => {
            let text = "the store is not up to date with the fleet folder: what follows is about what is loaded";
            note_to_stderr(global, text)?;
        }
    }
    Ok((fleet, store))
}
