//! How often things happen, by what a fleet is for.

use crate::{Options, Profile};

/// Shares of flights, unless said otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Shares {
    /// Go-arounds that no unstable gate explains.
    pub(crate) go_around: f64,
    /// Go-arounds among approaches unstable at 500 ft.
    pub(crate) unstable_go_around: f64,
    /// Go-arounds that touch the runway.
    pub(crate) touched: f64,
    /// Training flights with a touch-and-go.
    pub(crate) training: f64,
    /// Racetrack holdings before the approach.
    pub(crate) holding: f64,
    /// Long vectors: a dog-leg before the last turn.
    pub(crate) vectors: f64,
    /// Direct routings that take track miles away.
    pub(crate) shortcut: f64,
    /// Recorders that lost a channel, each of three.
    pub(crate) lost: f64,
}

impl Shares {
    /// Of a fleet.
    pub(crate) fn of(options: &Options) -> Self {
        match options.profile {
            // Published orders of magnitude: go-arounds 1 to 6 per 1,000 approaches, of unstable
            // approaches about 3 % (sources in docs/demo-fleet.md). The others are invented.
            Profile::Airline | Profile::Damaged => Self {
                go_around: 0.0022,
                unstable_go_around: 0.03,
                touched: 0.0002,
                training: 0.004,
                holding: 0.03,
                vectors: 0.1,
                shortcut: 0.08,
                lost: 0.006,
            },
            // Invented: enough of everything for a fleet of some hundred flights to prove a detector on.
            Profile::Proving | Profile::Exact => Self {
                go_around: 0.016,
                unstable_go_around: 0.12,
                touched: 0.004,
                training: 0.01,
                holding: 0.05,
                vectors: 0.12,
                shortcut: 0.08,
                lost: 0.0115,
            },
        }
    }
}
