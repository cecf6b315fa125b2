//! What one `s` argument carries, and the Arrow types that follow from it.

use std::collections::BTreeSet;

use arrow::datatypes::{DataType, Field, Fields};

use super::error::RunsError;

/// Name of the first field of every `s` argument, and of the code in a run.
pub const CODE: &str = "code";
/// Prefix of the fields that are tracked.
pub const VALUE_PREFIX: &str = "v_";
/// Prefix of the fields that are carried to the extremes.
pub const CARRIED_PREFIX: &str = "c_";

/// Fields of a run before those of its values: `k_first`, `k_last`, `code`.
pub(super) const RUN_HEAD: usize = 3;
/// Fields of a value before the carried ones: first, last, min, min_k, max, max_k, n.
pub(super) const VALUE_HEAD: usize = 7;

/// The names of the tracked and carried values of one `s` argument, without their prefixes.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Layout {
    /// Tracked values, in the order of the argument's fields.
    pub values: Vec<String>,
    /// Values carried to every extreme, in the order of the argument's fields.
    pub carried: Vec<String>,
}

impl Layout {
    /// Reads the layout from the type of an `s` argument; `place` names it in messages.
    ///
    /// # Errors
    /// When it is not a struct of `code` (Int8), `v_…` (Float32), `c_…` (Float32) in that order,
    /// or two fields of a run would get the same name.
    pub fn from_argument(place: &str, argument: &DataType) -> Result<Self, RunsError> {
        let fault = |text: String| RunsError::Argument(format!("{place}: {text}"));
        let DataType::Struct(fields) = argument else {
            return Err(fault(format!(
                "expected a struct of `{CODE}`, `{VALUE_PREFIX}…`, `{CARRIED_PREFIX}…`, found \
                 {argument}: build it with named_struct"
            )));
        };
        let mut fields = fields.iter();
        match fields.next() {
            Some(code) if code.name() == CODE && code.data_type() == &DataType::Int8 => {}
            found => {
                return Err(fault(format!(
                    "the first field must be `{CODE}` Int8, found {}",
                    found.map_or("nothing".to_owned(), |f| describe(f))
                )));
            }
        }
        let mut layout = Self::default();
        for field in fields {
            if field.data_type() != &DataType::Float32 {
                return Err(fault(format!(
                    "expected Float32, found {}: cast it",
                    describe(field)
                )));
            }
            if let Some(name) = field.name().strip_prefix(CARRIED_PREFIX) {
                layout.carried.push(name.to_owned());
            } else if let Some(name) = field.name().strip_prefix(VALUE_PREFIX) {
                if !layout.carried.is_empty() {
                    return Err(fault(format!(
                        "{} comes after a carried value: tracked values come first",
                        describe(field)
                    )));
                }
                layout.values.push(name.to_owned());
            } else {
                return Err(fault(format!(
                    "{} is neither tracked (`{VALUE_PREFIX}…`) nor carried (`{CARRIED_PREFIX}…`)",
                    describe(field)
                )));
            }
        }
        let mut seen = BTreeSet::new();
        for field in &layout.run_fields() {
            if !seen.insert(field.name().clone()) {
                return Err(fault(format!(
                    "two fields of a run would be called `{}`: rename a value",
                    field.name()
                )));
            }
        }
        Ok(layout)
    }

    /// Reads the layout back from the type of one column of the result (a list of runs).
    ///
    /// Carried values leave no trace where nothing is tracked.
    ///
    /// # Errors
    /// When the type is not one that `runs` returns.
    pub fn from_runs(column: &DataType) -> Result<Self, RunsError> {
        let fault = || RunsError::Array {
            expected: "a list of runs".to_owned(),
            found: column.to_string(),
        };
        let DataType::List(item) = column else {
            return Err(fault());
        };
        let DataType::Struct(fields) = item.data_type() else {
            return Err(fault());
        };
        // Names alone could mislead (a value may be called `x_min_c_y`), so every number of
        // carried values that the width allows is tried against the whole of the fields.
        let width = fields.len().saturating_sub(RUN_HEAD);
        (0..=width / 2)
            .filter(|carried| width.is_multiple_of(VALUE_HEAD + 2 * carried))
            .filter_map(|carried| Self::at_places(fields, carried))
            .find(|layout| &layout.run_fields() == fields)
            .ok_or_else(fault)
    }

