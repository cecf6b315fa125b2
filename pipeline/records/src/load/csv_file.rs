//! Tables of text: columns separated by commas, semicolons or tabs, the first line naming them.
//!
//! Every cell stays text here: what it means is for the parameter map to say, so nothing is
//! guessed from the first rows. An empty cell is unknown. Memory is bounded whatever the file
//! holds: a row has at most [`MAX_ROW_BYTES`], a batch a few megabytes.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufRead, BufReader, Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::Arc;

use arrow::array::{ArrayRef, RecordBatch, RecordBatchOptions, StringBuilder};
use arrow::datatypes::{DataType, Field, Schema};
use csv::{ByteRecord, ErrorKind, Trim};

use super::parquet_file::{MAX_COLUMNS, MAX_FILE_BYTES};

/// Longest row, by judgement: 5,000 columns of 200 characters.
const MAX_ROW_BYTES: u64 = 1 << 20;
const BUFFER_BYTES: usize = 1 << 16;
/// A batch ends with the row that passes one of these.
const BATCH_ROWS: usize = 16_384;
const BATCH_BYTES: usize = 8 << 20;

const NO_TABLE: &str = "not a table of text";
/// In the order in which they are preferred where a header has as many of one as of the other.
const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];

/// An opened table, its header read.
pub(crate) struct CsvFile {
    reader: csv::Reader<Guard>,
    separator: u8,
    late_lines: u64,
    schema: Schema,
}

impl CsvFile {
    /// Opens a table and reads its header.
    pub(super) fn open(path: &Path) -> Result<Self, String> {
        let mut file = File::open(path).map_err(|e| e.to_string())?;
        let bytes = file.metadata().map_err(|e| e.to_string())?.len();
        if bytes > MAX_FILE_BYTES {
            return Err(format!(
                "{bytes} bytes, at most {MAX_FILE_BYTES} are read: split the file"
            ));
        }
        let first = first_line(&mut file)?;
        let separator = separator(&first);
        // The reader counts a line at its line feed, which after a carriage return it takes for the
        // beginning of the next row.
        let late_lines = u64::from(first.ends_with(b"\r\n"));
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(separator)
            .trim(Trim::All)
            .buffer_capacity(BUFFER_BYTES)
            .from_reader(Guard::new(file));
        let header = reader.byte_headers().map_err(|e| worded(&e, 0))?.clone();
        let schema = schema(&header)?;
        Ok(Self {
            reader,
            separator,
            late_lines,
            schema,
        })
    }

    pub(super) fn schema(&self) -> &Schema {
        &self.schema
    }

    /// The rows, with the columns of these indices in rising order.
    pub(super) fn read(self, indices: &[usize]) -> Result<CsvBatches, String> {
        let schema = self.schema.project(indices).map_err(|e| e.to_string())?;
        Ok(CsvBatches {
            reader: self.reader,
            separator: self.separator,
            late_lines: self.late_lines,
            schema: Arc::new(schema),
            indices: indices.to_vec(),
            record: ByteRecord::new(),
        })
    }
}

/// The rows of a table.
pub(crate) struct CsvBatches {
    reader: csv::Reader<Guard>,
    separator: u8,
    late_lines: u64,
    schema: Arc<Schema>,
    indices: Vec<usize>,
    record: ByteRecord,
}

impl CsvBatches {
    pub(super) fn next(&mut self) -> Result<Option<RecordBatch>, String> {
        let mut columns: Vec<StringBuilder> =
            self.indices.iter().map(|_| StringBuilder::new()).collect();
        let (mut rows, mut bytes) = (0, 0);
        while rows < BATCH_ROWS && bytes < BATCH_BYTES {
            let from = self.reader.position().byte();
            self.reader.get_mut().allow(from);
            let more = self.reader.read_byte_record(&mut self.record);
            if !more.map_err(|e| worded(&e, self.late_lines))? {
                break;
            }
            rows += 1;
            bytes += self.record.as_slice().len();
            for ((&index, column), field) in self
                .indices
                .iter()
                .zip(&mut columns)
                .zip(self.schema.fields())
            {
                let cell = self.record.get(index).unwrap_or_default();
                let text = text(cell, self.separator).map_err(|fault| {
                    let line = self.record.position().map_or(0, csv::Position::line);
                    let line = line + self.late_lines;
                    format!("line {line}, column `{}`: {fault}", field.name())
                })?;
                column.append_option((!text.is_empty()).then_some(text));
            }
        }
        if rows == 0 {
            return Ok(None);
        }
        let columns = columns
            .into_iter()
            .map(|mut column| Arc::new(column.finish()) as ArrayRef)
            .collect();
        // A file whose rows are only counted has no column here.
        let options = RecordBatchOptions::new().with_row_count(Some(rows));
        RecordBatch::try_new_with_options(Arc::clone(&self.schema), columns, &options)
            .map(Some)
            .map_err(|e| e.to_string())
    }
}

