//! Which column of a recorder holds which parameter of the catalogue.

use crate::channels::recorder;

/// Column and recorded units per catalogue unit of a parameter, in the recorder of a type.
pub(super) fn column(type_index: usize, wanted: &str) -> Option<(&'static str, f64)> {
    recorder(type_index)
        .channels
        .iter()
        .find(|channel| channel.quantity.parameter() == wanted)
        .map(|channel| (channel.name, channel.scale))
}

/// Every parameter that the recorder of a type has.
pub(super) fn parameters(type_index: usize) -> Vec<&'static str> {
    recorder(type_index)
        .channels
        .iter()
        .map(|channel| channel.quantity.parameter())
        .collect()
}
