//! The shape of the plan, and that a store which lies is found out.

use std::sync::Arc;

use datafusion::arrow::array::{
    ArrayRef, DictionaryArray, Float64Array, Int32Array, Int64Array, RecordBatch, StringArray,
    new_null_array,
};
use datafusion::arrow::datatypes::{Int32Type, SchemaRef};
use datafusion::physical_plan::displayable;
use records::catalogue::Catalogue;
use records::rows::ApproachRow;
use records::samples;
use tempfile::TempDir;

use super::{DetectError, Engine, EngineOptions, detect};
use crate::rows::MeasurementRow;
use crate::rule_file::{CheckedRule, RuleContext, builtin_pack};
use crate::store::{ApproachBatches, SampleFile, SampleWriter};

fn pack() -> Vec<CheckedRule> {
    builtin_pack(&RuleContext::of(&Catalogue::default())).unwrap()
}

fn approach(schema: &SchemaRef, key: i64, month: &str, n: i32) -> ApproachBatches {
    let rows = usize::try_from(n).unwrap();
    let columns: Vec<ArrayRef> = schema
        .fields()
        .iter()
        .map(|field| -> ArrayRef {
            match field.name().as_str() {
                "approach_key" => Arc::new(Int64Array::from(vec![key; rows])),
                "k" => Arc::new(Int32Array::from_iter_values(0..n)),
                "time_s" => Arc::new(Float64Array::from_iter_values((0..n).map(f64::from))),
                "segment" => Arc::new(DictionaryArray::<Int32Type>::new(
                    Int32Array::from(vec![0; rows]),
                    Arc::new(StringArray::from(vec!["approach"])),
                )),
                _ => new_null_array(field.data_type(), rows),
            }
        })
        .collect();
    ApproachBatches {
        row: ApproachRow {
            approach_key: key,
            flight_id: format!("flight{key}"),
            approach_no: 1,
            month: Some(month.to_owned()),
            n_samples: i64::from(n),
            step_s: 1.0,
            ..ApproachRow::default()
        },
        samples: RecordBatch::try_new(schema.clone(), columns).unwrap(),
        uncleaned: None,
    }
}

/// Three files of one approach each, and the rows they hold.
fn store() -> (TempDir, SchemaRef, Vec<SampleFile>, Vec<ApproachRow>) {
    let folder = TempDir::new().unwrap();
    let schema = samples::schema(&Catalogue::default());
    let mut writer = SampleWriter::new(folder.path().to_owned(), schema.clone());
    let mut rows = Vec::new();
    for (key, month) in [(7, "2025-01"), (3, "2025-02"), (5, "2025-03")] {
        let approach = approach(&schema, key, month, 40);
        rows.push(approach.row.clone());
        writer.push(approach).unwrap();
    }
    let files = writer.finish().unwrap();
    (folder, schema, files, rows)
}

fn engine(threads: usize) -> Engine {
    Engine::new(EngineOptions {
        threads,
        ..EngineOptions::default()
    })
    .unwrap()
}

#[test]
fn the_whole_pack_is_one_aggregate_over_one_scan_without_repartition() {
    let (folder, schema, files, _) = store();
    let names: Vec<String> = files.into_iter().map(|file| file.samples).collect();
    let plan = engine(2)
        .explain(&pack(), &schema, folder.path(), &names)
        .unwrap();
    let text = displayable(plan.as_ref()).indent(false).to_string();
    let count = |word: &str| text.matches(word).count();
    assert_eq!(count("AggregateExec: mode=SinglePartitioned"), 1, "{text}");
    assert_eq!(count("AggregateExec"), 1, "{text}");
    assert_eq!(count("DataSourceExec"), 1, "{text}");
    assert_eq!(count("RepartitionExec"), 0, "{text}");
    assert_eq!(count("SortExec"), 0, "{text}");
    assert!(
        text.contains("file_groups={2 groups"),
        "files are dealt out whole: {text}"
    );
}

