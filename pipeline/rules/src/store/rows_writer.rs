//! Rows of one table that come a few at a time, in files that are written as soon as there are enough for one.

use std::path::PathBuf;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::StoreError;
use super::files::write_rows_file;
use super::run::Run;

/// A file is written at so many rows: what waits in memory does not grow with what is loaded.
const ROWS_PER_FILE: usize = 32_768;

/// Collects the rows of a table.
pub(crate) struct RowsWriter<T> {
    root: PathBuf,
    table: &'static str,
    rows: Vec<T>,
    files: Vec<String>,
    written: usize,
}

impl<T: Serialize + DeserializeOwned> RowsWriter<T> {
    /// A writer of `table` below the store folder `root`.
    pub(crate) fn new(root: PathBuf, table: &'static str) -> Self {
        Self {
            root,
            table,
            rows: Vec::new(),
            files: Vec::new(),
            written: 0,
        }
    }

    /// How many rows it was given.
    pub(crate) fn count(&self) -> usize {
        self.written + self.rows.len()
    }

    /// Takes some rows; those that are given at once stay together.
    ///
    /// # Errors
    /// A full file cannot be written.
    pub(crate) fn extend(&mut self, rows: impl IntoIterator<Item = T>) -> Result<(), StoreError> {
        self.rows.extend(rows);
        if self.rows.len() >= ROWS_PER_FILE {
            self.flush()?;
        }
        Ok(())
    }

    /// Writes what is left, and adds every file to `run`.
    ///
    /// # Errors
    /// The file cannot be written.
    pub(crate) fn finish(mut self, run: &mut Run) -> Result<(), StoreError> {
        self.flush()?;
        run.add(self.table, None);
        for file in self.files {
            run.add(self.table, Some(file));
        }
        Ok(())
    }

    fn flush(&mut self) -> Result<(), StoreError> {
        let rows = std::mem::take(&mut self.rows);
        self.written += rows.len();
        self.files
            .extend(write_rows_file(&self.root, self.table, &rows)?);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::read_rows;
    use records::rows::HeaderRow;

    fn row(number: usize) -> HeaderRow {
        HeaderRow {
            flight_id: number.to_string(),
            ..HeaderRow::default()
        }
    }

    #[test]
    fn all_rows_are_written_in_their_order_and_no_more_than_a_file_waits() {
        let folder = tempfile::tempdir().unwrap();
        let mut writer = RowsWriter::new(folder.path().to_owned(), "headers");
        let all = 2 * ROWS_PER_FILE + 7;
        for number in 0..all {
            writer.extend([row(number)]).unwrap();
            assert!(writer.rows.len() < ROWS_PER_FILE);
        }
        assert_eq!(writer.count(), all);
        let mut run = Run::default();
        writer.finish(&mut run).unwrap();
        let files = &run.added["headers"];
        assert_eq!(files.len(), 3);
        let rows: Vec<HeaderRow> = read_rows(folder.path(), files).unwrap();
        assert_eq!(rows.len(), all);
        assert!(
            rows.iter()
                .enumerate()
                .all(|(number, one)| *one == row(number))
        );
    }

    #[test]
    fn without_rows_there_is_no_file() {
        let folder = tempfile::tempdir().unwrap();
        let writer = RowsWriter::<HeaderRow>::new(folder.path().to_owned(), "headers");
        let mut run = Run::default();
        writer.finish(&mut run).unwrap();
        assert!(run.added["headers"].is_empty());
    }
}
