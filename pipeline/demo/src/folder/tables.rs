//! Parquet files of the fleet folder: sample files by type and month, and the small tables.

use crate::DemoError;
use crate::channels::is_split;
use crate::damage::Place;
use crate::flight::Flight;
use crate::world::types::TYPE_COUNT;
use arrow::datatypes::{DataType, FieldRef, SchemaRef};
use arrow::record_batch::RecordBatch;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_writer::ArrowWriterOptions;
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::schema::types::ColumnPath;
use serde::{Deserialize, Serialize};
use serde_arrow::schema::{SchemaLike, TracingOptions};
use std::fs::{File, create_dir_all};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Rows of a small table that are held before they are written.
const TABLE_ROWS: usize = 50_000;

fn properties(schema: &SchemaRef, content: Content) -> Result<WriterProperties, DemoError> {
    // Nobody looks for a value in samples: they are read whole, and statistics would be a tenth of
    // a small file.
    let (level, statistics) = match content {
        Content::Samples => (15, EnabledStatistics::None),
        Content::Rows => (9, EnabledStatistics::Chunk),
    };
    let mut properties = WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::try_new(level)?))
        .set_statistics_enabled(statistics)
        .set_offset_index_disabled(content == Content::Samples)
        // The library's version would make the bytes depend on it.
        .set_created_by("glidetally demo".to_owned())
        .set_max_row_group_row_count(Some(120_000));
    for field in schema.fields() {
        // Numbers compress best byte by byte, unless few values occur; whole numbers that rise do by
        // their differences.
        let encoding = match field.data_type() {
            DataType::Float32 if is_split(field.name()) => Encoding::BYTE_STREAM_SPLIT,
            DataType::Float64 if content == Content::Samples => Encoding::BYTE_STREAM_SPLIT,
            DataType::Int64 => Encoding::DELTA_BINARY_PACKED,
            _ => continue,
        };
        let column = ColumnPath::from(field.name().as_str());
        properties = properties
            .set_column_dictionary_enabled(column.clone(), false)
            .set_column_encoding(column, encoding);
    }
    Ok(properties.build())
}

/// What a file holds.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Content {
    Samples,
    Rows,
}

/// Sample files, written as flights come: one a month for each type, and single flights apart.
pub(crate) struct SampleFiles {
    records: PathBuf,
    open: [Option<(String, ArrowWriter<File>)>; TYPE_COUNT],
}

impl SampleFiles {
    /// Files under `records`.
    pub(crate) fn new(records: PathBuf) -> Self {
        Self {
            records,
            open: std::array::from_fn(|_| None),
        }
    }

    /// Writes one flight's samples; returns the damaged file, else the one they went to, relative to
    /// the fleet folder.
    ///
    /// # Errors
    /// When a file cannot be written.
    pub(crate) fn write(&mut self, flight: &Flight) -> Result<String, DemoError> {
        let kind = &flight.header.aircraft_type;
        let place = flight
            .damage
            .as_ref()
            .map_or(Place::Usual, |damage| damage.place);
        if place == Place::Usual {
            let file = self.write_usual(flight)?;
            return Ok(format!("records/{kind}/{file}"));
        }
        let mut file = format!("damaged/{}.parquet", flight.header.flight_id);
        if let Place::Copied { renamed } = place {
            self.write_usual(flight)?;
            if renamed {
                file = format!("damaged/{} (1).parquet", flight.header.flight_id);
            }
        }
        let path = self.records.join(kind).join(&file);
        write_alone(&path, &flight.samples)?;
        if let Place::CutOff(share) = place {
            cut_off(&path, share)?;
        }
        Ok(format!("records/{kind}/{file}"))
    }

