//! Columns of any rate side by side, one value a second, so that they can be held against each other.

/// Longest way between two known cells that is bridged: the slowest channels of a flight path.
const BRIDGE_S: f64 = 9.0;
/// Seconds that are laid side by side, by judgement: more than the rows that are looked at span at 1 Hz.
const SECONDS: usize = 2_000_000;
/// A step of time longer than this begins another flight.
const APART_S: f64 = 300.0;

/// The seconds of all flights that were looked at, one after the other.
pub(super) struct Grid {
    /// First and last row, first second, first place and number of places.
    flights: Vec<(usize, usize, f64, usize, usize)>,
    time_s: Vec<f64>,
    pub(super) len: usize,
}

impl Grid {
    /// Cuts where a file begins, where time goes back and where it leaps.
    pub(super) fn new(time_s: Vec<f64>, starts: &[usize]) -> Self {
        let (mut flights, mut len, mut from) = (Vec::new(), 0, 0);
        for row in 1..=time_s.len() {
            let apart = row == time_s.len()
                || starts.contains(&row)
                || time_s[row] < time_s[row - 1] - 5.0
                || time_s[row] > time_s[row - 1] + APART_S;
            if !apart {
                continue;
            }
            let known = time_s[from..row].iter().copied().filter(|t| t.is_finite());
            let (low, high) = known.fold((f64::MAX, f64::MIN), |(a, b), t| (a.min(t), b.max(t)));
            if high > low && len < SECONDS {
                let n = (high - low).min(200_000.0) as usize + 1;
                flights.push((from, row, low, len, n));
                len += n;
            }
            from = row;
        }
        Self {
            flights,
            time_s,
            len,
        }
    }

    pub(super) fn flights(&self) -> impl Iterator<Item = std::ops::Range<usize>> {
        self.flights.iter().map(|&(.., at, n)| at..at + n)
    }

    /// Linear between known cells; `held` takes the nearer of the two.
    pub(super) fn series(&self, values: &[f64], held: bool) -> Vec<f64> {
        let mut series = vec![f64::NAN; self.len];
        for &(from, to, start, at, n) in &self.flights {
            let mut before: Option<(f64, f64)> = None;
            for (time, &value) in self.time_s[from..to].iter().zip(&values[from..to]) {
                let time = time - start;
                if !value.is_finite() || !time.is_finite() {
                    continue;
                }
                if let Some((time0, value0)) = before
                    && time > time0
                    && time - time0 <= BRIDGE_S
                {
                    let mut second = time0.ceil();
                    while second <= time && (second as usize) < n {
                        let share = (second - time0) / (time - time0);
                        series[at + second as usize] = if held {
                            if share < 0.5 { value0 } else { value }
                        } else {
                            value0 + share * (value - value0)
                        };
                        second += 1.0;
                    }
                }
                before = Some((time, value));
            }
        }
        series
    }

    /// Change a second over `half` seconds to both sides.
    pub(super) fn slope(&self, series: &[f64], half: usize) -> Vec<f64> {
        let mut slope = vec![f64::NAN; self.len];
        for flight in self.flights() {
            for i in flight.start + half..flight.end.saturating_sub(half) {
                slope[i] = (series[i + half] - series[i - half]) / (2 * half) as f64;
            }
        }
        slope
    }

    /// The same for angles in degrees, along the shorter arc.
    pub(super) fn turn(&self, angle: &[f64], half: usize) -> Vec<f64> {
        let mut slope = vec![f64::NAN; self.len];
        for flight in self.flights() {
            for i in flight.start + half..flight.end.saturating_sub(half) {
                slope[i] = arc(angle[i + half] - angle[i - half]) / (2 * half) as f64;
            }
        }
        slope
    }
}

/// A difference of angles, −180…180°.
pub(super) fn arc(deg: f64) -> f64 {
    (deg + 180.0).rem_euclid(360.0) - 180.0
}

pub(super) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.retain(|v| v.is_finite());
    if values.is_empty() {
        return None;
    }
    values.sort_by(f64::total_cmp);
    Some(values[values.len() / 2])
}

/// Factor by which `x` becomes `y`, and how well the two go together (−1…1).
pub(super) fn factor(x: &[f64], y: &[f64]) -> Option<(f64, f64)> {
    let (mut n, mut xx, mut yy, mut xy) = (0_usize, 0.0, 0.0, 0.0);
    for (x, y) in x
        .iter()
        .zip(y)
        .filter(|(x, y)| x.is_finite() && y.is_finite())
    {
        n += 1;
        xx += x * x;
        yy += y * y;
        xy += x * y;
    }
    (n >= 60 && xx > 0.0 && yy > 0.0).then(|| (xy / xx, xy / (xx * yy).sqrt()))
}

/// As [`factor`], each less its mean: slope and correlation.
pub(super) fn line(x: &[f64], y: &[f64]) -> Option<(f64, f64)> {
    let pairs: Vec<(f64, f64)> = x
        .iter()
        .copied()
        .zip(y.iter().copied())
        .filter(|(x, y)| x.is_finite() && y.is_finite())
        .collect();
    let n = pairs.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / n;
    let (mx, my) = (mean(|p| p.0), mean(|p| p.1));
    let (x, y): (Vec<f64>, Vec<f64>) = pairs.iter().map(|(x, y)| (x - mx, y - my)).unzip();
    factor(&x, &y)
}
