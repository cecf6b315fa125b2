//! `review` and its stages: load, detect, summarise, report.

use std::collections::BTreeSet;

use indicatif::ProgressBar;
use records::fleet::{Fleet, LossSource};
use records::pipeline::input_files;
use records::prepare::without_record;
use records::rows::ApproachRow;
use records::samples;
use rules::rule_file::{CheckedRule, check_pack};
use rules::stages::{
    Collected, FlightRow, Loaded, Step, collect, detect_new, load, loaded_inputs, loaded_under,
    note_review, noted_review, pack_hash, standing_refusals, unjudged, write_tables,
};
use rules::store::{Review, Store, read_rows};
use rules::summarise::{
    EnergyInput, LossTable, Summary, SummaryOptions, calibrate, energy, loss_rates, reclassify,
    settle_approaches, summarise,
};

use super::Outcome;
use super::outputs::outputs;
use crate::arguments::{Format, Global, Reading, Stage};
use crate::context::{
    engine, invented_rules, note_to_stderr, open_fleet, open_store, pack, pack_of_texts,
    rule_context, store_folder,
};
use crate::failure::Failure;
use crate::progress::bar;
use crate::report_input::{Subject, report_input};
use crate::show::{Sheet, print};

pub(crate) fn review(global: &Global, stage: &Stage) -> Result<Outcome, Failure> {
    let mut run = Run::open(global, stage)?;
    run.load()?;
    run.detect()?;
    run.publish(true)
}

pub(crate) fn load_only(global: &Global, stage: &Stage) -> Result<Outcome, Failure> {
    let mut run = Run::open(global, stage)?;
    run.load()?;
    let rows = collect(&run.store, run.store.number()).map_err(Failure::plain)?;
    Ok(findings(&rows))
}

pub(crate) fn detect_only(global: &Global, stage: &Stage) -> Result<Outcome, Failure> {
    let mut run = Run::open(global, stage)?;
    run.detect()?;
    Ok(Outcome::Clean)
}

/// `summarise` and `report`: of the store as it is, or as it was.
pub(crate) fn publish_only(
    global: &Global,
    reading: &Reading,
    with_report: bool,
) -> Result<Outcome, Failure> {
    match reading.as_of {
        None => Run::open(global, &reading.stage)?.publish(with_report),
        Some(number) => as_of(global, &reading.stage, number, with_report),
    }
}

/// Makes an earlier review again, with its own rules and settings.
fn as_of(
    global: &Global,
    stage: &Stage,
    number: u64,
    with_report: bool,
) -> Result<Outcome, Failure> {
    let mut fleet = records::fleet::open(&stage.fleet).map_err(Failure::diagnostic)?;
    outputs(stage, &fleet)?;
    let (store, review, texts) = Store::open_existing(&store_folder(stage))
        .and_then(|store| noted_review(store, number))
        .map_err(Failure::plain)?;
    let pack = check_pack(texts, &rule_context(&fleet.catalogue)).map_err(Failure::diagnostic)?;
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
    };
    run.write(number, &review, with_report)
}

