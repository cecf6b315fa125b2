//! Planned heights by distance: the practice of the trade, and what a flight makes of it.

use crate::plan::style::Intercept;
use crate::world::airports::LandingEnd;
use crate::world::types::interpolate;

/// Planned height by the practice of the trade: 300 ft per NM less 1,000 ft beyond 15 NM, linear to
/// the glide path at 8 NM, the glide path inside.
pub(crate) fn planning_height_ft(end: &LandingEnd, distance_nm: f64) -> f64 {
    if distance_nm >= 15.0 {
        300.0 * distance_nm - 1000.0
    } else if distance_nm >= 8.0 {
        let near = end.profile_height_ft(8.0);
        near + (distance_nm - 8.0) / 7.0 * (3500.0 - near)
    } else {
        end.profile_height_ft(distance_nm)
    }
}

/// Heights by track distance, rising distance, outside the final path.
#[derive(Clone, Debug)]
pub(crate) struct Descent {
    distance_nm: Vec<f64>,
    height_ft: Vec<f64>,
}

/// What bends a descent.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bend {
    /// Offsets from the plan at 20, 15 and 10 NM, ft.
    pub(crate) offsets_ft: [f64; 3],
    pub(crate) intercept: Intercept,
    /// Track flown in a holding that begins `HOLD_FROM_NM` before the threshold.
    pub(crate) hold_nm: f64,
}

/// Distance at which a holding is left.
pub(crate) const HOLD_FROM_NM: f64 = 33.0;

impl Descent {
    /// The descent to a landing end. A steep path is joined from a higher platform than the plan's,
    /// or the aircraft would have to climb to it.
    pub(crate) fn new(end: &LandingEnd, bend: &Bend) -> Self {
        let steep = end.glide_path_deg > 4.0;
        let [far, middle, near] = bend.offsets_ft;
        let base = if steep {
            [3800.0, 4050.0, 5350.0]
        } else {
            [10.0, 15.0, 20.0].map(|distance| planning_height_ft(end, distance))
        };
        let mut platform = base[0] + near;
        let mut at_15 = (base[1] + middle).max(platform + 50.0);
        let mut nodes = Vec::new();
        match bend.intercept {
            Intercept::Level if !steep => {
                // About 3,000 ft, below the path, until the speed is back.
                platform = platform.min(2930.0);
                nodes.extend([(10.0, platform), (12.4, platform + 40.0)]);
                at_15 = at_15.max(platform + 300.0);
            }
            Intercept::Above if !steep => {
                platform = platform.max(base[0] + 750.0);
                at_15 = at_15.max(platform + 350.0);
                nodes.push((10.0, platform));
            }
            _ => nodes.push((10.0, platform)),
        }
        nodes.extend([
            (15.0, at_15),
            (20.0, base[2] + far),
            // Shallow where speed is given up: down to 250 kt, and to the speed of 20 NM.
            (26.0, base[2] + 1130.0 + 0.9 * far),
            (HOLD_FROM_NM, 8200.0 + 0.7 * far),
            (HOLD_FROM_NM + bend.hold_nm + 1e-6, 8200.0 + 0.7 * far),
            (HOLD_FROM_NM + bend.hold_nm + 9.0, 10_750.0 + 0.5 * far),
        ]);
        let (distance_nm, height_ft) = nodes.into_iter().unzip();
        Self {
            distance_nm,
            height_ft,
        }
    }

    /// Height at a track distance of 10 NM or more.
    pub(crate) fn at(&self, distance_nm: f64) -> f64 {
        interpolate(&self.distance_nm, &self.height_ft, distance_nm)
    }

    /// Height at 10 NM, where the last descent to the final path begins.
    pub(crate) fn platform_ft(&self) -> f64 {
        self.height_ft[0]
    }
}