    fn write_usual(&mut self, flight: &Flight) -> Result<String, DemoError> {
        let folder = self.records.join(&flight.header.aircraft_type);
        let with_id = flight.samples.schema().field(0).data_type() == &DataType::Utf8;
        if !with_id {
            let file = format!("single/{}.parquet", flight.header.flight_id);
            write_alone(&folder.join(&file), &flight.samples)?;
            return Ok(file);
        }
        let slot = &mut self.open[flight.type_index];
        if slot
            .as_ref()
            .is_none_or(|(month, _)| *month != flight.header.month)
        {
            if let Some((_, writer)) = slot.take() {
                writer.close()?;
            }
            let path = folder.join(format!("{}.parquet", flight.header.month));
            *slot = Some((
                flight.header.month.clone(),
                open(&path, &flight.samples.schema(), Content::Samples)?,
            ));
        }
        if let Some((_, writer)) = slot {
            writer.write(&flight.samples)?;
        }
        Ok(format!("{}.parquet", flight.header.month))
    }

    /// Closes what is open.
    ///
    /// # Errors
    /// When a footer cannot be written.
    pub(crate) fn finish(self) -> Result<(), DemoError> {
        for (_, writer) in self.open.into_iter().flatten() {
            writer.close()?;
        }
        Ok(())
    }
}

/// A file of one flight.
fn write_alone(path: &Path, samples: &RecordBatch) -> Result<(), DemoError> {
    let mut writer = open(path, samples.schema_ref(), Content::Samples)?;
    writer.write(samples)?;
    writer.close()?;
    Ok(())
}

/// Leaves a share of a file's bytes.
fn cut_off(path: &Path, share: f64) -> Result<(), DemoError> {
    let cut = || {
        let file = File::options().write(true).open(path)?;
        let length = file.metadata()?.len();
        file.set_len((length as f64 * share) as u64)
    };
    cut().map_err(|source| DemoError::File {
        path: path.to_owned(),
        source,
    })
}

fn open(path: &Path, schema: &SchemaRef, content: Content) -> Result<ArrowWriter<File>, DemoError> {
    if let Some(folder) = path.parent() {
        create_dir_all(folder).map_err(|source| DemoError::File {
            path: folder.to_owned(),
            source,
        })?;
    }
    let file = File::create(path).map_err(|source| DemoError::File {
        path: path.to_owned(),
        source,
    })?;
    let options = ArrowWriterOptions::new()
        .with_properties(properties(schema, content)?)
        // Parquet's own types tell all there is to tell.
        .with_skip_arrow_metadata(content == Content::Samples);
    Ok(ArrowWriter::try_new_with_options(
        file,
        schema.clone(),
        options,
    )?)
}

/// A small table, written in pieces.
pub(crate) struct Table<Row> {
    writer: ArrowWriter<File>,
    fields: Vec<FieldRef>,
    rows: Vec<Row>,
}

impl<Row: Serialize + for<'de> Deserialize<'de>> Table<Row> {
    /// Opens the table's file.
    ///
    /// # Errors
    /// When the file cannot be created.
    pub(crate) fn create(path: &Path) -> Result<Self, DemoError> {
        let fields = Vec::<FieldRef>::from_type::<Row>(
            TracingOptions::default().strings_as_large_utf8(false),
        )?;
        let schema = Arc::new(arrow::datatypes::Schema::new(fields.clone()));
        Ok(Self {
            writer: open(path, &schema, Content::Rows)?,
            fields,
            rows: Vec::new(),
        })
    }

    /// Adds rows.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub(crate) fn extend(&mut self, rows: impl IntoIterator<Item = Row>) -> Result<(), DemoError> {
        self.rows.extend(rows);
        if self.rows.len() >= TABLE_ROWS {
            self.flush()
        } else {
            Ok(())
        }
    }

    fn flush(&mut self) -> Result<(), DemoError> {
        let batch: RecordBatch = serde_arrow::to_record_batch(&self.fields, &self.rows)?;
        self.writer.write(&batch)?;
        self.rows.clear();
        Ok(())
    }

    /// Writes what is left and closes the file.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub(crate) fn finish(mut self) -> Result<(), DemoError> {
        if !self.rows.is_empty() {
            self.flush()?;
        }
        self.writer.close()?;
        Ok(())
    }
}
