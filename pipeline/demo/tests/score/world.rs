//! A fleet's truth and a review of it, put down by hand as the tables that `score` reads.

use std::fs::{File, create_dir_all, write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::datatypes::{FieldRef, Schema};
use demo::{Score, ScoreError, score};
use parquet::arrow::ArrowWriter;
use serde::{Deserialize, Serialize};
use serde_arrow::schema::{SchemaLike, TracingOptions};
use tempfile::TempDir;

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Flown {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) airport: String,
    pub(crate) runway: String,
    pub(crate) aircraft_type: String,
    pub(crate) month: String,
    pub(crate) outcome: String,
    pub(crate) start_s: f64,
    pub(crate) end_s: f64,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Truth {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) rule: String,
    pub(crate) evaluable: bool,
    pub(crate) event: bool,
    pub(crate) worst: Option<f32>,
    pub(crate) limit: Option<f32>,
    pub(crate) margin: Option<f32>,
    pub(crate) band: Option<f32>,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Damage {
    pub(crate) flight_id: String,
    pub(crate) kind: String,
    pub(crate) parameter: Option<String>,
    pub(crate) start_s: Option<f64>,
    pub(crate) end_s: Option<f64>,
    pub(crate) samples: i64,
    pub(crate) file: String,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Listed {
    pub(crate) flight_id: String,
    pub(crate) aircraft_type: String,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Found {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) airport: Option<String>,
    pub(crate) runway: Option<String>,
    pub(crate) outcome: String,
    pub(crate) start_s: f64,
    pub(crate) end_s: f64,
    pub(crate) height_source: String,
    pub(crate) missing_columns: String,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Measurement {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) rule: String,
    pub(crate) status: String,
    pub(crate) worst: Option<f64>,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Gate {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) rule: String,
    pub(crate) criterion: String,
    pub(crate) value: Option<f64>,
    pub(crate) passed: Option<bool>,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Event {
    pub(crate) flight_id: String,
    pub(crate) approach_no: i32,
    pub(crate) rule: String,
    pub(crate) worst_unit: String,
    pub(crate) edge: Option<bool>,
    pub(crate) partial: bool,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Quality {
    pub(crate) flight_id: String,
    pub(crate) parameter: String,
    pub(crate) coverage: f64,
    pub(crate) spikes: i64,
    pub(crate) stuck_s: f64,
    pub(crate) gaps: i64,
    pub(crate) out_of_range: i64,
    pub(crate) stale: i64,
    pub(crate) action: String,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Refusal {
    pub(crate) file: String,
    pub(crate) flight_id: Option<String>,
    pub(crate) reason: String,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Place {
    pub(crate) airport: String,
    pub(crate) runway: Option<String>,
    pub(crate) rule: Option<String>,
    pub(crate) class: Option<String>,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Month {
    pub(crate) rule: Option<String>,
    pub(crate) at_least_level: String,
    pub(crate) month: String,
    pub(crate) group_kind: String,
    pub(crate) signal: Option<String>,
    pub(crate) why_no_signal: Option<String>,
    pub(crate) suppressed: Option<String>,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Slope {
    pub(crate) rule: Option<String>,
    pub(crate) at_least_level: String,
    pub(crate) group_kind: String,
    pub(crate) call: Option<String>,
    pub(crate) why_no_call: Option<String>,
    pub(crate) suppressed: Option<String>,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Change {
    pub(crate) month: String,
    pub(crate) aircraft_type: Option<String>,
    pub(crate) rule: Option<String>,
    pub(crate) signal: Option<String>,
    pub(crate) why_no_signal: Option<String>,
    pub(crate) suppressed: Option<String>,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Recovery {
    pub(crate) group_kind: String,
    pub(crate) group: String,
    pub(crate) month: String,
    pub(crate) share: Option<f64>,
    pub(crate) suppressed: Option<String>,
}

#[derive(Clone, Serialize, Deserialize)]
pub(crate) struct Rate {
    pub(crate) rule: Option<String>,
    pub(crate) at_least_level: String,
    pub(crate) group_kind: String,
    pub(crate) group: String,
    pub(crate) rate_per_1000: Option<f64>,
    pub(crate) ci_low: Option<f64>,
    pub(crate) ci_high: Option<f64>,
}

/// Both sides, before they are written.
#[derive(Default)]
pub(crate) struct World {
    pub(crate) flown: Vec<Flown>,
    pub(crate) truth: Vec<Truth>,
    pub(crate) damages: Option<Vec<Damage>>,
    pub(crate) listed: Option<Vec<Listed>>,
    pub(crate) effects: Option<&'static str>,
    pub(crate) month: Option<&'static str>,
    pub(crate) found: Vec<Found>,
    pub(crate) measurements: Vec<Measurement>,
    pub(crate) gates: Vec<Gate>,
    pub(crate) events: Vec<Event>,
    pub(crate) quality: Vec<Quality>,
    pub(crate) quarantine: Vec<Refusal>,
    pub(crate) places: Vec<Place>,
    pub(crate) months: Vec<Month>,
    pub(crate) slopes: Vec<Slope>,
    pub(crate) changes: Vec<Change>,
    pub(crate) recovery: Vec<Recovery>,
    pub(crate) rates: Vec<Rate>,
}

/// What the truth says of one approach and rule.
#[derive(Clone, Copy)]
pub(crate) enum Says {
    Unknown,
    /// Worst, limit and band; over the limit is an event.
    Known(f32, f32, f32),
}

impl World {
    /// An approach that was flown, and found as it was.
    pub(crate) fn fly(&mut self, flight: &str, number: i32) {
        self.fly_only(flight, number);
        self.find_only(flight, number, number);
    }

    /// An approach that was flown.
    pub(crate) fn fly_only(&mut self, flight: &str, number: i32) {
        self.flown.push(Flown {
            flight_id: flight.into(),
            approach_no: number,
            airport: "ZAAA".into(),
            runway: "09".into(),
            aircraft_type: "one".into(),
            month: "2025-01".into(),
            outcome: "landing".into(),
            start_s: 1_000.0 * f64::from(number),
            end_s: 1_000.0 * f64::from(number) + 600.0,
        });
    }

    /// An approach that was found, at the time of the flown one numbered `at`.
    pub(crate) fn find_only(&mut self, flight: &str, number: i32, at: i32) {
        self.found.push(Found {
            flight_id: flight.into(),
            approach_no: number,
            airport: Some("ZAAA".into()),
            runway: Some("09".into()),
            outcome: "landing".into(),
            start_s: 1_000.0 * f64::from(at) + 10.0,
            end_s: 1_000.0 * f64::from(at) + 602.0,
            height_source: "landing_roll".into(),
            missing_columns: String::new(),
        });
    }

    /// What the truth says.
    pub(crate) fn know(&mut self, flight: &str, number: i32, rule: &str, says: Says) {
        let (worst, limit, band) = match says {
            Says::Unknown => (None, None, None),
            Says::Known(worst, limit, band) => (Some(worst), Some(limit), Some(band)),
        };
        let margin = worst.zip(limit).map(|(worst, limit)| worst - limit);
        self.truth.push(Truth {
            flight_id: flight.into(),
            approach_no: number,
            rule: rule.into(),
            evaluable: margin.is_some(),
            event: margin.is_some_and(|margin| margin > 0.0),
            worst,
            limit,
            margin,
            band,
        });
    }

    /// What the review says; an event also gets its row in `events`.
    pub(crate) fn judge(
        &mut self,
        flight: &str,
        number: i32,
        rule: &str,
        status: &str,
        worst: Option<f64>,
    ) {
        self.measurements.push(Measurement {
            flight_id: flight.into(),
            approach_no: number,
            rule: rule.into(),
            status: status.into(),
            worst,
        });
        if status == "event" {
            self.events.push(Event {
                flight_id: flight.into(),
                approach_no: number,
                rule: rule.into(),
                worst_unit: "ft".into(),
                edge: None,
                partial: false,
            });
        }
    }

    /// A row of `quality` with nothing in it.
    pub(crate) fn sound(flight: &str, parameter: &str) -> Quality {
        Quality {
            flight_id: flight.into(),
            parameter: parameter.into(),
            coverage: 1.0,
            spikes: 0,
            stuck_s: 0.0,
            gaps: 0,
            out_of_range: 0,
            stale: 0,
            action: "none".into(),
        }
    }

    pub(crate) fn damage(&mut self, flight: &str, kind: &str, parameter: Option<&str>, file: &str) {
        self.damages.get_or_insert_default().push(Damage {
            flight_id: flight.into(),
            kind: kind.into(),
            parameter: parameter.map(str::to_owned),
            start_s: None,
            end_s: None,
            samples: 1,
            file: file.into(),
        });
    }

    /// Writes everything and scores it.
    pub(crate) fn score(&self) -> Result<Score, ScoreError> {
        let (_folder, fleet, out) = self.write();
        score(&fleet, &out)
    }

    /// Writes everything: fleet folder and output folder, in a folder that is removed when dropped.
    pub(crate) fn write(&self) -> (TempDir, PathBuf, PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let (fleet, out) = (folder.path().join("fleet"), folder.path().join("out"));
        table(&fleet.join("truth/approaches.parquet"), &self.flown);
        table(&fleet.join("truth/rules.parquet"), &self.truth);
        if let Some(damages) = &self.damages {
            table(&fleet.join("truth/damages.parquet"), damages);
        }
        if let Some(listed) = &self.listed {
            table(&fleet.join("flights.parquet"), listed);
        }
        if let Some(effects) = self.effects {
            write(fleet.join("truth/effects.json"), effects).unwrap();
        }
        let restricted = out.join("restricted/tables");
        table(&restricted.join("approaches.parquet"), &self.found);
        table(&restricted.join("measurements.parquet"), &self.measurements);
        table(&restricted.join("gates.parquet"), &self.gates);
        table(&restricted.join("events.parquet"), &self.events);
        table(&restricted.join("quality.parquet"), &self.quality);
        table(&restricted.join("quarantine.parquet"), &self.quarantine);
        let share = out.join("share/tables");
        table(&share.join("hotspots.parquet"), &self.places);
        table(&share.join("trend_monthly.parquet"), &self.months);
        table(&share.join("trend_slope.parquet"), &self.slopes);
        table(&share.join("interventions.parquet"), &self.changes);
        table(&share.join("recovery.parquet"), &self.recovery);
        table(&share.join("rates.parquet"), &self.rates);
        let run = serde_json::json!({ "month": self.month });
        write(out.join("share/run.json"), run.to_string()).unwrap();
        (folder, fleet, out)
    }
}

fn table<Row: Serialize + for<'de> Deserialize<'de>>(path: &Path, rows: &[Row]) {
    create_dir_all(path.parent().unwrap()).unwrap();
    let fields = Vec::<FieldRef>::from_type::<Row>(TracingOptions::default()).unwrap();
    let schema = Arc::new(Schema::new(fields.clone()));
    let mut writer = ArrowWriter::try_new(File::create(path).unwrap(), schema, None).unwrap();
    if !rows.is_empty() {
        let batch = serde_arrow::to_record_batch(&fields, &rows).unwrap();
        writer.write(&batch).unwrap();
    }
    writer.close().unwrap();
}
