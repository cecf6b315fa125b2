//! The fleet folder: whole or not at all.

pub(crate) mod effects;
pub(crate) mod flown;
pub(crate) mod rows;
pub(crate) mod tables;

use crate::damage::DamageRow;
use crate::flight::Flight;
use crate::folder::effects::effects;
use crate::folder::flown::{Flown, interventions};
use crate::folder::rows::{ApproachRow, CheckpointRow, FlightRow, LossRow, RuleRow};
use crate::folder::tables::{SampleFiles, Table};
use crate::recorder::fleet_toml;
use crate::world::airports::runways_csv;
use crate::world::types::TYPE_FILES;
use crate::{DemoError, Options, Profile, Summary};
use rayon::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc::sync_channel;

/// Flights computed at a time: what is held in memory.
const CHUNK: u64 = 96;

const README: &str = include_str!("text/README.md");

/// Writes an invented fleet to `out`, a new or empty folder, which appears when it is complete.
///
/// `progress` is called with flights done and flights to do.
///
/// # Errors
/// When `out` is there and not empty, an option is out of range, or a file cannot be written; `out`
/// is then as it was before.
pub fn write(
    out: &Path,
    options: &Options,
    progress: &dyn Fn(u64, u64),
) -> Result<Summary, DemoError> {
    check(out, options)?;
    let partial = Partial::create(out)?;
    let summary = fill(&partial.path, options, progress)?;
    partial.publish(out)?;
    Ok(summary)
}

fn check(out: &Path, options: &Options) -> Result<(), DemoError> {
    let empty = match fs::read_dir(out) {
        Ok(mut entries) => entries.next().is_none(),
        Err(source) => source.kind() == std::io::ErrorKind::NotFound,
    };
    if !empty {
        return Err(DemoError::NotEmpty {
            path: out.to_owned(),
        });
    }
    let refuse = |option, expected, given: String| {
        Err(DemoError::Option {
            option,
            expected,
            given,
        })
    };
    if options.flights == 0 {
        return refuse("flights", "at least 1", options.flights.to_string());
    }
    if !(1..=600).contains(&options.months) {
        return refuse("months", "between 1 and 600", options.months.to_string());
    }
    if !(1..=12).contains(&options.first_month.1) {
        return refuse(
            "first month",
            "between 1 and 12",
            options.first_month.1.to_string(),
        );
    }
    if !(0.0..=1.0).contains(&options.planted) {
        return refuse(
            "planted share",
            "between 0 and 1",
            options.planted.to_string(),
        );
    }
    if let Some(damaged) = options.damaged
        && !(0.0..=1.0).contains(&damaged)
    {
        return refuse("damaged share", "between 0 and 1", damaged.to_string());
    }
    Ok(())
}

/// The unfinished folder beside `out`; removed when it is dropped unpublished.
struct Partial {
    path: PathBuf,
}

impl Partial {
    fn create(out: &Path) -> Result<Self, DemoError> {
        let name = out.file_name().map_or_else(
            || "fleet".into(),
            |name| name.to_string_lossy().into_owned(),
        );
        let path = out.with_file_name(format!(".{name}.partial-{}", std::process::id()));
        fs::create_dir_all(&path).map_err(|source| DemoError::File {
            path: path.clone(),
            source,
        })?;
        Ok(Self { path })
    }

    fn publish(self, out: &Path) -> Result<(), DemoError> {
        // An empty folder of that name may be there; a missing one is not a fault.
        let _ = fs::remove_dir(out);
        fs::rename(&self.path, out).map_err(|source| DemoError::File {
            path: out.to_owned(),
            source,
        })
    }
}

impl Drop for Partial {
    fn drop(&mut self) {
        // After publishing there is nothing left to remove; a failed removal leaves a hidden folder.
        let _ = fs::remove_dir_all(&self.path);
    }
}