#[test]
fn rules_that_cut_alike_share_a_slot() {
    let (folder, schema, ..) = store();
    let engine = engine(1);
    let arguments = |ids: &[&str]| {
        let mut pack = pack();
        pack.retain(|rule| ids.contains(&rule.id.as_str()));
        assert_eq!(pack.len(), ids.len(), "{ids:?}");
        engine.explain_empty(&pack, &schema).unwrap().arguments
    };
    let (gate, alone) = (
        arguments(&["unstable_1000"]),
        arguments(&["bank_high_at_1000"]),
    );
    // Beside `k` and the frame: the crossing of the one ends at 50 ft, and the criterion is the same.
    assert_eq!(arguments(&["unstable_1000", "bank_high_at_1000"]), gate + 1);
    // Two gates at one height share the crossing.
    let two = arguments(&["bank_high_at_1000", "sink_high_at_1000"]);
    assert_eq!((alone, two), (4, 5));
    drop(folder);
}

#[test]
fn the_floor_reads_every_sample_and_only_what_the_pack_reads() {
    let (folder, schema, files, rows) = store();
    let names: Vec<String> = files.into_iter().map(|file| file.samples).collect();
    let engine = engine(2);
    let read = engine.read_only(&pack(), &schema, folder.path(), &names);
    let stored: i64 = rows.iter().map(|row| row.n_samples).sum();
    assert_eq!(i64::try_from(read.unwrap()).unwrap(), stored);
    let bank: Vec<CheckedRule> = pack()
        .into_iter()
        .filter(|rule| rule.id == "bank_high_at_1000")
        .collect();
    let columns = engine.columns_read(&bank, &schema).unwrap();
    let columns: Vec<&str> = columns.iter().map(String::as_str).collect();
    assert_eq!(
        columns,
        [
            "approach_key",
            "distance_to_threshold_nm",
            "height_aal_ft",
            "k",
            "roll_deg",
            "segment",
            "time_s"
        ]
    );
}

#[test]
fn files_in_any_number_and_threads_give_the_same_rows() {
    let (folder, schema, files, rows) = store();
    let names: Vec<String> = files.into_iter().map(|file| file.samples).collect();
    let run = |threads, names: &[String]| -> Vec<MeasurementRow> {
        detect(
            &engine(threads),
            &pack(),
            &schema,
            folder.path(),
            names,
            rows.clone(),
        )
        .unwrap()
        .measurements
    };
    let one = run(1, &names);
    let backwards: Vec<String> = names.iter().rev().cloned().collect();
    assert_eq!(one.len(), 3 * pack().len());
    // What was cleaned is always known.
    let reads_samples = |row: &&MeasurementRow| row.rule != "channel_implausible";
    assert!(
        one.iter()
            .filter(reads_samples)
            .all(|row| row.status == "not_evaluable"),
        "nothing was recorded"
    );
    assert_eq!(one, run(4, &backwards));
}

#[test]
fn a_store_that_holds_fewer_samples_than_it_says_is_found_out() {
    let (folder, schema, files, mut rows) = store();
    let names: Vec<String> = files.into_iter().map(|file| file.samples).collect();
    rows[1].n_samples += 1;
    let error = detect(&engine(2), &pack(), &schema, folder.path(), &names, rows).unwrap_err();
    assert!(
        matches!(
            error,
            DetectError::Samples {
                seen: 40,
                stored: 41,
                ..
            }
        ),
        "{error}"
    );
    assert!(error.to_string().contains("flight3"), "{error}");
}

#[test]
fn uncleaned_samples_are_counted_and_change_nothing() {
    let folder = TempDir::new().unwrap();
    let schema = samples::schema(&Catalogue::default());
    let mut writer = SampleWriter::new(folder.path().to_owned(), schema.clone());
    let mut rows = Vec::new();
    for key in [0, 5, i64::MAX] {
        let mut one = approach(&schema, key, "2025-01", 40);
        if key != 5 {
            one.row.n_uncleaned = 40;
            one.uncleaned = Some(approach(&schema, samples::uncleaned_key(key), "", 40).samples);
        }
        rows.push(one.row.clone());
        writer.push(one).unwrap();
    }
    let names: Vec<String> = writer
        .finish()
        .unwrap()
        .into_iter()
        .map(|f| f.samples)
        .collect();
    let run = |rows| detect(&engine(2), &pack(), &schema, folder.path(), &names, rows);
    let detected = run(rows.clone()).unwrap();
    assert_eq!(detected.measurements.len(), 3 * pack().len());
    assert_eq!(detected.suspects, []);
    rows[0].n_uncleaned = 39;
    let error = run(rows).unwrap_err();
    let counts = matches!(
        error,
        DetectError::Samples {
            seen: 40,
            stored: 39,
            ..
        }
    );
    assert!(counts, "{error}");
}
