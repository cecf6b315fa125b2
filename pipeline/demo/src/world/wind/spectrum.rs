//! The Dryden spectrum of MIL-F-8785C (3.7.2 and 3.7.3) and MIL-HDBK-1797: how long and how strong
//! gusts are at a height.
//!
//! Formulas and numbers are from memory of these documents; none was at hand. They are written in
//! the notation of MIL-F-8785C; MIL-HDBK-1797 halves the lengths across and upwards and doubles
//! them again inside its transfer functions, which comes to the same.

use crate::steady::Steady as _;
/// Lowest height of the low-altitude form, ft.
const LOWEST_FT: f64 = 10.0;
/// Up to this height the low-altitude form holds, ft.
const LOW_FT: f64 = 1000.0;
/// From this height the medium-altitude form holds, ft; linear in between.
const MEDIUM_FT: f64 = 2000.0;
/// Every length of the medium-altitude form, ft.
const MEDIUM_LENGTH_FT: f64 = 1750.0;
/// Share of the wind at 20 ft that is the deviation of vertical gusts.
const SHARE_OF_WIND: f64 = 0.1;

/// Length scale and deviation of gusts along the path, across it and upwards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scales {
    /// Along and across, ft.
    pub(super) flat_ft: f64,
    /// Upwards, ft.
    pub(super) up_ft: f64,
    /// Deviation along and across, kt.
    pub(super) flat_kt: f64,
    /// Deviation upwards, kt.
    pub(super) up_kt: f64,
}

impl Scales {
    /// At a height above the ground, for a wind at 20 ft and a deviation aloft.
    pub(super) fn at(height_ft: f64, wind_20ft_kt: f64, aloft_kt: f64) -> Self {
        let low = Self::low(height_ft, wind_20ft_kt);
        let aloft = Self {
            flat_ft: MEDIUM_LENGTH_FT,
            up_ft: MEDIUM_LENGTH_FT,
            flat_kt: aloft_kt,
            up_kt: aloft_kt,
        };
        let part = ((height_ft - LOW_FT) / (MEDIUM_FT - LOW_FT)).clamp(0.0, 1.0);
        let mix = |low: f64, aloft: f64| low + part * (aloft - low);
        Self {
            flat_ft: mix(low.flat_ft, aloft.flat_ft),
            up_ft: mix(low.up_ft, aloft.up_ft),
            flat_kt: mix(low.flat_kt, aloft.flat_kt),
            up_kt: mix(low.up_kt, aloft.up_kt),
        }
    }

    fn low(height_ft: f64, wind_20ft_kt: f64) -> Self {
        let height_ft = height_ft.clamp(LOWEST_FT, LOW_FT);
        let shape = 0.177 + 0.000_823 * height_ft;
        let up_kt = SHARE_OF_WIND * wind_20ft_kt;
        Self {
            flat_ft: height_ft / shape.to_power(1.2),
            up_ft: height_ft,
            flat_kt: up_kt / shape.to_power(0.4),
            up_kt,
        }
    }
}

/// Share of the time between 2,500 and 5,000 ft in which there is turbulence at all, and the scale
/// of its intensity then, ft/s: the non-storm terms P1 and b1 of the exceedance table that goes
/// with the spectrum (once 14 CFR 25 Appendix G as well). They stand for all medium heights here.
const ALOFT_SHARE: f64 = 0.30;
const ALOFT_FPS: f64 = 3.42;
/// Judgement, no source: even smooth air is not still, and nobody flies an approach through more.
const ALOFT_LEAST_FPS: f64 = 0.4;
const ALOFT_MOST_FPS: f64 = 8.0;

/// Deviation of gusts at medium altitude, ft/s, from a draw in 0…1 and one from the standard
/// normal distribution.
pub(super) fn aloft_fps(unit: f64, normal: f64) -> f64 {
    let there = if unit < ALOFT_SHARE {
        ALOFT_FPS * normal.abs()
    } else {
        0.0
    };
    there.clamp(ALOFT_LEAST_FPS, ALOFT_MOST_FPS)
}
