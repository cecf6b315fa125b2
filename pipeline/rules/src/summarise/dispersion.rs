//! Dispersion of each rule: how much more its counts vary than those of independent approaches.
//!
//! Flights of one tail and day, or of one airport and day, share what made them: aircraft, crew, weather. A
//! series of months shows the rest. Estimated for the whole fleet: single cells are too noisy.

use stats::{Cluster, Counted};

use super::count::Grid;
use super::frame::Frame;
use super::verdicts::{Judged, Verdicts};

/// Place of the whole fleet among the groups of a frame.
pub(super) const FLEET: usize = 0;

/// The larger of what clusters and what months show; `None` where neither says anything.
pub(super) fn phi(frame: &Frame<'_>, verdicts: &Verdicts, grid: &Grid) -> Option<f64> {
    let of = |days: &[Option<u32>]| stats::phi_from_clusters(&clusters(days, verdicts));
    let by_tail = of(&frame.tail_day_of);
    let by_airport = of(&frame.airport_day_of);
    let phi = stats::choose_phi(&[by_tail, by_airport, by_month(frame, grid)])?;
    Some(phi)
}

/// Approaches of one day: (evaluable, with an event).
fn clusters(days: &[Option<u32>], verdicts: &Verdicts) -> Vec<Cluster> {
    let most = days
        .iter()
        .flatten()
        .max()
        .map_or(0, |most| *most as usize + 1);
    let empty = Cluster {
        evaluable: 0,
        with_event: 0,
    };
    let mut clusters = vec![empty; most];
    for (day, verdict) in days.iter().zip(&verdicts.of) {
        if let (Some(day), Judged::Evaluable) = (day, verdict.judged) {
            let cluster = &mut clusters[*day as usize];
            cluster.evaluable += 1;
            cluster.with_event += u64::from(verdict.worst.is_some());
        }
    }
    clusters
}

/// Pearson's φ of the months around their own trend, which is no noise.
fn by_month(frame: &Frame<'_>, grid: &Grid) -> Option<f64> {
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let series: Vec<stats::Period> = (0..frame.months.len())
        .filter(|month| frame.is_known(*month))
        .filter_map(|month| {
            let tally = grid.cell(FLEET, month);
            Some(stats::Period {
                index: super::calendar::index(&frame.months[month])?,
                counted: Counted::new(tally.at_least[0] as f64, tally.evaluable as f64),
            })
        })
        .collect();
    let slope = stats::slope(&series, super::calendar::season(&series), 0.95)?;
    (slope.periods >= stats::dispersion::FEWEST_PERIODS).then_some(slope.phi)
}
