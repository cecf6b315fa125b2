//! The last stages of a review: tables, `run.json`, report.

use std::collections::BTreeSet;

use records::fleet::{Fleet, LossSource};
use records::rows::ApproachRow;
use rules::rule_file::Status;
use rules::stages::{
    Collected, collect, loaded_inputs, note_review, pack_hash, standing_refusals, unjudged,
    write_tables,
};
use rules::store::{Review, read_rows};
use rules::summarise::{
    EnergyInput, LossTable, Summary, SummaryOptions, calibrate, energy, loss_rates, reclassify,
    robustness, settle_approaches, summarise,
};

use super::{Run, findings};
use crate::arguments::Format;
use crate::commands::Outcome;
use crate::context::{invented_rules, note_to_stderr, pack_of_texts};
use crate::failure::Failure;
use crate::report_input::{Subject, report_input};
use crate::show::{Sheet, print};

impl Run<'_> {
    /// Notes what this review is made with, and makes it.
    pub(super) fn publish(&mut self, with_report: bool) -> Result<Outcome, Failure> {
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
        let texts = pack_of_texts(&self.fleet, &self.stage.rules)?;
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
    pub(super) fn write(
        &self,
        number: u64,
        review: &Review,
        with_report: bool,
    ) -> Result<Outcome, Failure> {
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
        let on_trial = self.pack.iter().filter(|rule| rule.status == Status::Trial);
        let trial: BTreeSet<String> = on_trial.map(|rule| rule.id.clone()).collect();
        let summary = summarise(
            &rows.approaches,
            &rows.measurements,
            &rows.events,
            &trial,
            &options,
        );
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
        let robustness = robustness(&rows.robustness, &options);
        write_tables(
            &self.stage.out,
            &rows,
            &summary,
            &energy,
            &losses,
            &robustness,
            &files,
        )
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
    rows.robustness
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
