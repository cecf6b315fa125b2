//! Generated gusts against the published formula, and what they do to an aircraft.

use super::filter::{Across, Along};
use super::gusts::Gusts;
use super::spectrum::{Scales, aloft_fps};
use super::*;
use crate::world::atmosphere::FPS_PER_KT;
use std::f64::consts::{PI, TAU};

const STEP_S: f64 = 0.125;
/// Samples of one series: three hours and more at eight a second.
const SAMPLES: usize = 1 << 17;

fn along(path: f64) -> Vec<f64> {
    let mut dice = Dice::new(7, 1, "test");
    let mut filter = Along::new(dice.normal(0.0, 1.0));
    (0..SAMPLES)
        .map(|_| filter.next(path, dice.normal(0.0, 1.0)))
        .collect()
}

fn across(path: f64) -> Vec<f64> {
    let mut dice = Dice::new(7, 2, "test");
    let mut pair = || [dice.normal(0.0, 1.0), dice.normal(0.0, 1.0)];
    let mut filter = Across::new(pair());
    (0..SAMPLES).map(|_| filter.next(path, pair())).collect()
}

/// Power of a series between two frequencies, Hz: Welch's mean of windowed, half-overlapping pieces.
fn band_power(series: &[f64], bands: &[(f64, f64)]) -> Vec<f64> {
    const LENGTH: usize = 1024;
    let window: Vec<f64> = (0..LENGTH)
        .map(|k| 0.5 - 0.5 * (TAU * k as f64 / LENGTH as f64).cos())
        .collect();
    let norm: f64 = window.iter().map(|w| w * w).sum::<f64>();
    let spacing_hz = 1.0 / (LENGTH as f64 * STEP_S);
    let pieces: Vec<Vec<f64>> = series
        .windows(LENGTH)
        .step_by(LENGTH / 2)
        .map(|piece| piece.iter().zip(&window).map(|(v, w)| v * w).collect())
        .collect();
    let density = |bin: usize| {
        let (sin, cos) = (TAU * bin as f64 / LENGTH as f64).sin_cos();
        let total: f64 = pieces
            .iter()
            .map(|piece| {
                let (mut re, mut im, mut c, mut s) = (0.0, 0.0, 1.0, 0.0);
                for value in piece {
                    re += value * c;
                    im += value * s;
                    (c, s) = (c * cos - s * sin, s * cos + c * sin);
                }
                re * re + im * im
            })
            .sum();
        2.0 * STEP_S * total / norm / pieces.len() as f64
    };
    bands
        .iter()
        .map(|&(from, to)| {
            let bins = (from / spacing_hz).round() as usize..(to / spacing_hz).round() as usize;
            bins.map(density).sum::<f64>() * spacing_hz
        })
        .collect()
}

/// Published one-sided density at a frequency, of unit variance, per Hz, with `lag_s` = length over
/// airspeed; what lies above half the sampling rate is folded back, as it is in any samples.
fn published(frequency_hz: f64, lag_s: f64, form: fn(f64) -> f64) -> f64 {
    let one = |hz: f64| 2.0 * PI * form(lag_s * TAU * hz.abs()) * lag_s;
    (-60..=60)
        .map(|fold| one(frequency_hz + f64::from(fold) / STEP_S))
        .sum()
}

/// MIL-F-8785C: Φu(Ω) = σ² 2L/π · 1 / (1 + (LΩ)²), here over L.
fn along_form(x: f64) -> f64 {
    2.0 / PI / (1.0 + x * x)
}

/// Φv, Φw(Ω) = σ² L/π · (1 + 3 (LΩ)²) / (1 + (LΩ)²)², here over L.
fn across_form(x: f64) -> f64 {
    (1.0 + 3.0 * x * x) / (1.0 + x * x).powi(2) / PI
}

fn compare(series: &[f64], lag_s: f64, form: fn(f64) -> f64) {
    let bands = [(0.03, 0.1), (0.1, 0.3), (0.3, 0.8), (0.8, 1.6), (1.6, 3.2)];
    for (band, power) in bands.iter().zip(band_power(series, &bands)) {
        let fine = 400;
        let width = (band.1 - band.0) / f64::from(fine);
        let expected: f64 = (0..fine)
            .map(|k| published(band.0 + (f64::from(k) + 0.5) * width, lag_s, form) * width)
            .sum();
        assert!(
            (power / expected - 1.0).abs() < 0.1,
            "{band:?} Hz at a lag of {lag_s} s: {power}, published {expected}"
        );
    }
}

