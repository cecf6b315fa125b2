//! A rate that changes by so many per cent a month: quasi-Poisson regression with the approaches as offset.
//!
//! log μ = β₀ + β₁t + log n, fitted by iteratively reweighted least squares; variance φμ, with φ from the
//! residuals and never below 1; Student's t with what is left of the degrees of freedom. From two years on
//! one yearly wave can be fitted beside the line, so that a season is no trend.

use std::f64::consts::TAU;

use crate::numerics::{student_quantile_upper, student_two_sided};
use crate::{Counted, Period, laney, tail_of};

/// Whether a wave of twelve periods is fitted beside the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Season {
    /// Only the line.
    Ignored,
    /// The line and one harmonic pair of twelve periods.
    Yearly,
}

/// Change of a rate from period to period.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Periods used: those with approaches.
    pub periods: usize,
    /// 100(e^β₁ − 1): per cent a period.
    pub pct_per_period: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
    /// Two-sided p of "no change".
    pub p: f64,
    /// Standard error of the logarithmic slope, with φ.
    pub log_se: f64,
    /// Periods less parameters.
    pub degrees_of_freedom: usize,
    /// Pearson's φ around the fit, before it is raised to 1.
    pub phi: f64,
    /// Dispersion from period to period (Laney); `None` with fewer than two periods.
    pub sigma_z: Option<f64>,
}

/// A fitted line: what [`Slope`] is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Logarithm of the rate at t = 0.
    pub intercept: f64,
    /// Change of that logarithm from period to period.
    pub slope: f64,
    /// Standard error of the slope for φ = 1.
    pub slope_se: f64,
    /// Deviance.
    pub deviance: f64,
    /// Pearson's φ, not raised to 1.
    pub phi: f64,
    /// Periods less parameters.
    pub degrees_of_freedom: usize,
}

/// Largest number of steps; a fit that needs more has no end (events at one end of the series only).
const STEPS: usize = 50;
/// Steps smaller than this are the end.
const SMALL: f64 = 1e-10;
/// Parameters at most: line and wave.
const MOST: usize = 4;

type Row = [f64; MOST];

/// The slope of a series. `confidence` as a fraction (0.95).
///
/// Periods without approaches are dropped, and the others keep their index. `None` without any event, with
/// no degree of freedom left, for unusable numbers, and where the fit has no end.
#[must_use]
pub fn slope(series: &[Period], season: Season, confidence: f64) -> Option<Slope> {
    let used: Vec<(f64, Counted)> = series
        .iter()
        .filter(|period| period.counted.evaluable > 0.0)
        .map(|period| (f64::from(period.index), period.counted))
        .collect();
    if series.iter().any(|period| !period.counted.is_sound()) {
        return None;
    }
    let line = fit_line(&used, season)?;
    let freedom = line.degrees_of_freedom as f64;
    let se = line.slope_se * line.phi.max(1.0).sqrt();
    let t = student_quantile_upper(tail_of(confidence)?, freedom)?;
    let pct = |slope: f64| 100.0 * slope.exp_m1();
    let counted: Vec<Counted> = used.iter().map(|(_, counted)| *counted).collect();
    let found = Slope {
        periods: used.len(),
        pct_per_period: pct(line.slope),
        low: pct(line.slope - t * se),
        high: pct(line.slope + t * se),
        p: student_two_sided(line.slope / se, freedom)?,
        log_se: se,
        degrees_of_freedom: line.degrees_of_freedom,
        phi: line.phi,
        sigma_z: laney(&counted).map(|laney| laney.sigma_z),
    };
    [found.pct_per_period, found.low, found.high, found.p]
        .iter()
        .all(|value| value.is_finite())
        .then_some(found)
}