fn fill(
    folder: &Path,
    options: &Options,
    progress: &dyn Fn(u64, u64),
) -> Result<Summary, DemoError> {
    let exact = options.profile == Profile::Exact;
    put(&folder.join("fleet.toml"), &fleet_toml(exact))?;
    put(&folder.join("README.md"), README)?;
    put(&folder.join("runways.csv"), &runways_csv())?;
    for (name, text) in TYPE_FILES {
        put(&folder.join("aircraft").join(name), text)?;
    }
    if let Some(text) = interventions(options) {
        put(&folder.join("interventions.csv"), &text)?;
    }
    put(
        &folder.join("truth").join("effects.json"),
        &effects(options),
    )?;

    let total = options.flights as u64;
    let (sender, receiver) = sync_channel::<Vec<Flight>>(1);
    // Computing and compressing overlap: the writer takes the flights in order, a chunk behind.
    std::thread::scope(|scope| {
        let writer = scope.spawn(move || -> Result<Summary, DemoError> {
            let mut files = Files::create(folder, options)?;
            for chunk in receiver {
                for flight in chunk {
                    files.add(flight)?;
                }
            }
            files.finish(folder)
        });
        let mut start = 0;
        let mut failed = None;
        while start < total {
            let end = (start + CHUNK).min(total);
            let made: Result<Vec<Flight>, _> = (start..end)
                .into_par_iter()
                .map(|number| {
                    Flight::make(options, number, |kind| {
                        kind != 1 || number as usize >= options.single_files
                    })
                })
                .collect();
            match made {
                Ok(chunk) => {
                    // A closed channel means that the writer failed; joining it tells why.
                    if sender.send(chunk).is_err() {
                        break;
                    }
                    progress(end, total);
                }
                Err(error) => {
                    failed = Some(DemoError::from(error));
                    break;
                }
            }
            start = end;
        }
        drop(sender);
        let written = writer.join().map_err(|_| DemoError::WriterStopped)?;
        match failed {
            Some(error) => Err(error),
            None => written,
        }
    })
}

/// All files that grow with the flights.
struct Files {
    samples: SampleFiles,
    flights: Table<FlightRow>,
    approaches: Table<ApproachRow>,
    checkpoints: Table<CheckpointRow>,
    losses: Table<LossRow>,
    rules: Table<RuleRow>,
    damages: Table<DamageRow>,
    flown: Flown,
    summary: Summary,
}

impl Files {
    fn create(folder: &Path, options: &Options) -> Result<Self, DemoError> {
        Ok(Self {
            flown: Flown::new(options),
            samples: SampleFiles::new(folder.join("records")),
            flights: Table::create(&folder.join("flights.parquet"))?,
            approaches: Table::create(&folder.join("truth").join("approaches.parquet"))?,
            checkpoints: Table::create(&folder.join("truth").join("checkpoints.parquet"))?,
            losses: Table::create(&folder.join("truth").join("losses.parquet"))?,
            rules: Table::create(&folder.join("truth").join("rules.parquet"))?,
            damages: Table::create(&folder.join("truth").join("damages.parquet"))?,
            summary: Summary::default(),
        })
    }

    fn add(&mut self, flight: Flight) -> Result<(), DemoError> {
        let file = self.samples.write(&flight)?;
        let damages = flight.damage.into_iter().flat_map(|damage| damage.rows);
        self.damages.extend(damages.map(|row| DamageRow {
            flight_id: flight.header.flight_id.clone(),
            file: file.clone(),
            ..row
        }))?;
        self.summary.flights += 1;
        self.summary.approaches += flight.approaches.len() as u64;
        self.summary.samples += flight.samples.num_rows() as u64;
        for row in &flight.rules {
            let count = self.summary.rules.entry(row.rule.clone()).or_default();
            let near = matches!((row.margin, row.band), (Some(margin), Some(band)) if margin.abs() <= 2.0 * band);
            count.evaluable += u64::from(row.evaluable);
            count.events += u64::from(row.event);
            count.narrow_events += u64::from(row.event && near);
            count.near_misses += u64::from(row.evaluable && !row.event && near);
        }
        self.flown.add(&flight.header);
        self.flights.extend([flight.header])?;
        self.approaches.extend(flight.approaches)?;
        self.checkpoints.extend(flight.checkpoints)?;
        self.losses.extend(flight.losses)?;
        self.rules.extend(flight.rules)
    }

    fn finish(self, folder: &Path) -> Result<Summary, DemoError> {
        put(&folder.join("flown.csv"), &self.flown.csv())?;
        self.samples.finish()?;
        self.flights.finish()?;
        self.approaches.finish()?;
        self.checkpoints.finish()?;
        self.losses.finish()?;
        self.rules.finish()?;
        self.damages.finish()?;
        Ok(self.summary)
    }
}

fn put(path: &Path, text: &str) -> Result<(), DemoError> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(|source| DemoError::File {
            path: folder.to_owned(),
            source,
        })?;
    }
    fs::write(path, text).map_err(|source| DemoError::File {
        path: path.to_owned(),
        source,
    })
}