#[test]
fn power_by_frequency_is_the_published_spectrum() {
    // Within 10 % in each of five bands; the estimate itself scatters by about 3 %.
    for (tas_kt, height_ft) in [(140.0, 200.0), (150.0, 800.0), (230.0, 4000.0)] {
        let scales = Scales::at(height_ft, 15.0, 1.5);
        let flown_ft = tas_kt * FPS_PER_KT * STEP_S;
        let lag = |length_ft: f64| length_ft / (tas_kt * FPS_PER_KT);
        compare(
            &along(flown_ft / scales.flat_ft),
            lag(scales.flat_ft),
            along_form,
        );
        compare(
            &across(flown_ft / scales.flat_ft),
            lag(scales.flat_ft),
            across_form,
        );
        compare(
            &across(flown_ft / scales.up_ft),
            lag(scales.up_ft),
            across_form,
        );
    }
}

#[test]
fn variance_is_one_and_correlation_falls_with_the_published_length() {
    // Ten steps to a length scale.
    let path = 0.1;
    for (series, at_one, at_two) in [
        // e^-x along; e^-x (1 - x/2) across: a half of 1/e at one length, nothing at two.
        (along(path), (-1f64).exp(), (-2f64).exp()),
        (across(path), 0.5 * (-1f64).exp(), 0.0),
    ] {
        let product = |lag: usize| {
            let pairs = series.iter().zip(&series[lag..]);
            pairs.map(|(a, b)| a * b).sum::<f64>() / (SAMPLES - lag) as f64
        };
        assert!((product(0) - 1.0).abs() < 0.04, "variance {}", product(0));
        assert!(
            (product(10) - at_one).abs() < 0.04,
            "{} at one",
            product(10)
        );
        assert!(
            (product(20) - at_two).abs() < 0.04,
            "{} at two",
            product(20)
        );
    }
}

#[test]
fn the_step_does_not_change_the_process() {
    // Samples one length apart, stepped at once or in sixteen parts, have the same correlation.
    let correlation = |parts: usize| {
        let mut dice = Dice::new(3, parts as u64, "test");
        let mut filter = Across::new([0.0; 2]);
        let mut series = Vec::new();
        for _ in 0..60_000 {
            let mut last = 0.0;
            for _ in 0..parts {
                let pair = [dice.normal(0.0, 1.0), dice.normal(0.0, 1.0)];
                last = filter.next(1.0 / parts as f64, pair);
            }
            series.push(last);
        }
        let pairs = series.windows(2).map(|pair| pair[0] * pair[1]);
        pairs.sum::<f64>() / series.len() as f64
    };
    let (whole, parts) = (correlation(1), correlation(16));
    assert!((whole - parts).abs() < 0.02, "{whole} {parts}");
}

#[test]
fn scales_are_those_of_the_standard_and_join_smoothly() {
    // By hand from the formulas: at 1,000 ft the shape is 0.177 + 0.823 = 1.
    let top = Scales::at(1000.0, 20.0, 1.0);
    assert!((top.flat_ft - 1000.0).abs() < 1e-9 && (top.up_ft - 1000.0).abs() < 1e-9);
    assert!((top.flat_kt - 2.0).abs() < 1e-9 && (top.up_kt - 2.0).abs() < 1e-9);
    // At 100 ft it is 0.2593: 100 / 0.2593^1.2 = 505 ft, 2 / 0.2593^0.4 = 3.43 kt.
    let low = Scales::at(100.0, 20.0, 1.0);
    assert!((low.flat_ft - 505.3).abs() < 1.0, "{low:?}");
    assert!((low.flat_kt - 3.432).abs() < 0.01, "{low:?}");
    assert!((low.up_ft - 100.0).abs() < 1e-9 && (low.up_kt - 2.0).abs() < 1e-9);
    let aloft = Scales::at(2500.0, 20.0, 1.3);
    assert_eq!(
        aloft,
        Scales {
            flat_ft: 1750.0,
            up_ft: 1750.0,
            flat_kt: 1.3,
            up_kt: 1.3
        }
    );
    for height in 1..400 {
        let height_ft = 10.0 * f64::from(height);
        let (here, above) = (
            Scales::at(height_ft, 20.0, 1.0),
            Scales::at(height_ft + 1.0, 20.0, 1.0),
        );
        assert!((above.flat_ft - here.flat_ft).abs() < 8.0, "{height_ft} ft");
        assert!(
            (above.flat_kt - here.flat_kt).abs() < 0.02,
            "{height_ft} ft"
        );
        assert!((above.up_kt - here.up_kt).abs() < 0.02, "{height_ft} ft");
    }
}