/// Fits the line through (t, counts). Conditions as for [`slope`].
#[must_use]
pub fn fit_line(points: &[(f64, Counted)], season: Season) -> Option<Line> {
    let parameters = match season {
        Season::Ignored => 2,
        Season::Yearly => 4,
    };
    let sound = points
        .iter()
        .all(|(t, counted)| t.is_finite() && counted.is_sound() && counted.evaluable > 0.0);
    let events: f64 = points.iter().map(|(_, counted)| counted.with_event).sum();
    let approaches: f64 = points.iter().map(|(_, counted)| counted.evaluable).sum();
    if !sound || points.len() <= parameters || events <= 0.0 {
        return None;
    }
    // Centred, the two coefficients hardly depend on each other.
    let centre = points.iter().map(|(t, _)| t).sum::<f64>() / points.len() as f64;
    let rows: Vec<(Row, Counted)> = points
        .iter()
        .map(|(t, counted)| {
            let wave = TAU * t / 12.0;
            ([1.0, t - centre, wave.sin(), wave.cos()], *counted)
        })
        .collect();
    let mut beta = [0.0; MOST];
    beta[0] = (events / approaches).ln();
    let mut deviance = deviance_of(&rows, &beta);
    let mut ended = false;
    for _ in 0..STEPS {
        let next = step(&rows, &beta, parameters)?;
        let (accepted, found) = halved(&rows, &beta, next, deviance);
        let change = (0..parameters)
            .map(|i| (accepted[i] - beta[i]).abs())
            .fold(0.0, f64::max);
        (beta, deviance) = (accepted, found);
        if change < SMALL {
            ended = true;
            break;
        }
    }
    if !ended || !deviance.is_finite() {
        return None;
    }
    let (information, _) = normal_equations(&rows, &beta, parameters);
    let mut unit = [0.0; MOST];
    unit[1] = 1.0;
    let column = solve(information, unit, parameters)?;
    let freedom = points.len() - parameters;
    let pearson: f64 = rows
        .iter()
        .map(|(row, counted)| {
            let mu = mean(row, counted, &beta);
            (counted.with_event - mu).powi(2) / mu
        })
        .sum();
    Some(Line {
        intercept: beta[0] - beta[1] * centre,
        slope: beta[1],
        slope_se: column[1].sqrt(),
        deviance,
        phi: pearson / freedom as f64,
        degrees_of_freedom: freedom,
    })
}

fn mean(row: &Row, counted: &Counted, beta: &Row) -> f64 {
    let sum: f64 = row.iter().zip(beta).map(|(x, b)| x * b).sum();
    counted.evaluable * sum.exp()
}

fn deviance_of(rows: &[(Row, Counted)], beta: &Row) -> f64 {
    let parts = rows.iter().map(|(row, counted)| {
        let (x, mu) = (counted.with_event, mean(row, counted, beta));
        let own = if x > 0.0 { x * (x / mu).ln() } else { 0.0 };
        2.0 * (own - (x - mu))
    });
    parts.sum()
}

/// Information XᵀWX and right side XᵀWz of one step, W = μ.
fn normal_equations(rows: &[(Row, Counted)], beta: &Row, parameters: usize) -> ([Row; MOST], Row) {
    let (mut left, mut right) = ([[0.0; MOST]; MOST], [0.0; MOST]);
    for (row, counted) in rows {
        let mu = mean(row, counted, beta);
        // Working response less the part that β explains already: only the change is solved for.
        let residual = counted.with_event - mu;
        for i in 0..parameters {
            right[i] += row[i] * residual;
            for j in 0..parameters {
                left[i][j] += mu * row[i] * row[j];
            }
        }
    }
    (left, right)
}

fn step(rows: &[(Row, Counted)], beta: &Row, parameters: usize) -> Option<Row> {
    let (left, right) = normal_equations(rows, beta, parameters);
    let change = solve(left, right, parameters)?;
    let mut next = *beta;
    for i in 0..parameters {
        next[i] += change[i];
    }
    Some(next)
}

/// Halves a step for as long as the deviance rises.
fn halved(rows: &[(Row, Counted)], from: &Row, to: Row, before: f64) -> (Row, f64) {
    let mut to = to;
    let mut found = deviance_of(rows, &to);
    let room = 1e-12 * before.abs();
    for _ in 0..30 {
        if found <= before + room {
            break;
        }
        for (to, from) in to.iter_mut().zip(from) {
            *to = f64::midpoint(*to, *from);
        }
        found = deviance_of(rows, &to);
    }
    (to, found)
}

/// Solves a small symmetric positive definite system by elimination; `None` where it has no single answer.
fn solve(mut left: [Row; MOST], mut right: Row, size: usize) -> Option<Row> {
    for pivot in 0..size {
        let own = left[pivot][pivot];
        if !own.is_finite() || own <= 0.0 {
            return None;
        }
        let (above, below) = left.split_at_mut(pivot + 1);
        for (row, own_row) in (pivot + 1..size).zip(below) {
            let factor = own_row[pivot] / own;
            for (value, eliminated) in own_row.iter_mut().zip(&above[pivot]) {
                *value -= factor * eliminated;
            }
            right[row] -= factor * right[pivot];
        }
    }
    let mut answer = [0.0; MOST];
    for row in (0..size).rev() {
        let known: f64 = (row + 1..size).map(|j| left[row][j] * answer[j]).sum();
        answer[row] = (right[row] - known) / left[row][row];
    }
    answer
        .iter()
        .all(|value| value.is_finite())
        .then_some(answer)
}
