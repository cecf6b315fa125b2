//! What one `s` argument carries, and the Arrow types that follow from it.

use std::collections::BTreeSet;

use arrow::datatypes::{DataType, Field, Fields};

use super::error::RunsError;
use super::fragments::Width;
use super::samples::MOST_FLAGS;

/// Name of the first field of an `s` argument that gives codes, and of the code in a run.
pub const CODE: &str = "code";
/// Name of the first field of an `s` argument that gives a window and flags.
pub const WINDOW: &str = "window";
/// Prefix of the flags that follow a window.
pub const FLAG_PREFIX: &str = "f_";
/// Prefix of the fields that are tracked.
pub const VALUE_PREFIX: &str = "v_";
/// Prefix of the fields of which the first and the last value of a run are kept.
pub const END_PREFIX: &str = "e_";
/// Prefix of the fields that are carried to the extremes.
pub const CARRIED_PREFIX: &str = "c_";

/// Fields of a run before those of its values: `k_first`, `k_last`, `code`.
pub(super) const RUN_HEAD: usize = 3;
/// Fields of a value before the carried ones: first, last, min, min_k, max, max_k, n.
pub(super) const VALUE_HEAD: usize = 7;
/// Fields of an end value: first, last.
pub(super) const END_FIELDS: usize = 2;

/// The names of the tracked and carried values of one `s` argument, without their prefixes.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Layout {
    /// Tracked values, in the order of the argument's fields.
    pub values: Vec<String>,
    /// Values of which only the ends are kept, in the order of the argument's fields.
    pub ends: Vec<String>,
    /// Values carried to every extreme, in the order of the argument's fields.
    pub carried: Vec<String>,
}

