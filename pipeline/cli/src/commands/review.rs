//! `review` and its stages: load and detect here, summarise and report in `publish`.

mod examples;
mod headlines;
mod publish;
mod run_json;

use indicatif::ProgressBar;
use records::fleet::Fleet;
use records::pipeline::input_files;
use records::prepare::without_record;
use records::rows::QuarantineRow;
use records::samples;
use rules::against::{Reviewed, not_newer, read_review};
use rules::detect::Engine;
use rules::rule_file::{CheckedRule, RuleContext, check_pack};
use rules::stages::{
    FlightRow, Loaded, Step, detect_new, flip_new, load, loaded_under, noted_review,
    standing_refusals,
};
use rules::store::{Store, read_rows};

use super::Outcome;
use super::outputs::outputs;
use crate::arguments::{Comparing, Global, Judging, Pages, Reading, Report, Review, Stage};
use crate::context::{engine, note_to_stderr, open_fleet, open_store, pack, store_folder};
use crate::failure::Failure;
use crate::progress::bar;

/// What the last stage writes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Writes {
    /// The tables.
    Tables,
    /// The tables and the report.
    Report,
    /// These, and pages of example approaches.
    Examples,
}

impl Writes {
    fn pages(pages: &Pages) -> Self {
        if pages.no_examples {
            Self::Report
        } else {
            Self::Examples
        }
    }
}

pub(crate) fn review(global: &Global, review: &Review) -> Result<Outcome, Failure> {
    let judging = &review.judging;
    let against = earlier(&review.comparing, &judging.stage)?;
    let mut run = Run::open(global, &judging.stage)?;
    run.against = against;
    run.load()?;
    run.detect(judging.robustness)?;
    run.publish(Writes::pages(&review.pages))
}

pub(crate) fn load_only(global: &Global, stage: &Stage) -> Result<Outcome, Failure> {
    let mut run = Run::open(global, stage)?;
    run.load()?;
    let refused = standing_refusals(&run.store, run.store.number()).map_err(Failure::plain)?;
    Ok(findings(&refused))
}

pub(crate) fn detect_only(global: &Global, judging: &Judging) -> Result<Outcome, Failure> {
    let mut run = Run::open(global, &judging.stage)?;
    run.detect(judging.robustness)?;
    Ok(Outcome::Clean)
}

/// `summarise`: of the store as it is, or as it was.
pub(crate) fn summarise_only(global: &Global, reading: &Reading) -> Result<Outcome, Failure> {
    publish_only(global, reading, None, Writes::Tables)
}

/// `report`: the same, with a report that may be held against an earlier one.
pub(crate) fn report_only(global: &Global, report: &Report) -> Result<Outcome, Failure> {
    let reading = &report.reading;
    let against = earlier(&report.comparing, &reading.stage)?;
    publish_only(global, reading, against, Writes::pages(&report.pages))
}

fn publish_only(
    global: &Global,
    reading: &Reading,
    against: Option<Reviewed>,
    writes: Writes,
) -> Result<Outcome, Failure> {
    match reading.as_of {
        None => {
            let mut run = Run::open(global, &reading.stage)?;
            run.against = against;
            run.publish(writes)
        }
        Some(number) => as_of(global, &reading.stage, number, against, writes),
    }
}

/// The review to compare with, read whole before anything is written: it may lie in the output folder.
fn earlier(comparing: &Comparing, stage: &Stage) -> Result<Option<Reviewed>, Failure> {
    let Some(folder) = &comparing.against else {
        return Ok(None);
    };
    let before = read_review(folder).map_err(Failure::plain)?;
    // Where no month is asked for, which one it is shows once everything is loaded.
    not_newer(&before, stage.month.as_deref()).map_err(Failure::plain)?;
    Ok(Some(before))
}

/// Makes an earlier review again, with its own rules and settings.
fn as_of(
    global: &Global,
    stage: &Stage,
    number: u64,
    against: Option<Reviewed>,
    writes: Writes,
) -> Result<Outcome, Failure> {
    let mut fleet = records::fleet::open(&stage.fleet).map_err(Failure::diagnostic)?;
    outputs(stage, &fleet)?;
    let (store, review, texts) = Store::open_existing(&store_folder(stage))
        .and_then(|store| noted_review(store, number))
        .map_err(Failure::plain)?;
    let pack =
        check_pack(texts, &RuleContext::of(&fleet.catalogue)).map_err(Failure::diagnostic)?;
    let version = &store.runs()[store.runs().len() - 1].version;
    if version != env!("CARGO_PKG_VERSION") {
        let text = format!(
            "run {number} was made by version {version} of the program: this one, {}, may come to other \
             figures",
            env!("CARGO_PKG_VERSION")
        );
        note_to_stderr(global, &text)?;
    }
    fleet.title.clone_from(&review.title);
    fleet.min_flights = review.min_flights;
    fleet.review.governing_gate_ft = review.governing_gate_ft;
    fleet.notes.clone_from(&review.notes);
    let run = Run {
        global,
        stage,
        fleet,
        pack,
        store,
        against,
    };
    run.may_compare(review.latest_month.as_deref())?;
    run.write(number, &review, writes)
}

fn findings(refused: &[QuarantineRow]) -> Outcome {
    if refused.is_empty() {
        Outcome::Clean
    } else {
        Outcome::Findings
    }
}

/// Everything a review holds open. All that can be refused is refused before work begins.
struct Run<'a> {
    global: &'a Global,
    stage: &'a Stage,
    fleet: Fleet,
    pack: Vec<CheckedRule>,
    store: Store,
    /// The review to compare with, where one was given.
    against: Option<Reviewed>,
}

