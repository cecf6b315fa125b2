//! Of `losses`: what each approach lost in each configuration.

use arrow::array::RecordBatch;

use ::records::energy::Drag;

use super::places::Rows;
use super::{Fold, Places, needed};
use crate::store::{numbers, texts, whole_numbers};

/// What one approach lost in one configuration.
#[derive(Debug, Clone, Copy)]
pub(in super::super) struct Loss {
    /// Number of the approach.
    pub(in super::super) approach: usize,
    /// None for a configuration that no type file names.
    pub(in super::super) configuration: Option<Drag>,
    pub(in super::super) air_nm: f64,
    pub(in super::super) loss_ft_per_nm: f64,
    pub(in super::super) thrust_pct: f64,
}

/// What approaches lost, in the order of the table.
#[derive(Debug, Clone, Default)]
pub struct Losses(Vec<Loss>);

impl Losses {
    pub(in super::super) fn iter(&self) -> impl Iterator<Item = &Loss> {
        self.0.iter()
    }
}

impl Fold for Losses {
    const TABLE: &'static str = "losses";
    const COLUMNS: &'static [&'static str] = &[
        "flight_id",
        "approach_no",
        "configuration",
        "air_nm",
        "loss_ft_per_nm",
        "thrust_pct",
    ];

    fn add(&mut self, batch: &RecordBatch, places: &Places<'_>) -> Result<(), String> {
        let flights = needed(texts(batch, "flight_id")?, "flight_id")?;
        let approaches = needed(whole_numbers(batch, "approach_no")?, "approach_no")?;
        let configurations = needed(texts(batch, "configuration")?, "configuration")?;
        let air = needed(numbers(batch, "air_nm")?, "air_nm")?;
        let loss = needed(numbers(batch, "loss_ft_per_nm")?, "loss_ft_per_nm")?;
        let thrust = needed(numbers(batch, "thrust_pct")?, "thrust_pct")?;

        let drag = |name: &str| Drag::ALL.into_iter().find(|drag| drag.as_str() == name);
        let drag_of: Vec<Option<Drag>> = configurations.distinct().map(drag).collect();
        let mut rows = Rows::new(places, &flights, &approaches);
        for row in 0..batch.num_rows() {
            let Some(approach) = rows.place(row) else {
                continue;
            };
            self.0.push(Loss {
                approach,
                configuration: configurations.number(row).and_then(|at| drag_of[at]),
                air_nm: air.value(row),
                loss_ft_per_nm: loss.value(row),
                thrust_pct: thrust.value(row),
            });
        }
        Ok(())
    }

    /// Stable: the rows of one approach come from one file, by configuration.
    fn finish(&mut self) {
        self.0.sort_by_key(|one| one.approach);
    }
}