    /// The names where they must stand if each extreme carries `carried` values.
    fn at_places(fields: &Fields, carried: usize) -> Option<Self> {
        let values = (RUN_HEAD..fields.len())
            .step_by(VALUE_HEAD + 2 * carried)
            .map(|at| {
                fields[at]
                    .name()
                    .strip_prefix(VALUE_PREFIX)?
                    .strip_suffix("_first")
            })
            .collect::<Option<Vec<_>>>()?;
        let carried = match values.first() {
            None => vec![],
            Some(value) => {
                let prefix = format!("{VALUE_PREFIX}{value}_min_{CARRIED_PREFIX}");
                let at = RUN_HEAD + VALUE_HEAD;
                (at..at + carried)
                    .map(|at| fields[at].name().strip_prefix(&prefix))
                    .collect::<Option<Vec<_>>>()?
            }
        };
        let owned = |names: Vec<&str>| names.into_iter().map(str::to_owned).collect();
        Some(Self {
            values: owned(values),
            carried: owned(carried),
        })
    }

    /// The fields of one run.
    pub fn run_fields(&self) -> Fields {
        let float = |name: String| Field::new(name, DataType::Float32, true);
        let integer = |name: String, nullable| Field::new(name, DataType::Int32, nullable);
        let mut fields = vec![
            integer("k_first".to_owned(), false),
            integer("k_last".to_owned(), false),
            Field::new(CODE, DataType::Int8, true),
        ];
        for value in &self.values {
            let value = format!("{VALUE_PREFIX}{value}");
            fields.extend([
                float(format!("{value}_first")),
                float(format!("{value}_last")),
                float(format!("{value}_min")),
                integer(format!("{value}_min_k"), true),
                float(format!("{value}_max")),
                integer(format!("{value}_max_k"), true),
                integer(format!("{value}_n"), false),
            ]);
            for extreme in ["min", "max"] {
                for carried in &self.carried {
                    fields.push(float(format!(
                        "{value}_{extreme}_{CARRIED_PREFIX}{carried}"
                    )));
                }
            }
        }
        fields.into()
    }

    /// The type of one column of the result: a list of runs.
    pub fn column_type(&self) -> DataType {
        DataType::List(list_item(self.run_fields()))
    }

    /// The fields of an `s` argument that has this layout.
    pub fn argument_fields(&self) -> Fields {
        let float = |name: String| Field::new(name, DataType::Float32, true);
        let mut fields = vec![Field::new(CODE, DataType::Int8, true)];
        fields.extend(
            self.values
                .iter()
                .map(|v| float(format!("{VALUE_PREFIX}{v}"))),
        );
        fields.extend(
            self.carried
                .iter()
                .map(|c| float(format!("{CARRIED_PREFIX}{c}"))),
        );
        fields.into()
    }
}

/// The item field of a list of runs.
pub(super) fn list_item(run_fields: Fields) -> arrow::datatypes::FieldRef {
    Field::new_list_field(DataType::Struct(run_fields), false).into()
}

/// The type of the whole result for arguments of these layouts.
pub(super) fn result_type(layouts: &[Layout]) -> DataType {
    DataType::Struct(
        layouts
            .iter()
            .enumerate()
            .map(|(i, layout)| Field::new(format!("r{i}"), layout.column_type(), true))
            .collect(),
    )
}

/// The layouts behind the type of a whole result.
pub(super) fn result_layouts(result: &DataType) -> Result<Vec<Layout>, RunsError> {
    let DataType::Struct(columns) = result else {
        return Err(RunsError::Array {
            expected: "a struct of lists of runs".to_owned(),
            found: result.to_string(),
        });
    };
    columns
        .iter()
        .map(|column| Layout::from_runs(column.data_type()))
        .collect()
}

fn describe(field: &Field) -> String {
    format!("`{}` {}", field.name(), field.data_type())
}
