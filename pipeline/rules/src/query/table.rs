//! The files of a table as something the engine can scan, and as a card that says what is in it.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use datafusion::arrow::datatypes::{Schema, SchemaRef};
use datafusion::catalog::TableProvider;
use datafusion::datasource::file_format::parquet::ParquetFormat;
use datafusion::datasource::listing::{
    ListingOptions, ListingTable, ListingTableConfig, ListingTableUrl,
};
use datafusion::error::DataFusionError;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::sources::{Origin, Source};
use super::{QueryError, QueryFault};

/// What a table holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableCard {
    /// Where it is from.
    pub origin: Origin,
    /// Its name without prefix.
    pub name: String,
    /// Whether the name means it without a prefix too.
    pub plain: bool,
    /// Names and types of its columns, in order; the types in the engine's words.
    pub columns: Vec<(String, String)>,
    /// Number of rows.
    pub rows: u64,
}

/// Schema and number of rows of some files, from their footers alone.
///
/// Files of one table may have been written by different versions: a column that some lack is null there.
pub(super) fn schema_and_rows(files: &[PathBuf]) -> Result<(SchemaRef, u64), QueryError> {
    let mut schema = Schema::empty();
    let mut rows = 0;
    for path in files {
        let refuse = |detail: String| QueryError::File {
            path: path.clone(),
            detail,
        };
        let file = File::open(path).map_err(|error| refuse(error.to_string()))?;
        let reader = ParquetRecordBatchReaderBuilder::try_new(file)
            .map_err(|error| refuse(error.to_string()))?;
        let counted = reader.metadata().file_metadata().num_rows();
        rows += u64::try_from(counted).unwrap_or_default();
        let own = Schema::new(reader.schema().fields().clone());
        schema = Schema::try_merge([schema, own]).map_err(|error| refuse(error.to_string()))?;
    }
    Ok((Arc::new(schema), rows))
}

impl TableCard {
    /// Looks into the footers of the files.
    pub(super) fn of(source: &Source, plain: bool) -> Result<Self, QueryError> {
        let (schema, rows) = schema_and_rows(&source.files)?;
        let fields = schema.fields().iter();
        Ok(Self {
            origin: source.origin,
            name: source.name.clone(),
            plain,
            columns: fields
                .map(|field| (field.name().clone(), field.data_type().to_string()))
                .collect(),
            rows,
        })
    }
}

/// A table of exactly these files.
///
/// # Errors
/// It has no file: nothing is known of its columns then.
pub(super) fn provider(
    source: &Source,
    (query, text): (&str, &str),
) -> Result<Arc<dyn TableProvider>, QueryError> {
    if source.files.is_empty() {
        let prefix = source.origin.prefix();
        let message = format!("table `{prefix}.{}` is empty in this store", source.name);
        return Err(QueryFault::new(query, text, message).into());
    }
    let (schema, _) = schema_and_rows(&source.files)?;
    let built = || -> Result<Arc<dyn TableProvider>, DataFusionError> {
        let urls: Vec<ListingTableUrl> = source
            .files
            .iter()
            .map(|file| ListingTableUrl::parse(url(&std::path::absolute(file)?)))
            .collect::<Result<_, DataFusionError>>()?;
        let listing =
            ListingOptions::new(Arc::new(ParquetFormat::default())).with_file_extension(".parquet");
        let config = ListingTableConfig::new_with_multi_paths(urls)
            .with_listing_options(listing)
            .with_schema(schema.clone());
        Ok(Arc::new(ListingTable::try_new(config)?))
    };
    built().map_err(|error| QueryError::Engine {
        detail: error.to_string(),
    })
}

/// An absolute path as a URL. A bare path would be taken for a pattern where it holds `*`, `?` or `[`.
fn url(path: &Path) -> String {
    let text = path.to_string_lossy().replace('\\', "/");
    let mut url = String::from("file://");
    if !text.starts_with('/') {
        url.push('/');
    }
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'/' | b'-' | b'_' | b'.' | b'~' | b':') {
            url.push(char::from(byte));
        } else {
            url.push_str(&format!("%{byte:02X}"));
        }
    }
    url
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::url;

    #[test]
    fn a_path_with_signs_of_patterns_stays_a_path() {
        assert_eq!(
            url(Path::new("/a b/[x]*?/é.parquet")),
            "file:///a%20b/%5Bx%5D%2A%3F/%C3%A9.parquet"
        );
    }
}