#[test]
fn intensity_aloft_is_exceeded_as_often_as_the_table_says() {
    // One time in ten more than 3.3 ft/s and one in a hundred more than 7.4 (from memory: the
    // exceedance chart of MIL-F-8785C near 4,000 ft; its storms add to the rarer ones).
    let mut dice = Dice::new(1, 1, "test");
    let draws = 200_000;
    let sizes: Vec<f64> = (0..draws)
        .map(|_| aloft_fps(dice.uniform(0.0, 1.0), dice.normal(0.0, 1.0)))
        .collect();
    let share = |above: f64| sizes.iter().filter(|s| **s > above).count() as f64 / draws as f64;
    assert!((share(3.3) - 0.1).abs() < 0.005, "{}", share(3.3));
    assert!((share(7.4) - 0.009).abs() < 0.002, "{}", share(7.4));
    assert!(sizes.iter().all(|size| (0.4..=8.0).contains(size)));
}

fn wind(surface_kt: f64) -> Wind {
    Wind {
        surface_kt,
        from_deg: 250.0,
        veer_deg: 3.0,
        exponent: 0.15,
    }
}

#[test]
fn the_deviation_follows_the_height_on_the_way_down() {
    // Many flights through the same descent: at each height the spread over the flights is the
    // published deviation, although the filters' scales changed all the way.
    let steps = 240;
    let height = |step: usize| 1500.0 - 6.0 * step as f64;
    let mut squares = vec![0.0; steps];
    let flights = 3000;
    for number in 0..flights {
        let mut gusts = Gusts::new(5, number, &wind(20.0));
        for (step, square) in squares.iter_mut().enumerate() {
            *square += gusts.next(0.25, 140.0, height(step)).along_kt.powi(2) / flights as f64;
        }
    }
    let wind_20ft_kt = wind(20.0).at(20.0).0;
    for step in [110, 150, 190, 230] {
        let published = Scales::at(height(step), wind_20ft_kt, 0.0).flat_kt;
        let found = squares[step].sqrt();
        assert!(
            (found / published - 1.0).abs() < 0.05,
            "{} ft: {found} kt, published {published}",
            height(step)
        );
    }
}

#[test]
fn every_way_of_flying_meets_the_same_draws() {
    let mut slow = Gusts::new(9, 4, &wind(12.0));
    let mut fast = Gusts::new(9, 4, &wind(12.0));
    for step in 0..500 {
        slow.next(0.25, 130.0, 3000.0 - 5.0 * f64::from(step));
        fast.next(0.25, 210.0, 2500.0);
    }
    // Once both have flown alike for long enough, what they meet is the same again.
    for _ in 0..2000 {
        slow.next(0.25, 150.0, 300.0);
        fast.next(0.25, 150.0, 300.0);
    }
    let (a, b) = (slow.next(0.25, 150.0, 300.0), fast.next(0.25, 150.0, 300.0));
    assert!((a.along_kt - b.along_kt).abs() < 1e-9);
    assert!((a.vertical_kt[1] - b.vertical_kt[1]).abs() < 1e-9);
}

#[test]
fn airspeed_and_load_move_as_much_as_the_wind_lets_them() {
    let options = crate::Options::default();
    for type_index in 0..3 {
        let plan = (0..)
            .map(|number| crate::plan::draw::draw(&options, number))
            .find(|plan| plan.type_index == type_index)
            .unwrap();
        // Mean deviation over ten seconds, at one sample a second, from 900 to 100 ft.
        let shaken = |surface_kt: f64| {
            let (mut loads, mut speeds, mut count) = (0.0, 0.0, 0.0);
            for number in 0..40 {
                let mut gusts = Gusts::new(2, number, &wind(surface_kt));
                let series: Vec<(f64, f64)> = (0..280)
                    .map(|step| {
                        let gust = gusts.next(0.25, 145.0, 900.0 - 3.0 * f64::from(step));
                        let load = load_g_per_kt(&plan, 138.0, 145.0);
                        (load * gust.vertical_kt[0], gust.along_kt)
                    })
                    .collect();
                speeds += series.iter().map(|s| s.1 * s.1).sum::<f64>() / 280.0 / 40.0;
                for piece in series.chunks_exact(40) {
                    let values: Vec<f64> = piece.iter().step_by(4).map(|s| s.0).collect();
                    let mean = values.iter().sum::<f64>() / 10.0;
                    let square = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 10.0;
                    loads += square.sqrt();
                    count += 1.0;
                }
            }
            (loads / count, speeds.sqrt())
        };
        let (light_g, light_kt) = shaken(5.0);
        assert!((0.005..0.03).contains(&light_g), "{light_g} g at 5 kt");
        assert!((0.4..1.0).contains(&light_kt), "{light_kt} kt at 5 kt");
        let (strong_g, strong_kt) = shaken(26.0);
        assert!((0.04..0.12).contains(&strong_g), "{strong_g} g at 26 kt");
        assert!((2.2..5.0).contains(&strong_kt), "{strong_kt} kt at 26 kt");
    }
}
