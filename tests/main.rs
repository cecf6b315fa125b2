//! End-to-end tests: the binary as its users run it, on real and on invented records.

// A test that cannot go on fails loudly, in its helpers too, and may print what it measured.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod against;
mod arrows;
mod damage_matrix;
mod energy;
mod errors;
mod examples;
mod fleet;
mod flown_model;
mod habits;
mod headline;
mod hostile;
mod inspect;
mod own_columns;
mod parts;
mod proving_fleet;
mod query;
mod real_recorder;
mod real_surveillance;
mod retrace;
mod robustness;
mod rules;
mod same_bytes;
mod sample_fleet;
mod score;
mod scored_fleets;
mod statistics;
mod store;
mod store_care;
mod store_killed;
mod suspect;
mod table;
mod truth;
mod two_schemas;
mod what_if;
mod wrong_unit;
