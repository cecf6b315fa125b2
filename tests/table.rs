//! Output tables as maps of text, read from their CSV.

use std::collections::BTreeMap;
use std::path::Path;

/// One row, column to text; an empty text is null.
pub(crate) type Row = BTreeMap<String, String>;

pub(crate) fn read(path: &Path) -> Vec<Row> {
    let mut reader =
        csv::Reader::from_path(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    reader
        .deserialize()
        .map(|row| row.expect("a row of the table"))
        .collect()
}

/// A number of a row; `None` for null.
pub(crate) fn number(row: &Row, column: &str) -> Option<f64> {
    let text = row
        .get(column)
        .unwrap_or_else(|| panic!("no column {column} in {row:?}"));
    (!text.is_empty()).then(|| text.parse().unwrap_or_else(|_| panic!("{column}: {text}")))
}

/// A column of texts of a Parquet file; empty where the file has no such column.
pub(crate) fn parquet_column(path: &Path, column: &str) -> Vec<String> {
    use arrow::array::AsArray;
    let file = std::fs::File::open(path).expect("a file");
    let reader = parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder::try_new(file)
        .expect("Parquet")
        .build()
        .expect("rows");
    let mut texts = Vec::new();
    for batch in reader {
        let batch = batch.expect("rows");
        if let Some(found) = batch.column_by_name(column) {
            let found = arrow::compute::cast(found, &arrow::datatypes::DataType::Utf8);
            let found = found.expect("a text");
            texts.extend(found.as_string::<i32>().iter().flatten().map(str::to_owned));
        }
    }
    texts
}
