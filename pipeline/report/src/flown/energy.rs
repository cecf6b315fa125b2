//! Energy excess against distance: bands of the fleet and of each type.

use super::{bands, checkpoint};
use crate::input::EnergyGroup;
use crate::pictures;
use crate::quantiles::{self, QuantileRow};
use serde::Serialize;

/// The part of the section.
#[derive(Debug, Serialize)]
pub(crate) struct EnergyView {
    groups: Vec<GroupView>,
}

#[derive(Debug, Serialize)]
struct GroupView {
    title: String,
    picture: Option<String>,
    rows: Vec<QuantileRow>,
}

/// Builds the part; all groups are drawn to one scale, so that they can be laid side by side.
pub(crate) fn build(groups: &[EnergyGroup]) -> EnergyView {
    let range = bands::range(groups);
    let views = groups.iter().map(|group| {
        let rows = group.checkpoints.iter().flat_map(|at| {
            let name = checkpoint(&at.checkpoint);
            let all = quantiles::row(&format!("{name}, {}", at.all.label), &at.all);
            let latest = at
                .latest
                .as_ref()
                .map(|latest| quantiles::row(&format!("{name}, {}", latest.label), latest));
            std::iter::once(all).chain(latest)
        });
        GroupView {
            title: group.group.clone(),
            picture: range.and_then(|range| {
                bands::draw(&pictures::name("energy", &group.group), group, range)
            }),
            rows: rows.collect(),
        }
    });
    EnergyView {
        groups: views.collect(),
    }
}
