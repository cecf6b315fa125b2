//! `review` and its stages: load, detect, summarise, report.

use std::collections::BTreeSet;
use std::path::Path;

use indicatif::ProgressBar;
use records::fleet::Fleet;
use records::pipeline::input_files;
use records::samples;
use rules::rule_file::CheckedRule;
use rules::stages::{
    Collected, collect, detect_new, load, pack_hash, restricted_folder, unjudged, write_tables,
};
use rules::store::Store;
use rules::summarise::{Summary, SummaryOptions, summarise};

use super::Outcome;
use crate::arguments::{Global, Stage};
use crate::context::{engine, note_to_stderr, open_fleet, open_store, pack};
use crate::failure::Failure;
use crate::progress::bar;
use crate::report_input::{Subject, report_input};
use crate::show::print;

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

pub(crate) fn summarise_only(global: &Global, stage: &Stage) -> Result<Outcome, Failure> {
    Run::open(global, stage)?.publish(false)
}

pub(crate) fn report_only(global: &Global, stage: &Stage) -> Result<Outcome, Failure> {
    Run::open(global, stage)?.publish(true)
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
        let fleet = open_fleet(global, &stage.fleet)?;
        let pack = pack(&fleet, stage.rules.as_deref())?;
        writable(&stage.out)?;
        restricted_folder(&stage.out).map_err(Failure::plain)?;
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
        let inputs = input_files(&self.fleet).map_err(Failure::diagnostic)?;
        let progress: ProgressBar = bar(self.global, "loading", "files");
        let report = load(&self.fleet, &inputs, &mut self.store, &|at| {
            progress.set_length(at.files_total as u64);
            progress.set_position(at.files as u64);
            progress.set_message(format!("({} flights)", at.flights));
        })
        .map_err(Failure::plain)?;
        progress.finish_and_clear();
        if !report.left_out.is_empty() {
            let columns = report.left_out.iter();
            let named: Vec<String> = columns
                .map(|(name, files)| format!("{name} ({files} files)"))
                .collect();
            let text = format!(
                "columns that no map names were left out: {}",
                named.join(", ")
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
                self.pack.len(),
                report.events
            ),
        )
    }

    /// Writes tables, `run.json` and, if asked, the report; prints where to look.
    fn publish(&self, with_report: bool) -> Result<Outcome, Failure> {
        let (left, files) = unjudged(&self.store, &self.pack);
        if left > 0 {
            return Err(Failure::text(format!(
                "{left} of {files} store files are not judged by this rule pack: run `glidetally \
                 detect` with the same options first, or `glidetally review` for everything"
            )));
        }
        let number = self.store.number();
        let mut rows = collect(&self.store, number).map_err(Failure::plain)?;
        if let Some(month) = &self.stage.month {
            leave_out_after(&mut rows, month);
        }
        let options = SummaryOptions {
            min_flights: usize::try_from(self.fleet.min_flights).unwrap_or(usize::MAX),
            ..SummaryOptions::default()
        };
        let summary = summarise(&rows.approaches, &rows.measurements, &rows.events, &options);
        let subject = Subject {
            fleet: &self.fleet,
            pack: &self.pack,
            builtin_pack: self.stage.rules.is_none() && self.fleet.rules.is_none(),
            rows: &rows,
            summary: &summary,
            options: &options,
            run_number: number,
            rules_hash: pack_hash(&self.pack),
            config_hash: self.fleet.config_hash(),
        };
        let mut files = vec![("run.json", self.run_json(&subject, &rows, &summary)?)];
        if with_report {
            let html = report::render(&report_input(&subject)).map_err(Failure::plain)?;
            files.push(("report.html", html.into_bytes()));
        }
        write_tables(&self.stage.out, &rows, &summary, &files).map_err(Failure::plain)?;
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
        print(self.global, &format!("{}\n", result.display()))?;
        Ok(findings(&rows))
    }

    fn run_json(
        &self,
        subject: &Subject<'_>,
        rows: &Collected,
        summary: &Summary,
    ) -> Result<Vec<u8>, Failure> {
        // By content alone: a file may be named after its flight.
        let inputs: BTreeSet<&String> = self
            .store
            .runs()
            .iter()
            .flat_map(|run| &run.inputs)
            .map(|input| &input.hash)
            .collect();
        let rules: Vec<_> = self
            .pack
            .iter()
            .map(|rule| {
                serde_json::json!({
                    "id": rule.id, "version": rule.version, "hash": rule.text_hash,
                    "limits": rule.limits,
                })
            })
            .collect();
        let json = serde_json::json!({
            "program": { "name": "glidetally", "version": env!("CARGO_PKG_VERSION") },
            "run": subject.run_number,
            "month": self.stage.month,
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

/// Refuses an output folder before any work is done.
fn writable(out: &Path) -> Result<(), Failure> {
    let refuse = |error: std::io::Error| {
        Failure::text(format!(
            "cannot write to the output folder {}: {error}; choose another with --out",
            out.display()
        ))
    };
    std::fs::create_dir_all(out).map_err(refuse)?;
    let probe = out.join(".glidetally-probe");
    std::fs::write(&probe, b"").map_err(refuse)?;
    std::fs::remove_file(&probe).map_err(refuse)
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
}
