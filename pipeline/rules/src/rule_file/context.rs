//! The names that rules may use, with their units.

use datafusion::arrow::datatypes::DataType;
use records::catalogue::{Catalogue, Column, Storage};
use records::rows::ApproachRow;

use crate::store::rows_to_batch;

/// A column that expressions may name.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnSpec {
    /// As in the table.
    pub name: String,
    /// As in the catalogue: `kt`, `ft/min`, `0/1`, `ratio`, …; `bool` makes it a condition.
    pub unit: String,
    /// A text: only ever compared with texts.
    pub text: bool,
    /// Lowest and highest value it can have, where there are such.
    pub range: Option<(f64, f64)>,
}

/// The columns rules are checked against.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RuleContext {
    /// Columns of samples.
    pub columns: Vec<ColumnSpec>,
    /// Columns of the approach row, for outcomes.
    pub approach_columns: Vec<ColumnSpec>,
}

impl RuleContext {
    /// The columns of a catalogue, and those of the approach row, their kind read off the row itself.
    #[must_use]
    pub fn of(catalogue: &Catalogue) -> Self {
        let columns = catalogue.columns().iter().map(|column| ColumnSpec {
            name: column.name.clone(),
            unit: column.unit.clone(),
            text: column.storage == Storage::Text,
            range: range_of(catalogue, column),
        });
        Self {
            columns: columns.collect(),
            approach_columns: approach_columns(),
        }
    }
}

/// What a column can say: what loading lets through of a recorded one, 0 and 1 of a state.
fn range_of(catalogue: &Catalogue, column: &Column) -> Option<(f64, f64)> {
    let recorded = catalogue.lookup(&column.name);
    let plausible = recorded.map(|parameter| (parameter.low, parameter.high));
    plausible.or((column.unit == "0/1").then_some((0.0, 1.0)))
}

/// The columns of the approach row, their kind read off the row itself.
fn approach_columns() -> Vec<ColumnSpec> {
    let batch = rows_to_batch::<ApproachRow>("approaches", &[]);
    batch
        .map(|batch| {
            let schema = batch.schema();
            let fields = schema.fields().iter();
            fields
                .map(|field| ColumnSpec {
                    name: field.name().clone(),
                    unit: if *field.data_type() == DataType::Boolean {
                        "bool".to_owned()
                    } else {
                        unit_of(field.name())
                    },
                    text: matches!(field.data_type(), DataType::Utf8 | DataType::LargeUtf8),
                    range: None,
                })
                .collect()
        })
        .unwrap_or_default()
}

/// The unit a column name ends in.
fn unit_of(name: &str) -> String {
    const ENDINGS: [(&str, &str); 8] = [
        ("_fpm", "ft/min"),
        ("_ft", "ft"),
        ("_deg", "deg"),
        ("_kt", "kt"),
        ("_nm", "NM"),
        ("_g", "g"),
        ("_s", "s"),
        ("_ratio", "ratio"),
    ];
    let unit = ENDINGS.iter().find(|(ending, _)| name.ends_with(ending));
    unit.map(|(_, unit)| (*unit).to_owned()).unwrap_or_default()
}
