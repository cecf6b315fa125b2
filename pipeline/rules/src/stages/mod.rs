//! The stages of a review over a store: load, detect, collect. Each can be run by itself.

mod compact;
mod detect;
mod earlier;
mod erase;
mod judged;
mod load;
mod months;
mod output;
mod reviewed;
mod robust;
mod rows_out;

pub use compact::{CompactReport, compact};
pub(crate) use detect::judged_by;
pub(crate) use judged::with_read;

pub use detect::{
    DetectReport, Loaded, PackHash, detect_new, first_batch, loaded_under, pack_hash, unjudged,
};
pub use earlier::{Before, before};
pub use erase::{EraseReport, erase};
pub use load::{
    FlightRow, LOOKED_AFTER, LoadReport, STORED, Step, load, loaded_inputs, standing_refusals,
};
pub use months::months;
pub use output::{
    Collected, ExamplePages, OutputError, Summaries, collect, restricted_folder, write_tables,
};
pub use reviewed::{Noted, note_review, noted_review};
pub use robust::{FlipReport, flip_new};
