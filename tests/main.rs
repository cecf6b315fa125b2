//! End-to-end tests: the binary as its users run it, on real and on invented records.

mod arrows;
mod errors;
mod fleet;
mod real_recorder;
mod real_surveillance;
mod rules;
mod same_bytes;
mod sample_fleet;
mod table;
