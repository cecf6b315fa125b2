//! Writes the sample fleet: `cargo run --release -p demo --example write_sample -- OUT [FLIGHTS] [SEED] [PROFILE]`.

use demo::{DemoError, Options, Profile, write};
use std::io::Write as _;
use std::path::Path;

fn main() -> Result<(), DemoError> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |index: usize, default: usize| {
        arguments
            .get(index)
            .and_then(|text| text.parse().ok())
            .unwrap_or(default)
    };
    let plain = Options::default();
    let profile = Profile::ALL
        .iter()
        .find(|(name, _)| arguments.get(3).is_some_and(|text| text == name))
        .map_or(plain.profile, |(_, profile)| *profile);
    let options = Options {
        flights: number(1, plain.flights),
        seed: number(2, 1) as u64,
        profile,
        ..plain
    };
    let out = arguments.first().map_or("sample-data", String::as_str);
    let summary = write(Path::new(out), &options, &|_, _| {})?;
    let mut text = format!(
        "{} flights, {} approaches, {} samples\n",
        summary.flights, summary.approaches, summary.samples
    );
    for (rule, count) in &summary.rules {
        text += &format!(
            "{rule:26} evaluable {:6}  events {:5} (narrow {:4})  near misses {:5}\n",
            count.evaluable, count.events, count.narrow_events, count.near_misses
        );
    }
    // Nobody is left to tell when the terminal is gone.
    let _ = std::io::stdout().write_all(text.as_bytes());
    Ok(())
}
