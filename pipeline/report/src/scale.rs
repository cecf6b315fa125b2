//! From figures to places on paper, and the round numbers to write beside them.

/// Maps a range of values onto a range of the picture.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
    root: bool,
}

impl Scale {
    /// Even steps. An empty range of values is widened, so that a place is always finite.
    pub(crate) fn linear(values: (f64, f64), places: (f64, f64)) -> Self {
        let (low, high) = values;
        let high = if high > low { high } else { low + 1.0 };
        Self {
            low,
            high,
            from: places.0,
            to: places.1,
            root: false,
        }
    }

    /// Square-root steps from zero: rare and frequent rules can be read side by side, and zero
    /// keeps a place, which a logarithm would deny it.
    pub(crate) fn root(high: f64, places: (f64, f64)) -> Self {
        Self {
            root: true,
            ..Self::linear((0.0, high), places)
        }
    }

    /// Place of a value; values outside are held at the edge.
    pub(crate) fn place(&self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        let share = share.clamp(0.0, 1.0);
        let share = if self.root { share.sqrt() } else { share };
        self.from + share * (self.to - self.from)
    }

    /// Whether a value lies past the far end.
    pub(crate) fn is_beyond(&self, value: f64) -> bool {
        value > self.high * (1.0 + 1e-9)
    }

    /// Round values inside the range, at least `apart` units of the picture from one another.
    pub(crate) fn ticks(&self, apart: f64) -> Vec<f64> {
        if self.root {
            return self.root_ticks(apart);
        }
        let most = ((self.to - self.from).abs() / apart).floor().max(1.0);
        let step = round_up((self.high - self.low) / most);
        let first = (self.low / step).ceil();
        let last = (self.high / step + 1e-9).floor();
        let mut ticks = Vec::new();
        let mut k = first;
        while k <= last {
            ticks.push(k * step);
            k += 1.0;
        }
        ticks
    }

    fn root_ticks(&self, apart: f64) -> Vec<f64> {
        let mut ticks = vec![0.0];
        let mut last = self.from;
        for exponent in -2..=3 {
            for mantissa in [1.0, 2.0, 5.0] {
                let tick = mantissa * 10f64.powi(exponent);
                if tick <= self.high && (self.place(tick) - last).abs() >= apart {
                    last = self.place(tick);
                    ticks.push(tick);
                }
            }
        }
        ticks
    }
}

/// The next of 1, 2, 5 × 10ᵏ.
fn round_up(value: f64) -> f64 {
    let power = 10f64.powf(value.log10().floor());
    for mantissa in [1.0, 2.0, 5.0] {
        if value <= mantissa * power * (1.0 + 1e-9) {
            return mantissa * power;
        }
    }
    10.0 * power
}

/// A tick's label: as many decimals as its step needs.
pub(crate) fn tick_label(value: f64, ticks: &[f64]) -> String {
    let step = match ticks {
        [first, second, ..] => (second - first).abs(),
        _ => 1.0,
    };
    let places = if step >= 1.0 {
        0
    } else if step >= 0.1 {
        1
    } else {
        2
    };
    crate::words::decimals(value, places)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let scale = Scale::linear((0.0, 47.0), (0.0, 400.0));
        assert_eq!(scale.ticks(70.0), vec![0.0, 10.0, 20.0, 30.0, 40.0]);
        let below_zero = Scale::linear((-12.0, 7.0), (0.0, 400.0));
        assert_eq!(below_zero.ticks(90.0), vec![-10.0, -5.0, 0.0, 5.0]);
    }

    #[test]
    fn a_range_without_width_still_has_places() {
        let scale = Scale::linear((3.0, 3.0), (0.0, 100.0));
        assert_eq!(scale.place(3.0), 0.0);
        assert!(!scale.ticks(40.0).is_empty());
        assert_eq!(Scale::root(0.0, (5.0, 100.0)).place(0.0), 5.0);
    }

    #[test]
    fn values_outside_are_held_at_the_edge() {
        let scale = Scale::linear((0.0, 10.0), (0.0, 100.0));
        assert_eq!(scale.place(99.0), 100.0);
        assert!(scale.is_beyond(10.1));
        assert!(!scale.is_beyond(10.0));
    }
}