fn findings(rows: &Collected) -> Outcome {
    if rows.quarantine.is_empty() {
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
}

impl<'a> Run<'a> {
    fn open(global: &'a Global, stage: &'a Stage) -> Result<Self, Failure> {
        tracing::info!(stage = "open", "begins");
        let fleet = open_fleet(global, &stage.fleet)?;
        let pack = pack(&fleet, stage.rules.as_deref())?;
        outputs(stage, &fleet)?;
        let store = open_store(stage)?;
        Ok(Self {
            global,
            stage,
            fleet,
            pack,
            store,
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

    fn detect(&mut self) -> Result<(), Failure> {
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
        )
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

    /// Notes what this review is made with, and makes it.
    fn publish(&mut self, with_report: bool) -> Result<Outcome, Failure> {
        self.loaded()?;
        let (left, files) = unjudged(&self.store, &self.pack);
        if left > 0 {
            return Err(Failure::text(format!(
                "{left} of {files} store files are not judged by this rule pack: run `glidetally \
                 detect` with the same options first, or `glidetally review` for everything"
            )));
        }
        // A file that was taken away is no finding any more.
        let refused =
            standing_refusals(&self.store, self.store.number()).map_err(Failure::plain)?;
        let gone: BTreeSet<String> = refused
            .into_iter()
            .map(|row| row.file)
            .filter(|file| !self.fleet.root.join(file).exists())
            .collect();
        // Without the place of the fleet on this machine.
        let place = format!(
            "{}/",
            self.fleet.root.display().to_string().trim_end_matches('/')
        );
        let notes = self.fleet.notes.iter();
        let review = Review {
            month: self.stage.month.clone(),
            title: self.fleet.title.clone(),
            min_flights: self.fleet.min_flights,
            governing_gate_ft: self.fleet.review.governing_gate_ft,
            loss_tables: loss_tables(&self.fleet),
            measured_losses: self.fleet.review.loss_rates == LossSource::Measured,
            notes: notes.map(|note| note.replace(&place, "")).collect(),
            gone: gone.into_iter().collect(),
            config_hash: self.fleet.config_hash(),
            ..Review::default()
        };
        self.month_is_there(&review)?;
        let texts = pack_of_texts(&self.fleet, self.stage.rules.as_deref())?;
        let number =
            note_review(&mut self.store, review.clone(), &texts).map_err(Failure::plain)?;
        self.write(number, &review, with_report)
    }

    /// Refuses a month of which nothing is known.
    fn month_is_there(&self, review: &Review) -> Result<(), Failure> {
        let Some(month) = &review.month else {
            return Ok(());
        };
        let rows: Vec<ApproachRow> = read_rows(self.store.root(), &self.store.files("approaches"))
            .map_err(Failure::plain)?;
        let months: BTreeSet<&str> = rows.iter().filter_map(|row| row.month.as_deref()).collect();
        if months.contains(month.as_str()) {
            return Ok(());
        }
        let known = match (months.first(), months.last()) {
            (Some(first), Some(last)) => format!("there are months from {first} to {last}"),
            _ => "no approach has a month: the flight list gives it".to_owned(),
        };
        Err(Failure::text(format!("no approach in {month}; {known}")))
    }

    /// Writes tables, `run.json` and, if asked, the report; prints where to look.
    fn write(&self, number: u64, review: &Review, with_report: bool) -> Result<Outcome, Failure> {
        tracing::info!(stage = "summarise", "begins");
        let mut rows = collect(&self.store, number).map_err(Failure::plain)?;
        rows.quarantine
            .retain(|row| !review.gone.contains(&row.file));
        if let Some(month) = &review.month {
            leave_out_after(&mut rows, month);
        }
        let options = SummaryOptions {
            min_flights: usize::try_from(self.fleet.min_flights).unwrap_or(usize::MAX),
            governing_gate_ft: review.governing_gate_ft,
            ..SummaryOptions::default()
        };
        settle_approaches(
            &mut rows.approaches,
            &rows.measurements,
            &rows.gates,
            review.governing_gate_ft,
        );
        let summary = summarise(&rows.approaches, &rows.measurements, &rows.events, &options);
        let losses = loss_rates(
            &rows.approaches,
            &rows.losses,
            &review.loss_tables,
            &options,
        );
        if review.measured_losses {
            let rates = calibrate(&losses, &review.loss_tables);
            reclassify(&mut rows.checkpoints, &rows.approaches, &rates);
        }
        let energy = energy(
            &EnergyInput {
                approaches: &rows.approaches,
                checkpoints: &rows.checkpoints,
                arrivals: &rows.arrivals,
                lever_moves: &rows.lever_moves,
                measurements: &rows.measurements,
                gates: &rows.gates,
            },
            &options,
        );
        let subject = Subject {
            fleet: &self.fleet,
            pack: &self.pack,
            invented: invented_rules(),
            rows: &rows,
            summary: &summary,
            options: &options,
            run_number: number,
            rules_hash: pack_hash(&self.pack),
            config_hash: review.config_hash.clone(),
        };
        let mut files = vec![(
            "run.json",
            self.run_json(&subject, review.month.as_deref(), &rows, &summary)?,
        )];
        if with_report {
            tracing::info!(stage = "report", "begins");
            let html = report::render(&report_input(&subject)).map_err(Failure::plain)?;
            files.push(("report.html", html.into_bytes()));
        }
        tracing::info!(stage = "write", "begins");
        write_tables(&self.stage.out, &rows, &summary, &energy, &losses, &files)
            .map_err(Failure::plain)?;
        if rows.approaches.is_empty() {
            note_to_stderr(
                self.global,
                "no approach was found: see restricted/tables/quarantine.csv, and quality.csv for \
                 what was recorded",
            )?;
        }
        let place = self.stage.out.join("share");
        let result = if with_report {
            place.join("report.html")
        } else {
            place.join("tables")
        };
        if !rows.quarantine.is_empty() {
            let text = "what was refused, and why: restricted/tables/quarantine.csv";
            note_to_stderr(self.global, text)?;
        }
        if !rows.suspects.is_empty() {
            let text = format!(
                "{} events are seen only in samples that were taken out as faulty: \
                 restricted/tables/suspect.csv",
                rows.suspects.len()
            );
            note_to_stderr(self.global, &text)?;
        }
        let result = result.display().to_string();
        if self.global.format == Format::Table {
            print(self.global, &format!("{result}\n"))?;
        } else {
            let mut sheet = Sheet::new(&["result"]);
            sheet.row([result]);
            sheet.print(self.global)?;
        }
        Ok(findings(&rows))
    }

    fn run_json(
        &self,
        subject: &Subject<'_>,
        month: Option<&str>,
        rows: &Collected,
        summary: &Summary,
    ) -> Result<Vec<u8>, Failure> {
        // By content alone: a file may be named after its flight.
        let inputs: BTreeSet<String> = loaded_inputs(&self.store).into_values().collect();
        let rules: Vec<_> = self
            .pack
            .iter()
            .map(|rule| {
                serde_json::json!({
                    "id": rule.id, "version": rule.version, "hash": rule.text_hash,
                    "limits": rule.limits,
                    "overrides": rule.overrides.iter().map(|one| serde_json::json!({
                        "aircraft_type": one.aircraft_type, "airport": one.airport,
                        "runway": one.runway, "limits": one.limits, "why": one.why,
                    })).collect::<Vec<_>>(),
                })
            })
            .collect();
        let json = serde_json::json!({
            "program": { "name": "glidetally", "version": env!("CARGO_PKG_VERSION") },
            "run": subject.run_number,
            "month": month,
            "rules_hash": subject.rules_hash,
            "config_hash": subject.config_hash,
            "rules": rules,
            "thresholds": {
                "min_flights": subject.options.min_flights,
                "min_tail_days": subject.options.min_tail_days,
                "confidence": subject.options.confidence,
            },
            "counts": {
                "flights": rows.flights.len(),
                "approaches": rows.approaches.len(),
                "measurements": rows.measurements.len(),
                "events": rows.events.len(),
                "quarantined": rows.quarantine.len(),
                "rates": summary.rates.len(),
            },
            "inputs": inputs,
        });
        let mut bytes = serde_json::to_vec_pretty(&json).map_err(Failure::plain)?;
        bytes.push(b'\n');
        Ok(bytes)
    }
}

/// What every type loses by its table.
fn loss_tables(fleet: &Fleet) -> LossTable {
    let types = fleet.aircraft.iter();
    types
        .map(|(name, aircraft)| (name.clone(), aircraft.loss_ft_per_nm.clone()))
        .collect()
}

/// Leaves out every approach after `month`; those without a month stay, as they are in no trend.
fn leave_out_after(rows: &mut Collected, month: &str) {
    rows.approaches
        .retain(|row| row.month.as_deref().is_none_or(|own| own <= month));
    let kept: BTreeSet<(String, i32)> = rows
        .approaches
        .iter()
        .map(|row| (row.flight_id.clone(), row.approach_no))
        .collect();
    let is_kept = |flight: &String, number: i32| kept.contains(&(flight.clone(), number));
    rows.measurements
        .retain(|row| is_kept(&row.flight_id, row.approach_no));
    rows.events
        .retain(|row| is_kept(&row.flight_id, row.approach_no));
    rows.gates
        .retain(|row| is_kept(&row.flight_id, row.approach_no));
    rows.suspects
        .retain(|row| is_kept(&row.flight_id, row.approach_no));
    rows.checkpoints
        .retain(|row| is_kept(&row.flight_id, row.approach_no));
    rows.lever_moves
        .retain(|row| is_kept(&row.flight_id, row.approach_no));
    rows.losses
        .retain(|row| is_kept(&row.flight_id, row.approach_no));
    rows.arrivals
        .retain(|row| is_kept(&row.flight_id, row.approach_no));
}