impl Layout {
    /// Reads the layout from the type of an `s` argument; `place` names it in messages.
    ///
    /// # Errors
    /// When it is not a struct of `code` (Int8), or `window` and `f_…` (Boolean), then `v_…` (Float32), `e_…`
    /// (Float32, Int8 or Boolean), `c_…` (Float32) in that order, or two fields of a run would get the same name.
    pub fn from_argument(place: &str, argument: &DataType) -> Result<Self, RunsError> {
        let fault = |text: String| RunsError::Argument(format!("{place}: {text}"));
        let DataType::Struct(fields) = argument else {
            return Err(fault(format!(
                "expected a struct of `{CODE}`, `{VALUE_PREFIX}…`, `{END_PREFIX}…`, `{CARRIED_PREFIX}…`, \
                 found {argument}: build it with named_struct"
            )));
        };
        let coding = coding(fields).map_err(fault)?;
        let mut layout = Self::default();
        for field in fields.iter().skip(coding) {
            let end = field.name().starts_with(END_PREFIX);
            if !(field.data_type() == &DataType::Float32 || end && is_end(field.data_type())) {
                let expected = if end {
                    "Float32, Int8 or Boolean"
                } else {
                    "Float32"
                };
                return Err(fault(format!(
                    "expected {expected}, found {}: cast it",
                    describe(field)
                )));
            }
            let late = |what: &str| {
                let found = describe(field);
                fault(format!(
                    "{found} comes after {what}: tracked values come first, then ends"
                ))
            };
            if let Some(name) = field.name().strip_prefix(CARRIED_PREFIX) {
                layout.carried.push(name.to_owned());
            } else if let Some(name) = field.name().strip_prefix(END_PREFIX) {
                if !layout.carried.is_empty() {
                    return Err(late("a carried value"));
                }
                layout.ends.push(name.to_owned());
            } else if let Some(name) = field.name().strip_prefix(VALUE_PREFIX) {
                if !layout.carried.is_empty() {
                    return Err(late("a carried value"));
                }
                if !layout.ends.is_empty() {
                    return Err(late("an end value"));
                }
                layout.values.push(name.to_owned());
            } else {
                return Err(fault(format!(
                    "{} is neither tracked (`{VALUE_PREFIX}…`), an end (`{END_PREFIX}…`) nor carried \
                     (`{CARRIED_PREFIX}…`)",
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
        // Names alone could mislead (a value may be called `x_min_c_y`), so every number of carried and end
        // values that the width allows is tried against the whole of the fields.
        let width = fields.len().saturating_sub(RUN_HEAD);
        let ends = fields.iter().rev();
        let most_ends = ends
            .take_while(|field| field.name().starts_with(END_PREFIX))
            .count()
            / END_FIELDS;
        (0..=most_ends)
            .rev()
            .flat_map(|ends| (0..=width / 2).map(move |carried| (ends, carried)))
            .filter(|(ends, carried)| {
                let values = width.saturating_sub(END_FIELDS * ends);
                values.is_multiple_of(VALUE_HEAD + 2 * carried)
            })
            .filter_map(|(ends, carried)| Self::at_places(fields, ends, carried))
            .find(|layout| &layout.run_fields() == fields)
            .ok_or_else(fault)
    }

    /// The names where they must stand with so many end values, and if each extreme carries `carried` values.
    fn at_places(fields: &Fields, ends: usize, carried: usize) -> Option<Self> {
        let named = |at: usize, prefix: &str| {
            let name = fields[at].name().strip_prefix(prefix)?;
            name.strip_suffix("_first")
        };
        let ends_at = fields.len() - END_FIELDS * ends;
        let values = (RUN_HEAD..ends_at)
            .step_by(VALUE_HEAD + 2 * carried)
            .map(|at| named(at, VALUE_PREFIX))
            .collect::<Option<Vec<_>>>()?;
        let ends = (ends_at..fields.len())
            .step_by(END_FIELDS)
            .map(|at| named(at, END_PREFIX))
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
            ends: owned(ends),
            carried: owned(carried),
        })
    }

    /// How many values of each kind are kept. Where nothing is tracked there is nothing to carry anything to.
    pub(super) fn width(&self) -> Width {
        let values = self.values.len();
        Width {
            values,
            ends: self.ends.len(),
            carried: if values == 0 { 0 } else { self.carried.len() },
        }
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
        for end in &self.ends {
            fields.push(float(format!("{END_PREFIX}{end}_first")));
            fields.push(float(format!("{END_PREFIX}{end}_last")));
        }
        fields.into()
    }

    /// The type of one column of the result: a list of runs.
    pub fn column_type(&self) -> DataType {
        DataType::List(list_item(self.run_fields()))
    }

    /// The fields of an `s` argument that has this layout and gives codes.
    pub fn argument_fields(&self) -> Fields {
        let float = |name: String| Field::new(name, DataType::Float32, true);
        let mut fields = vec![Field::new(CODE, DataType::Int8, true)];
        fields.extend(
            self.values
                .iter()
                .map(|v| float(format!("{VALUE_PREFIX}{v}"))),
        );
        fields.extend(self.ends.iter().map(|e| float(format!("{END_PREFIX}{e}"))));
        fields.extend(
            self.carried
                .iter()
                .map(|c| float(format!("{CARRIED_PREFIX}{c}"))),
        );
        fields.into()
    }
}

/// Whether an end value may be of this type: it is looked at where runs end, and made a number only there.
pub(crate) fn is_end(data_type: &DataType) -> bool {
    matches!(
        data_type,
        DataType::Float32 | DataType::Int8 | DataType::Boolean
    )
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

/// The number of fields that make up the code: a code, or a window and its flags.
pub(super) fn coding(fields: &Fields) -> Result<usize, String> {
    match fields.first() {
        Some(code) if code.name() == CODE && code.data_type() == &DataType::Int8 => Ok(1),
        Some(window) if window.name() == WINDOW && window.data_type() == &DataType::Boolean => {
            let flags = fields[1..].iter();
            let flags = flags.take_while(|field| field.name().starts_with(FLAG_PREFIX));
            let mut count = 0;
            for flag in flags {
                count += 1;
                if flag.data_type() != &DataType::Boolean {
                    return Err(format!("expected Boolean, found {}", describe(flag)));
                }
            }
            if count > MOST_FLAGS {
                return Err(format!("{count} flags: a code holds {MOST_FLAGS}"));
            }
            Ok(1 + count)
        }
        found => Err(format!(
            "the first field must be `{CODE}` Int8 or `{WINDOW}` Boolean, found {}",
            found.map_or("nothing".to_owned(), |f| describe(f))
        )),
    }
}

fn describe(field: &Field) -> String {
    format!("`{}` {}", field.name(), field.data_type())
}
