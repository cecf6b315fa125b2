//! Shaping filters of the two forms of the Dryden spectrum, stepped exactly: samples of the
//! continuous process, whatever the step.
//!
//! States have unit variance and depend on `path`, the air distance of a step in length scales.
//! Scales may change from step to step; what comes out is multiplied by the deviation of the moment,
//! so that its variance is right at every height.

use crate::steady::Steady as _;
/// Gusts along the path: `sqrt(2/π) / (1 + s)` with `s` in length scales.
#[derive(Clone, Copy, Debug)]
pub(super) struct Along(f64);

impl Along {
    /// As if it had run for ever.
    pub(super) fn new(normal: f64) -> Self {
        Self(normal)
    }

    /// The next value, of unit variance.
    pub(super) fn next(&mut self, path: f64, normal: f64) -> f64 {
        let keep = (-path).exponential();
        self.0 = keep * self.0 + (1.0 - keep * keep).sqrt() * normal;
        self.0
    }
}

/// Gusts across the path and upwards: `(1 + √3 s) / (1 + s)²` with `s` in length scales, as two
/// equal lags in a row: `x' = y − x`, `y' = noise − y`, value `√3 y + (1 − √3) x`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Across {
    x: f64,
    y: f64,
}

impl Across {
    /// As if it had run for ever: covariance ((1/4, 1/4), (1/4, 1/2)).
    pub(super) fn new(normals: [f64; 2]) -> Self {
        Self {
            x: 0.5 * normals[0],
            y: 0.5 * (normals[0] + normals[1]),
        }
    }

    /// The next value, of unit variance.
    pub(super) fn next(&mut self, path: f64, normals: [f64; 2]) -> f64 {
        let keep = (-path).exponential();
        let square = keep * keep;
        // What white noise adds over the step: covariance of its passage through both lags.
        let yy = (1.0 - square) / 2.0;
        let xy = (1.0 - (1.0 + 2.0 * path) * square) / 4.0;
        let xx = (1.0 - (1.0 + 2.0 * path + 2.0 * path * path) * square) / 4.0;
        let y = yy.sqrt();
        let along = if y > 0.0 { xy / y } else { 0.0 };
        self.x = keep * (self.x + path * self.y)
            + along * normals[0]
            + (xx - along * along).max(0.0).sqrt() * normals[1];
        self.y = keep * self.y + y * normals[0];
        let root = 3f64.sqrt();
        root * self.y + (1.0 - root) * self.x
    }
}
