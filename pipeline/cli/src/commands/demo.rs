//! `demo write`: an invented fleet. What a review made of it: `demo score`.

use demo::Options;

use super::{Outcome, score};
use crate::arguments::{Demo, Global};
use crate::context::note_to_stderr;
use crate::failure::Failure;
use crate::progress::bar;
use crate::show::Sheet;

pub(crate) fn run(global: &Global, command: &Demo) -> Result<Outcome, Failure> {
    let (out, flights, months, seed, profile) = match command {
        Demo::Write {
            out,
            flights,
            months,
            seed,
            profile,
        } => (out, flights, months, seed, profile),
        Demo::Score { fleet, out } => return score::run(global, fleet, out),
    };
    let options = Options {
        flights: usize::try_from(*flights).unwrap_or(usize::MAX),
        months: usize::try_from(*months).unwrap_or(usize::MAX),
        seed: *seed,
        profile: *profile,
        ..Options::default()
    };
    let progress = bar(global, "writing", "flights");
    let summary = demo::write(out, &options, &|done, all| {
        progress.set_length(all);
        progress.set_position(done);
    })
    .map_err(Failure::plain)?;
    progress.finish_and_clear();
    note_to_stderr(global, "everything in this fleet is invented, limits too")?;
    let mut sheet = Sheet::new(&["fleet", "flights", "approaches"]);
    sheet.row([
        out.display().to_string(),
        summary.flights.to_string(),
        summary.approaches.to_string(),
    ]);
    sheet.print(global)?;
    Ok(Outcome::Clean)
}