impl<'a> Run<'a> {
    fn open(global: &'a Global, stage: &'a Stage) -> Result<Self, Failure> {
        tracing::info!(stage = "open", "begins");
        let fleet = open_fleet(global, &stage.fleet)?;
        let pack = pack(&fleet, &stage.rules)?;
        outputs(stage, &fleet)?;
        let store = open_store(stage)?;
        Ok(Self {
            global,
            stage,
            fleet,
            pack,
            store,
            against: None,
        })
    }

    fn load(&mut self) -> Result<(), Failure> {
        tracing::info!(stage = "load", "begins");
        let inputs = input_files(&self.fleet).map_err(Failure::diagnostic)?;
        let progress: ProgressBar = bar(self.global, "loading", "files");
        let step = Step {
            files: self.stage.step_files as usize,
        };
        let report = load(&self.fleet, &inputs, &mut self.store, step, &|at| {
            progress.set_length(at.files_total as u64);
            progress.set_position(at.files as u64);
            progress.set_message(format!("({} flights)", at.flights));
        })
        .map_err(Failure::plain)?;
        progress.finish_and_clear();
        if !report.left_out.is_empty() {
            let columns = report.left_out.iter();
            let named: Vec<String> = columns
                .map(|(name, files)| {
                    let found = self.fleet.privacy.identifying_among([name.as_str()]);
                    let identifies = found.first().map_or_else(String::new, |(_, identity)| {
                        format!(", identifies {}", identity.as_str())
                    });
                    format!("{name} ({files} files{identifies})")
                })
                .collect();
            let text = format!(
                "columns that no map names were left out: {}",
                named.join(", ")
            );
            note_to_stderr(self.global, &text)?;
        }
        let flights: Vec<FlightRow> =
            read_rows(self.store.root(), &self.store.files("flights")).map_err(Failure::plain)?;
        let recorded = flights.into_iter().map(|flight| flight.flight_id).collect();
        let without = without_record(&self.fleet, &recorded).len();
        if without > 0 {
            let text =
                format!("{without} flights of the flight list have no record that is loaded");
            note_to_stderr(self.global, &text)?;
        }
        if report.out_of_reach > 0 {
            let text = format!(
                "{} flights stay as they were loaded although flight list, aircraft type or map have changed: \
                 their files are gone",
                report.out_of_reach
            );
            note_to_stderr(self.global, &text)?;
        }
        if report.erased > 0 {
            let text = format!(
                "{} flights were left out: they have been erased from this store; remove their records",
                report.erased
            );
            note_to_stderr(self.global, &text)?;
        }
        if report.replaced > 0 {
            let text = format!(
                "{} flights were loaded before and are replaced: their file, row of the flight list or \
                 aircraft type has changed",
                report.replaced
            );
            note_to_stderr(self.global, &text)?;
        }
        note_to_stderr(
            self.global,
            &format!(
                "loaded {} new of {} files: {} flights, {} approaches, {} refused",
                report.new_files,
                report.files,
                report.flights,
                report.approaches,
                report.quarantined
            ),
        )
    }

    fn detect(&mut self, robustness: bool) -> Result<(), Failure> {
        self.loaded()?;
        tracing::info!(stage = "detect", "begins");
        let engine = engine(self.global)?;
        let schema = samples::schema(&self.fleet.catalogue);
        let progress = bar(self.global, "judging", "store files");
        let report = detect_new(
            &engine,
            &self.pack,
            &schema,
            &mut self.store,
            &|done, all| {
                progress.set_length(all as u64);
                progress.set_position(done as u64);
            },
        )
        .map_err(Failure::plain)?;
        progress.finish_and_clear();
        note_to_stderr(
            self.global,
            &format!(
                "judged {} approaches by {} rules: {} events",
                report.approaches,
                report.rules.len(),
                report.events
            ),
        )?;
        if robustness {
            self.flip(&engine)?;
        }
        Ok(())
    }

    /// Judges again what a recorder could have blurred.
    fn flip(&mut self, engine: &Engine) -> Result<(), Failure> {
        tracing::info!(stage = "robustness", "begins");
        let schema = samples::schema(&self.fleet.catalogue);
        let progress = bar(self.global, "judging again", "approaches");
        let (pack, fleet, store) = (&self.pack, &self.fleet, &mut self.store);
        let report = flip_new(engine, pack, &schema, fleet, store, &|done, all| {
            progress.set_length(all as u64);
            progress.set_position(done as u64);
        })
        .map_err(Failure::plain)?;
        progress.finish_and_clear();
        let text = format!(
            "judged {} approaches again on perturbed samples: {} of {} verdicts survive every change",
            report.approaches, report.sure, report.verdicts
        );
        note_to_stderr(self.global, &text)
    }

    /// Refuses to go on over a store that another configuration or program filled.
    fn loaded(&self) -> Result<(), Failure> {
        let why = match loaded_under(&self.store, &self.fleet).map_err(Failure::plain)? {
            Loaded::Whole => return Ok(()),
            Loaded::Nothing => "nothing is loaded".to_owned(),
            Loaded::Changed => {
                "the configuration (runways, columns, privacy), the privacy key or the \
                                program has changed since the records were loaded"
                    .to_owned()
            }
            Loaded::Mapped(files) => {
                format!("the parameter maps have changed since {files} files were loaded")
            }
            Loaded::Stale(flights) => format!(
                "the flight list or an aircraft type has changed since {flights} flights were loaded"
            ),
            Loaded::Interrupted(inputs) => {
                format!("a load was interrupted with {inputs} files to go")
            }
        };
        Err(Failure::text(format!(
            "{why}: run `glidetally load` with the same options first, or `glidetally review` for \
             everything"
        )))
    }
}
