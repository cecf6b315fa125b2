//! The glidetally command: flight records in, rates and a report out.
//!
//! stdout carries data, stderr everything else. Exit 0 = done, 1 = done with findings that need a
//! look (refused inputs, failed rule tests), 2 = not done. Events found never change the exit code.

mod arguments;
mod commands;
mod context;
mod failure;
mod progress;
mod report_input;
mod show;

use std::process::ExitCode;

use clap::Parser;

use arguments::Arguments;
use commands::Outcome;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    failure::install(&arguments);
    context::log_to_stderr(&arguments);
    match commands::run(&arguments) {
        Ok(Outcome::Clean) => ExitCode::SUCCESS,
        Ok(Outcome::Findings) => ExitCode::from(1),
        Err(failure) if failure.is_broken_pipe() => ExitCode::SUCCESS,
        Err(failure) => {
            failure.print();
            ExitCode::from(2)
        }
    }
}
