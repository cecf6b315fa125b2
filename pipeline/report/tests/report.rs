//! The page as a reader gets it: one binary, so the crate links once for all of them.

#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

#[path = "page/against.rs"]
mod against;
#[path = "page/flown.rs"]
mod flown;
#[path = "../examples/invented/mod.rs"]
mod invented;
#[path = "page/look.rs"]
mod look;
#[path = "page/structure.rs"]
mod structure;
#[path = "page/wording.rs"]
mod wording;
