//! Published figures, and what a written fleet shows of each.
//!
//! A figure says what is published, by whom, and the range in which a fleet must come out. Where a
//! source gives a range, it is that one; where it gives a number or a rule of thumb, the range is
//! judgement, and the table shows it beside the number.

mod drag;
mod path;
mod rates;
mod roughness;
mod shape;

use crate::fleet::flown::Flown;

/// One published figure and the fleet's answer to it.
#[derive(Clone, Debug)]
pub(crate) struct Figure {
    pub(crate) name: String,
    /// What is published, in its own words and unit.
    pub(crate) published: String,
    pub(crate) source: &'static str,
    /// Where the fleet must come out.
    pub(crate) range: (f64, f64),
    pub(crate) shown: Shown,
}

/// What the fleet shows.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Shown {
    /// A middle value, how many it is the middle of, and its unit.
    Middle(f64, usize, &'static str),
    /// So many of so many, and how many of how many the range counts (100 = percent).
    Share(usize, usize, f64),
}

/// Fewer windows or approaches than this say nothing.
const LEAST: usize = 15;

impl Figure {
    /// Whether there is enough to say.
    pub(crate) fn known(&self) -> bool {
        match self.shown {
            Shown::Middle(value, count, _) => value.is_finite() && count >= LEAST,
            Shown::Share(_, of, _) => of >= LEAST,
        }
    }

    /// Whether the fleet agrees: a middle lies in the range; of a share, which chance moves in a
    /// small fleet, the 99 % interval reaches it.
    pub(crate) fn holds(&self) -> bool {
        let (low, high) = match self.shown {
            Shown::Middle(value, _, _) => (value, value),
            Shown::Share(count, of, per) => {
                let (low, high) = wilson(count, of);
                (low * per, high * per)
            }
        };
        self.known() && high >= self.range.0 && low <= self.range.1
    }

    /// The fleet's answer in words.
    pub(crate) fn answer(&self) -> String {
        match self.shown {
            _ if !self.known() => "too few to say".to_owned(),
            Shown::Middle(value, count, unit) => {
                format!("{} {unit} ({count})", figures_of(value))
            }
            Shown::Share(count, of, per) => {
                let share = count as f64 / of as f64 * per;
                let unit = if per == 100.0 { " %" } else { " per 1,000" };
                format!("{share:.1}{unit} ({count} of {of})")
            }
        }
    }
}

/// A number with as many digits as say something.
pub(crate) fn figures_of(value: f64) -> String {
    let digits = match value.abs() {
        size if size >= 1000.0 => return crate::panel::grouped(value),
        size if size >= 100.0 => 0,
        size if size >= 1.0 => 1,
        size if size >= 0.1 => 2,
        size if size >= 0.001 => 3,
        _ => 0,
    };
    format!("{value:.digits$}").replace('-', "−")
}

/// The interval of Wilson (1927) at 99 %.
fn wilson(count: usize, of: usize) -> (f64, f64) {
    const Z: f64 = 2.5758;
    let (count, of) = (count as f64, of as f64);
    let share = count / of;
    let middle = share + Z * Z / (2.0 * of);
    let half = Z * (share * (1.0 - share) / of + Z * Z / (4.0 * of * of)).sqrt();
    let whole = 1.0 + Z * Z / of;
    ((middle - half) / whole, (middle + half) / whole)
}

/// The value below which a share of the others lies.
fn quantile(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let index = (share * (values.len().max(1) - 1) as f64).round() as usize;
    values.get(index).copied().unwrap_or(f64::NAN)
}

/// The middle of values with their number, as an answer.
fn middle(values: &[f64], unit: &'static str) -> Shown {
    let mut sorted = values.to_vec();
    Shown::Middle(quantile(&mut sorted, 0.5), values.len(), unit)
}

/// What is gathered from a fleet, approach by approach.
#[derive(Default)]
pub(crate) struct Gathered {
    drag: drag::Windows,
    path: path::Paths,
    rates: rates::Rates,
    roughness: roughness::Roughness,
    shape: shape::Shapes,
}

impl Gathered {
    /// Takes one approach in.
    pub(crate) fn add(&mut self, flown: &Flown<'_>) {
        self.drag.add(flown);
        self.path.add(flown);
        self.rates.add(flown);
        self.roughness.add(flown);
        self.shape.add(flown);
    }

    /// Every figure; `real` is the real flight that some are compared with.
    pub(crate) fn figures(&self, real: &Flown<'_>) -> Vec<Figure> {
        let mut figures = self.drag.figures(real);
        figures.extend(self.path.figures());
        figures.extend(self.rates.figures());
        figures.extend(self.shape.figures(real));
        figures.extend(self.roughness.figures(real));
        figures
    }
}
