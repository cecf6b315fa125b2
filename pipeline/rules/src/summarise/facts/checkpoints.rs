//! Of `checkpoints`: energy excess and class at each.

use arrow::array::{Array, RecordBatch};

use super::places::Rows;
use super::{Fold, Places, needed};
use crate::store::{numbers, texts, whole_numbers};
use crate::summarise::energy::{CHECKPOINTS, class_number};

/// No class, where the number of one would stand.
const NONE: u8 = u8::MAX;

/// Energy of every approach at every checkpoint, by the number of the approach.
#[derive(Debug, Clone, Default)]
pub struct Checkpoints {
    /// Excess in feet by checkpoint; NaN where it is not known.
    excess_ft: [Vec<f64>; CHECKPOINTS.len()],
    class: [Vec<u8>; CHECKPOINTS.len()],
}

impl Checkpoints {
    /// The excess of an approach at a checkpoint, by its place in [`CHECKPOINTS`].
    pub(in super::super) fn excess_ft(&self, checkpoint: usize, approach: usize) -> Option<f64> {
        let excess = self.excess_ft[checkpoint].get(approach).copied();
        excess.filter(|excess| !excess.is_nan())
    }

    /// The number of its class there.
    pub(in super::super) fn class(&self, checkpoint: usize, approach: usize) -> Option<usize> {
        let class = self.class[checkpoint].get(approach).copied();
        class.filter(|class| *class != NONE).map(usize::from)
    }
}

impl Fold for Checkpoints {
    const TABLE: &'static str = "checkpoints";
    const COLUMNS: &'static [&'static str] = &[
        "flight_id",
        "approach_no",
        "checkpoint",
        "energy_excess_ft",
        "energy_class",
    ];

    fn add(&mut self, batch: &RecordBatch, places: &Places<'_>) -> Result<(), String> {
        let flights = needed(texts(batch, "flight_id")?, "flight_id")?;
        let approaches = needed(whole_numbers(batch, "approach_no")?, "approach_no")?;
        let checkpoints = needed(texts(batch, "checkpoint")?, "checkpoint")?;
        let excess = needed(numbers(batch, "energy_excess_ft")?, "energy_excess_ft")?;
        let classes = needed(texts(batch, "energy_class")?, "energy_class")?;

        for (excess, class) in self.excess_ft.iter_mut().zip(&mut self.class) {
            excess.resize(places.len(), f64::NAN);
            class.resize(places.len(), NONE);
        }
        let checkpoint_of: Vec<Option<usize>> = checkpoints
            .distinct()
            .map(|name| CHECKPOINTS.iter().position(|known| *known == name))
            .collect();
        let class_of: Vec<Option<u8>> = classes
            .distinct()
            .map(|name| class_number(name).and_then(|class| u8::try_from(class).ok()))
            .collect();
        let mut rows = Rows::new(places, &flights, &approaches);
        for row in 0..batch.num_rows() {
            let checkpoint = checkpoints.number(row).and_then(|at| checkpoint_of[at]);
            let (Some(place), Some(checkpoint)) = (rows.place(row), checkpoint) else {
                continue;
            };
            if excess.is_valid(row) {
                self.excess_ft[checkpoint][place] = excess.value(row);
            }
            if let Some(class) = classes.number(row).and_then(|at| class_of[at]) {
                self.class[checkpoint][place] = class;
            }
        }
        Ok(())
    }
}
