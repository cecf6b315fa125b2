//! One flight from raw channels to approaches with all their columns.

use crate::derive::Columns;
use crate::fleet::Fleet;
use crate::flight::RawFlight;
use crate::rows::{ApproachRow, QualityRow, QuarantineRow};

/// One approach: its row and its samples.
#[derive(Debug, Clone, PartialEq)]
pub struct PreparedApproach {
    /// The row of the `approaches` table.
    pub row: ApproachRow,
    /// Recorded and derived columns on the base grid.
    pub columns: Columns,
}

/// One flight, ready to be stored.
#[derive(Debug, Clone, PartialEq)]
pub struct PreparedFlight {
    /// Opaque id.
    pub flight_id: String,
    /// In flight order; empty where the record holds no approach.
    pub approaches: Vec<PreparedApproach>,
    /// One row per parameter, in name order.
    pub quality: Vec<QualityRow>,
}

/// Cleans one flight, finds its approaches and computes their columns.
///
/// # Errors
/// None yet.
pub fn prepare(raw: RawFlight, _fleet: &Fleet) -> Result<PreparedFlight, QuarantineRow> {
    Ok(PreparedFlight {
        flight_id: raw.header.flight_id,
        approaches: Vec::new(),
        quality: raw.quality,
    })
}