/// The text of a cell that somebody asked for.
fn text(cell: &[u8], separator: u8) -> Result<&str, String> {
    let text = std::str::from_utf8(cell)
        .map_err(|_| "the text is not UTF-8; save the file as UTF-8".to_owned())?;
    if separator != b',' && has_decimal_comma(text) {
        return Err(format!(
            "`{text}` has a decimal comma; write numbers with a decimal point"
        ));
    }
    Ok(text)
}

/// Whether a cell is a number but for a comma in place of the point.
fn has_decimal_comma(text: &str) -> bool {
    text.matches(',').count() == 1 && text.replace(',', ".").parse::<f64>().is_ok()
}

/// The first line, at most as long as a row may be; what is no text is refused here.
fn first_line(file: &mut File) -> Result<Vec<u8>, String> {
    let mut line = Vec::new();
    BufReader::new(&mut *file)
        .take(MAX_ROW_BYTES)
        .read_until(b'\n', &mut line)
        .map_err(|e| e.to_string())?;
    file.seek(SeekFrom::Start(0)).map_err(|e| e.to_string())?;
    match line.as_slice() {
        [] => return Err(format!("{NO_TABLE}: the file is empty; write it again")),
        [b'P', b'A', b'R', b'1', ..] => {
            return Err(format!(
                "{NO_TABLE}: this is a Parquet file; name it .parquet"
            ));
        }
        [0x1f, 0x8b, ..] | [b'P', b'K', 3, 4, ..] => {
            return Err(format!("{NO_TABLE}: the file is packed; unpack it"));
        }
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => {
            return Err(format!("{NO_TABLE}: this is UTF-16; save it as UTF-8"));
        }
        _ => {}
    }
    if let Some(at) = line.iter().position(|byte| *byte == 0) {
        return Err(zero_byte(at as u64));
    }
    if line.len() as u64 == MAX_ROW_BYTES {
        return Err(long_row());
    }
    Ok(line)
}

/// What stands most often between the quotes of the header.
fn separator(header: &[u8]) -> u8 {
    let mut counts = [0_usize; SEPARATORS.len()];
    let mut quoted = false;
    for byte in header {
        quoted ^= *byte == b'"';
        if let Some(at) = SEPARATORS.iter().position(|s| s == byte && !quoted) {
            counts[at] += 1;
        }
    }
    let mut best = 0;
    for at in 1..counts.len() {
        if counts[at] > counts[best] {
            best = at;
        }
    }
    SEPARATORS[best]
}

/// One text column a name; a column without a name is called by its place.
fn schema(header: &ByteRecord) -> Result<Schema, String> {
    if header.len() > MAX_COLUMNS {
        return Err(format!(
            "{} columns, at most {MAX_COLUMNS} are read",
            header.len()
        ));
    }
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let mut fields = Vec::with_capacity(header.len());
    for (name, place) in header.iter().zip(1..) {
        let name = std::str::from_utf8(name).map_err(|_| {
            format!("line 1, column {place}: the name is not UTF-8; save the file as UTF-8")
        })?;
        let name = match name {
            "" => format!("column {place}"),
            name => name.to_owned(),
        };
        if let Some(first) = seen.insert(name.clone(), place) {
            return Err(format!(
                "line 1: columns {first} and {place} are both called `{name}`; rename one of them"
            ));
        }
        fields.push(Field::new(name, DataType::Utf8, true));
    }
    Ok(Schema::new(fields))
}

/// A fault of the reader with its place, and what to do.
fn worded(error: &csv::Error, late_lines: u64) -> String {
    match error.kind() {
        ErrorKind::Io(error) => error.to_string(),
        ErrorKind::UnequalLengths {
            pos,
            expected_len,
            len,
        } => {
            let line = pos.as_ref().map_or(0, csv::Position::line) + late_lines;
            format!(
                "line {line}: {len} columns, expected {expected_len} as in the header; the line \
                 may be cut off, or a separator stands in a text that is not in quotes"
            )
        }
        _ => error.to_string(),
    }
}

fn zero_byte(at: u64) -> String {
    format!("{NO_TABLE}: byte {} is zero; copy the file again", at + 1)
}

fn long_row() -> String {
    format!("{NO_TABLE}: a row is longer than {MAX_ROW_BYTES} bytes; a quote may not be closed")
}

/// Stops reading at a zero byte, and where a row does not end.
struct Guard {
    file: File,
    given: u64,
    allowed: u64,
}

impl Guard {
    fn new(file: File) -> Self {
        let mut guard = Self {
            file,
            given: 0,
            allowed: 0,
        };
        guard.allow(0);
        guard
    }

    /// Lets a row that begins at this byte be read.
    fn allow(&mut self, from: u64) {
        self.allowed = from + MAX_ROW_BYTES;
    }
}

impl Read for Guard {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        if self.given > self.allowed {
            return Err(std::io::Error::other(long_row()));
        }
        let count = self.file.read(into)?;
        if let Some(at) = into[..count].iter().position(|byte| *byte == 0) {
            return Err(std::io::Error::other(zero_byte(self.given + at as u64)));
        }
        self.given += count as u64;
        Ok(count)
    }
}
