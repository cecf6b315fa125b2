//! Every parameter and column by name, with unit and meaning: the one place they are listed.
//!
//! Recorded parameters are what a parameter map may name; columns are what the sample store holds
//! and rules may read. An operator adds parameters with `[[parameter]]` in `fleet.toml`.

mod derived;
mod recorded;
mod rests;
mod window;

use std::collections::BTreeMap;

pub use rests::{rests_on, rests_on_through};
pub use window::{Take, Window};

/// How a parameter behaves between two of its samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Interpolated linearly.
    Continuous,
    /// An angle of 0…360°, interpolated along the shorter arc.
    Circular,
    /// An angle of −180…180°, interpolated along the shorter arc.
    Longitude,
    /// A number that changes seldom: the last one holds.
    Slow,
    /// A state: the last one holds.
    Discrete,
}

/// One recorded parameter.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// Catalogue name; ends in its unit where it has one.
    pub name: String,
    /// Unit as the parameter map spells it, see [`crate::load::units`].
    pub unit: String,
    /// Behaviour between samples.
    pub kind: Kind,
    /// Lowest plausible value.
    pub low: f64,
    /// Highest plausible value.
    pub high: f64,
    /// Usual spacing of its samples in a recorder, where there is a usual one.
    pub nominal_interval_s: Option<f64>,
    /// What it is, in a few words.
    pub meaning: String,
}

/// How a column is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Storage {
    /// A measured or computed number.
    Float32,
    /// A state or a yes/no.
    Int8,
    /// The key of an approach.
    Int64,
    /// The number of a sample in its approach.
    Int32,
    /// Seconds from the start of the record.
    Float64,
    /// A word that is constant over an approach, or one of three segments.
    Text,
}

/// Where a column comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Identifies the sample or its approach.
    Key,
    /// Resampled from the recorder.
    Recorded,
    /// Lowest or highest native sample in the step.
    Peak,
    /// Computed.
    Derived,
}

/// One column of the sample store.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Name in SQL.
    pub name: String,
    /// Unit; `0/1` for yes/no, `index` for positions, `1` for ratios, empty for keys and words.
    pub unit: String,
    /// Arrow type family.
    pub storage: Storage,
    /// Where it comes from.
    pub origin: Origin,
    /// What it is, in a few words.
    pub meaning: String,
}

/// All parameters and columns known to one fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct Catalogue {
    parameters: Vec<Parameter>,
    columns: Vec<Column>,
    windows: Vec<Window>,
    parameter_index: BTreeMap<String, usize>,
    column_index: BTreeMap<String, usize>,
}

impl Default for Catalogue {
    fn default() -> Self {
        Self::with_parameters(Vec::new())
    }
}

impl Catalogue {
    /// The built-in catalogue with an operator's parameters after the built-in ones.
    ///
    /// A parameter that has the name of a built-in one replaces it (range, interval, meaning).
    pub fn with_parameters(added: Vec<Parameter>) -> Self {
        let mut parameters = recorded::parameters();
        for parameter in added {
            match parameters.iter_mut().find(|p| p.name == parameter.name) {
                Some(known) => *known = parameter,
                None => parameters.push(parameter),
            }
        }
        let mut columns = derived::keys();
        columns.extend(parameters.iter().map(recorded::column));
        columns.extend(recorded::peaks());
        columns.extend(derived::columns());
        let parameter_index = index(parameters.iter().map(|p| &p.name));
        let column_index = index(columns.iter().map(|c| &c.name));
        Self {
            parameters,
            columns,
            windows: Vec::new(),
            parameter_index,
            column_index,
        }
    }

    /// Adds a column that looks back over another one; it comes after all others.
    pub fn add_window(&mut self, window: Window) {
        let unit = self
            .column(&window.of)
            .map_or_else(String::new, |column| column.unit.clone());
        self.column_index
            .insert(window.name.clone(), self.columns.len());
        self.columns.push(window.column(unit));
        self.windows.push(window);
    }

    /// The operator's columns that look back, in the order they were added.
    pub fn windows(&self) -> &[Window] {
        &self.windows
    }

    /// The recorded parameter of that name.
    pub fn lookup(&self, name: &str) -> Option<&Parameter> {
        self.parameter_index.get(name).map(|&i| &self.parameters[i])
    }

    /// The stored column of that name.
    pub fn column(&self, name: &str) -> Option<&Column> {
        self.column_index.get(name).map(|&i| &self.columns[i])
    }

    /// Recorded parameters in their fixed order, without the time.
    pub fn parameters(&self) -> &[Parameter] {
        &self.parameters
    }

    /// Columns of the sample store in their fixed order.
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// Up to three parameter names nearest to a mistyped one, nearest first.
    pub fn nearest_parameters(&self, name: &str) -> Vec<String> {
        nearest(
            name,
            self.parameters
                .iter()
                .map(|p| p.name.as_str())
                .chain(["time_s"]),
        )
    }

    /// Up to three column names nearest to a mistyped one, nearest first.
    pub fn nearest_columns(&self, name: &str) -> Vec<String> {
        nearest(name, self.columns.iter().map(|c| c.name.as_str()))
    }
}

fn index<'a>(names: impl Iterator<Item = &'a String>) -> BTreeMap<String, usize> {
    names
        .enumerate()
        .map(|(i, name)| (name.clone(), i))
        .collect()
}

/// Up to three candidates that resemble `name`, nearest first, ties by name.
pub fn nearest<'a>(name: &str, candidates: impl Iterator<Item = &'a str>) -> Vec<String> {
    let wanted = name.to_lowercase();
    let mut scored: Vec<(f64, &str)> = candidates
        .map(|c| (strsim::jaro_winkler(&wanted, &c.to_lowercase()), c))
        .filter(|(score, _)| *score > 0.75)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    scored
        .into_iter()
        .take(3)
        .map(|(_, c)| c.to_owned())
        .collect()
}

/// `did you mean a, b?`, or nothing where no name resembles it.
pub fn did_you_mean(names: &[String]) -> String {
    match names {
        [] => String::new(),
        names => format!("; did you mean {}?", names.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_states_are_small_integers() {
        let catalogue = Catalogue::default();
        assert_eq!(catalogue.column_index.len(), catalogue.columns.len());
        assert_eq!(catalogue.parameter_index.len(), catalogue.parameters.len());
        for p in catalogue.parameters() {
            assert!(p.low < p.high, "{}", p.name);
            let stored = catalogue.column(&p.name).map(|c| c.storage);
            let wanted = if p.kind == Kind::Discrete {
                Storage::Int8
            } else {
                Storage::Float32
            };
            assert_eq!(stored, Some(wanted), "{}", p.name);
        }
    }

    #[test]
    fn a_mistyped_name_finds_its_neighbour() {
        let catalogue = Catalogue::default();
        assert_eq!(catalogue.nearest_parameters("flap_leaver")[0], "flap_lever");
        assert_eq!(
            catalogue.nearest_columns("energy_exces_ft")[0],
            "energy_excess_ft"
        );
        assert!(catalogue.nearest_parameters("zzz").is_empty());
    }

    #[test]
    fn an_operators_parameter_becomes_a_column() {
        let added = Parameter {
            name: "brake_temp_c".into(),
            unit: "degC".into(),
            kind: Kind::Continuous,
            low: -60.0,
            high: 900.0,
            nominal_interval_s: Some(4.0),
            meaning: "hottest brake".into(),
        };
        let catalogue = Catalogue::with_parameters(vec![added]);
        assert_eq!(
            catalogue.column("brake_temp_c").map(|c| c.origin),
            Some(Origin::Recorded)
        );
    }
}
