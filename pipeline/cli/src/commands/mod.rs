//! One file a command; `review` is its stages one after the other.

mod access;
mod demo;
mod inspect;
mod outputs;
mod query;
mod retrace;
mod review;
mod rules;
mod score;
mod store;
mod store_smaller;

use crate::arguments::{Arguments, Command};
use crate::context::limit_threads;
use crate::failure::Failure;

/// How a command that was done ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// Nothing needs a look.
    Clean,
    /// Something needs a look: refused inputs, failed rule tests.
    Findings,
}

pub(crate) fn run(arguments: &Arguments) -> Result<Outcome, Failure> {
    let global = &arguments.global;
    limit_threads(global)?;
    match &arguments.command {
        Command::Demo(command) => demo::run(global, command),
        Command::Review(command) => review::review(global, command),
        Command::Load(stage) => review::load_only(global, stage),
        Command::Detect(judging) => review::detect_only(global, judging),
        Command::Summarise(stage) => review::summarise_only(global, stage),
        Command::Report(command) => review::report_only(global, command),
        Command::Inspect(command) => inspect::run(global, command),
        Command::Query(command) => query::run(global, command),
        Command::Retrace(command) => retrace::run(global, command),
        Command::Rules(command) => rules::run(global, command),
        Command::Store(command) => store::run(global, command),
    }
}
