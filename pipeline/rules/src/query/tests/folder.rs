//! The folder, made by hand.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use datafusion::arrow::array::{
    ArrayRef, Float32Array, Float64Array, Int64Array, RecordBatch, StringArray,
};
use parquet::arrow::ArrowWriter;
use tempfile::TempDir;

use super::super::{Session, Sources};
use crate::detect::EngineOptions;
use crate::store::{Run, Store};

pub(super) struct Made {
    pub(super) folder: TempDir,
}

fn texts(values: &[&str]) -> ArrayRef {
    Arc::new(StringArray::from(values.to_vec()))
}

pub(super) fn write(path: &Path, columns: Vec<(&str, ArrayRef)>) {
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    let batch = RecordBatch::try_from_iter_with_nullable(
        columns
            .into_iter()
            .map(|(name, column)| (name, column, true)),
    )
    .unwrap();
    let file = std::fs::File::create(path).unwrap();
    let mut writer = ArrowWriter::try_new(file, batch.schema(), None).unwrap();
    writer.write(&batch).unwrap();
    writer.close().unwrap();
}

impl Made {
    /// `share/` alone.
    pub(super) fn share() -> Self {
        let folder = TempDir::new().unwrap();
        let tables = folder.path().join("share/tables");
        let rates: ArrayRef = Arc::new(Float64Array::from(vec![
            Some(1.0 / 3.0),
            None,
            Some(-0.0),
            Some(123_456_789.0),
        ]));
        write(
            &tables.join("rates.parquet"),
            vec![
                ("rule", texts(&["b", "a", "c", "a"])),
                ("rate_per_1000", rates),
                (
                    "evaluable",
                    Arc::new(Int64Array::from(vec![10, 20, 30, 40])),
                ),
            ],
        );
        write(
            &tables.join("robustness.parquet"),
            vec![("rule", texts(&["a"]))],
        );
        Self { folder }
    }

    /// With the restricted tables too.
    pub(super) fn restricted() -> Self {
        let made = Self::share();
        let tables = made.folder.path().join("restricted/tables");
        write(
            &tables.join("approaches.parquet"),
            vec![
                ("flight_id", texts(&["f1", "f2"])),
                ("airport", texts(&["QXA", "QXB"])),
            ],
        );
        write(
            &tables.join("events.parquet"),
            vec![("flight_id", texts(&["f1"])), ("rule", texts(&["a"]))],
        );
        write(
            &tables.join("robustness.parquet"),
            vec![("flight_id", texts(&["f1"]))],
        );
        made
    }

    /// And with a store: two files of samples that a run names, the older without a column, and one that none
    /// does.
    pub(super) fn whole() -> Self {
        let made = Self::restricted();
        let root = made.store();
        let mut store = Store::open(&root).unwrap();
        let keys = |values: &[i64]| -> ArrayRef { Arc::new(Int64Array::from(values.to_vec())) };
        let speeds: ArrayRef = Arc::new(Float32Array::from(vec![130.1, 131.7]));
        write(
            &root.join("samples/month=2031-01/a.parquet"),
            vec![("approach_key", keys(&[1, 1]))],
        );
        write(
            &root.join("samples/month=2031-02/b.parquet"),
            vec![("approach_key", keys(&[2, 2])), ("cas_kt", speeds)],
        );
        write(
            &root.join("samples/month=2031-02/stray.parquet"),
            vec![("approach_key", keys(&[9]))],
        );
        let files = [
            "samples/month=2031-01/a.parquet",
            "samples/month=2031-02/b.parquet",
        ];
        let run = Run {
            kind: "load".to_owned(),
            added: BTreeMap::from([("samples".to_owned(), files.map(str::to_owned).to_vec())]),
            ..Run::default()
        };
        store.publish(run).unwrap();
        made
    }

    pub(super) fn store(&self) -> std::path::PathBuf {
        self.folder.path().join("restricted/store")
    }

    /// A session with so many threads.
    pub(super) fn session(&self, threads: usize) -> Session {
        let root = self.store();
        let store = root.is_dir().then(|| Store::open_existing(&root).unwrap());
        let sources = Sources::find(self.folder.path(), store.as_ref()).unwrap();
        let options = EngineOptions {
            threads,
            ..EngineOptions::default()
        };
        Session::open(sources, options).unwrap()
    }
}
