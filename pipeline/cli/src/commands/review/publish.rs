//! The last stages of a review: tables, `run.json`, report.

use std::collections::{BTreeMap, BTreeSet};

use records::fleet::{Fleet, LossSource};
use rules::against::{RunMarks, Tables, against, not_newer};
use rules::headline::withheld;
use rules::rule_file::{CheckedRule, Status};
use rules::stages::{
    Before, FlightRow, Noted, Summaries, before, collect, months, note_review, pack_hash,
    standing_refusals, unjudged, write_tables,
};
use rules::store::{Review, read_rows};
use rules::summarise::{
    EnergyInput, LossTable, RuleNote, Summary, SummaryInput, SummaryOptions, calibrate, conduct,
    energy, flown_counts, loss_rates, recovery, restated, robustness, settle_approaches, summarise,
};

use super::examples::examples;
use super::headlines::{as_json, headlines};
use super::{Run, Writes, findings};
use crate::arguments::Format;
use crate::commands::Outcome;
use crate::context::{invented_rules, note_to_stderr, pack_of_texts};
use crate::failure::Failure;
use crate::report_input::{Compared, Subject, report_input};
use crate::show::{Sheet, print};

impl Run<'_> {
    /// Notes what this review is made with, and makes it.
    pub(super) fn publish(&mut self, writes: Writes) -> Result<Outcome, Failure> {
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
        let months = self.months()?;
        let review = Review {
            latest_month: self.stage.month.clone().or(months.last().cloned()),
            month: self.stage.month.clone(),
            title: self.fleet.title.clone(),
            min_flights: self.fleet.min_flights,
            governing_gate_ft: self.fleet.review.governing_gate_ft,
            loss_tables: loss_tables(&self.fleet),
            measured_losses: self.fleet.review.loss_rates == LossSource::Measured,
            flags: self.fleet.review.flags.clone(),
            notes: notes.map(|note| note.replace(&place, "")).collect(),
            gone: gone.into_iter().collect(),
            config_hash: self.fleet.config_hash(),
            ..Review::default()
        };
        month_is_there(&review, &months)?;
        self.may_compare(review.latest_month.as_deref())?;
        let texts = pack_of_texts(&self.fleet, &self.stage.rules)?;
        let noted = self.noted()?;
        let number =
            note_review(&mut self.store, review.clone(), &texts, &noted).map_err(Failure::plain)?;
        self.write(number, &review, writes)
    }

    /// Refuses a review to compare with that is of a later month than `latest`.
    pub(super) fn may_compare(&self, latest: Option<&str>) -> Result<(), Failure> {
        let Some(before) = &self.against else {
            return Ok(());
        };
        not_newer(before, latest).map_err(Failure::plain)
    }

    /// What is new, gone or changed against the review that was given, where one was.
    fn compared(&self, run_json: &[u8], summary: &Summary) -> Result<Option<Compared>, Failure> {
        let Some(before) = &self.against else {
            return Ok(None);
        };
        let marks = RunMarks::read(run_json).map_err(Failure::text)?;
        let rows = against(before, &marks, &Tables::from(summary)).map_err(Failure::plain)?;
        Ok(Some(Compared {
            run: before.marks.run,
            month: before.tables().latest_month(),
            settings: marks.settings_since(&before.marks),
            rows,
        }))
    }

    /// What the fleet folder says of the fleet as a whole and of events, for the store to keep.
    fn noted(&self) -> Result<Noted, Failure> {
        let flights: Vec<FlightRow> =
            read_rows(self.store.root(), &self.store.files("flights")).map_err(Failure::plain)?;
        let usable = flights.into_iter().map(|row| row.flight_id).collect();
        let refused = standing_refusals(&self.store, self.store.number())
            .map_err(Failure::plain)?
            .into_iter()
            .filter_map(|row| row.flight_id)
            .collect();
        Ok(Noted {
            flown: flown_counts(&self.fleet.flown, &self.fleet.flights, &usable, &refused),
            interventions: self.fleet.interventions.clone(),
            verdicts: self.fleet.verdicts.clone(),
        })
    }

    /// The months of the approaches in the store.
    fn months(&self) -> Result<BTreeSet<String>, Failure> {
        months(&self.store).map_err(Failure::plain)
    }

    /// Writes tables, `run.json` and, if asked, report and examples; prints where to look.
    pub(super) fn write(
        &self,
        number: u64,
        review: &Review,
        writes: Writes,
    ) -> Result<Outcome, Failure> {
        tracing::info!(stage = "summarise", "begins");
        let mut rows =
            collect(&self.store, number, review.month.as_deref()).map_err(Failure::plain)?;
        rows.quarantine
            .retain(|row| !review.gone.contains(&row.file));
        let options = SummaryOptions {
            min_flights: usize::try_from(self.fleet.min_flights).unwrap_or(usize::MAX),
            governing_gate_ft: review.governing_gate_ft,
            flags: review.flags.clone(),
            ..SummaryOptions::default()
        };
        settle_approaches(
            &mut rows.approaches,
            &rows.measured,
            &rows.gates,
            review.governing_gate_ft,
        );
        let losses = loss_rates(
            &rows.approaches,
            &rows.losses,
            &review.loss_tables,
            &options,
        );
        if review.measured_losses {
            let rates = calibrate(&losses, &review.loss_tables);
            rows.reclassify(rates).map_err(Failure::plain)?;
        }
        let flown = EnergyInput {
            approaches: &rows.approaches,
            checkpoints: &rows.checkpoints,
            arrivals: &rows.arrivals,
            lever_moves: &rows.lever_moves,
            measured: &rows.measured,
            gates: &rows.gates,
        };
        let energy = energy(&flown, &options);
        let conduct = conduct(&flown, energy.gate_rule.as_deref(), &options);
        let rule_notes = notes(&self.pack);
        let input = SummaryInput {
            approaches: &rows.approaches,
            measured: &rows.measured,
            events: &rows.events,
            rules: &rule_notes,
            decisive: &energy.decisive,
            interventions: &rows.interventions,
            verdicts: &rows.verdicts,
        };
        let summary = summarise(&input, &options);
        let latest = review.latest_month.as_deref();
        let before = before(&self.store, number, latest).map_err(Failure::plain)?;
        let restated = match &before {
            Before::Review { earlier, .. } => restated(earlier, &input, &options),
            Before::None | Before::Unreadable { .. } => Vec::new(),
        };
        let recovery = recovery(&rows.flown, latest, &options);
        let mut subject = Subject {
            against: None,
            fleet: &self.fleet,
            pack: &self.pack,
            invented: invented_rules(),
            rows: &rows,
            summary: &summary,
            energy: &energy,
            conduct: &conduct,
            withheld: Vec::new(),
            options: &options,
            run_number: number,
            rules_hash: pack_hash(&self.pack),
            config_hash: review.config_hash.clone(),
            recovery: &recovery,
            restated: &restated,
            before: &before,
        };
        let run_json = self.run_json(&subject, review.month.as_deref(), &rows, &summary)?;
        let compared = self.compared(&run_json, &summary)?;
        subject.against = compared.as_ref();
        let examples = (writes == Writes::Examples)
            .then(|| examples(self, &subject))
            .transpose()?;
        let robustness = robustness(&rows.robustness, &options);
        let written = Summaries {
            summary: &summary,
            energy: &energy,
            conduct: &conduct,
            losses: &losses,
            robustness: &robustness,
            recovery: &recovery,
            restated: &restated,
            against: compared.as_ref().map_or(&[], |compared| &compared.rows),
            examples: examples.as_ref(),
        };
        subject.withheld = withheld(&written);
        let mut headline = headlines(&subject, &written, &rule_notes);
        let mut files = vec![
            ("run.json".to_owned(), run_json),
            ("headline.json".to_owned(), as_json(&headline)?),
        ];
        if writes != Writes::Tables {
            tracing::info!(stage = "report", "begins");
            let rendered = report::render_all(&report_input(&subject)).map_err(Failure::plain)?;
            files.push(("report.html".to_owned(), rendered.report.into_bytes()));
            files.push(("brief.html".to_owned(), rendered.brief.into_bytes()));
            files.extend(rendered.pictures.into_iter().map(|picture| {
                (
                    format!("pictures/{}.svg", picture.name),
                    picture.svg.into_bytes(),
                )
            }));
        }
        tracing::info!(stage = "write", "begins");
        write_tables(&self.stage.out, &rows, &written, &files).map_err(Failure::plain)?;
        if rows.approaches.is_empty() {
            note_to_stderr(
                self.global,
                "no approach was found: see restricted/tables/quarantine.csv, and quality.csv for \
                 what was recorded",
            )?;
        }
        let place = self.stage.out.join("share");
        let result = if writes != Writes::Tables {
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
        if summary.verdicts_without_event > 0 {
            let text = format!(
                "{} rows of verdicts.csv are about no event of this review: the rule no longer fires there, or \
                 flight, approach or rule is written otherwise",
                summary.verdicts_without_event
            );
            note_to_stderr(self.global, &text)?;
        }
        if let Before::Unreadable { number } = before {
            let text = format!(
                "the review before, run {number}, can no longer be read: `restated` is empty; `glidetally store \
                 log` tells what was taken off the disk"
            );
            note_to_stderr(self.global, &text)?;
        }
        let result = result.display().to_string();
        if self.global.format == Format::Json && writes != Writes::Tables {
            headline.report = Some(result);
            let bytes = as_json(&headline)?;
            print(self.global, &String::from_utf8_lossy(&bytes))?;
        } else if self.global.format == Format::Table {
            print(self.global, &format!("{result}\n"))?;
        } else {
            let mut sheet = Sheet::new(&["result"]);
            sheet.row([result]);
            sheet.print(self.global)?;
        }
        Ok(findings(&rows.quarantine))
    }
}

/// Refuses a month of which nothing is known.
fn month_is_there(review: &Review, months: &BTreeSet<String>) -> Result<(), Failure> {
    let Some(month) = &review.month else {
        return Ok(());
    };
    if months.contains(month) {
        return Ok(());
    }
    let known = match (months.first(), months.last()) {
        (Some(first), Some(last)) => format!("there are months from {first} to {last}"),
        _ => "no approach has a month: the flight list gives it".to_owned(),
    };
    Err(Failure::text(format!("no approach in {month}; {known}")))
}

/// What the summary needs to know of each rule.
fn notes(pack: &[CheckedRule]) -> BTreeMap<String, RuleNote> {
    let note = |rule: &CheckedRule| RuleNote {
        title: rule.title.clone(),
        family: rule.family.clone(),
        topics: rule.topics.clone(),
        trial: rule.status == Status::Trial,
    };
    pack.iter()
        .map(|rule| (rule.id.clone(), note(rule)))
        .collect()
}

/// What every type loses by its table.
fn loss_tables(fleet: &Fleet) -> LossTable {
    let types = fleet.aircraft.iter();
    types
        .map(|(name, aircraft)| (name.clone(), aircraft.loss_ft_per_nm.clone()))
        .collect()
}
