//! Of `lever_moves`: when drag came, and what margin was left.

use arrow::array::{Array, Float64Array, RecordBatch};

use super::places::Rows;
use super::{Fold, Places, needed};
use crate::store::{numbers, texts, whole_numbers};

/// Which lever.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in super::super) enum Channel {
    Flap,
    Speedbrake,
    Gear,
}

impl Channel {
    fn of(name: &str) -> Option<Self> {
        match name {
            "flap_lever" => Some(Self::Flap),
            "speedbrake" => Some(Self::Speedbrake),
            "gear_lever" | "gear_down" => Some(Self::Gear),
            _ => None,
        }
    }
}

/// One move that brings drag.
#[derive(Debug, Clone, Copy)]
pub(in super::super) struct Move {
    /// Number of the approach.
    pub(in super::super) approach: usize,
    pub(in super::super) channel: Channel,
    /// Position after.
    pub(in super::super) to: f64,
    pub(in super::super) margin_kt: Option<f64>,
    pub(in super::super) distance_nm: Option<f64>,
    pub(in super::super) energy_excess_ft: Option<f64>,
}

/// The moves that bring drag, in the order of the table.
#[derive(Debug, Clone, Default)]
pub struct Moves(Vec<Move>);

impl Moves {
    pub(in super::super) fn iter(&self) -> impl Iterator<Item = &Move> {
        self.0.iter()
    }
}

impl Fold for Moves {
    const TABLE: &'static str = "lever_moves";
    const COLUMNS: &'static [&'static str] = &[
        "flight_id",
        "approach_no",
        "channel",
        "from",
        "to",
        "margin_kt",
        "distance_nm",
        "energy_excess_ft",
    ];

    fn add(&mut self, batch: &RecordBatch, places: &Places<'_>) -> Result<(), String> {
        let flights = needed(texts(batch, "flight_id")?, "flight_id")?;
        let approaches = needed(whole_numbers(batch, "approach_no")?, "approach_no")?;
        let channels = needed(texts(batch, "channel")?, "channel")?;
        let from = needed(numbers(batch, "from")?, "from")?;
        let to = needed(numbers(batch, "to")?, "to")?;
        let margin = needed(numbers(batch, "margin_kt")?, "margin_kt")?;
        let distance = needed(numbers(batch, "distance_nm")?, "distance_nm")?;
        let excess = needed(numbers(batch, "energy_excess_ft")?, "energy_excess_ft")?;

        let channel_of: Vec<Option<Channel>> = channels.distinct().map(Channel::of).collect();
        let mut rows = Rows::new(places, &flights, &approaches);
        for row in 0..batch.num_rows() {
            let known = |of: &Float64Array| of.is_valid(row).then(|| of.value(row));
            let channel = channels.number(row).and_then(|at| channel_of[at]);
            let brings = known(&from).zip(known(&to)).filter(|(from, to)| to > from);
            if let (Some(approach), Some(channel), Some((_, to))) =
                (rows.place(row), channel, brings)
            {
                self.0.push(Move {
                    approach,
                    channel,
                    to,
                    margin_kt: known(&margin),
                    distance_nm: known(&distance),
                    energy_excess_ft: known(&excess),
                });
            }
        }
        Ok(())
    }

    /// Stable: the moves of one approach come from one file, in time.
    fn finish(&mut self) {
        self.0.sort_by_key(|one| one.approach);
    }
}
