//! What two channels say of the same movement, window by window.

use crate::catalogue::Catalogue;
use crate::flight::{Channel, RawFlight};
use crate::series::{Series, resolution};

/// Movement is looked at over this long: lags are a few seconds. Judgement.
const WINDOW_S: f64 = 30.0;
/// And over this long where a step of the recorder is large against what is looked for.
const LONG_WINDOW_S: f64 = 60.0;
/// A movement of this many steps of the recorder is known to a quarter at worst, and the median of
/// several far better.
const CLEAR_STEPS: f64 = 4.0;
/// This share of a window has to be known. Judgement.
const KNOWN_SHARE: f64 = 0.8;

/// One window: what the channel says on average, and what its witness says, in the same unit.
pub(super) struct Moment {
    pub(super) said: f64,
    pub(super) seen: f64,
}

/// How long the windows are, and the least movement in one of them that is clear.
#[derive(Clone, Copy)]
pub(super) struct Windows {
    pub(super) window_s: f64,
    pub(super) least: f64,
}

impl Windows {
    /// For a witness of these values and a movement `per_s`, in their unit a second.
    pub(super) fn of(values: &[&[f64]], per_s: f64) -> Self {
        let steps = values.iter().map(|v| resolution(v));
        let clear = CLEAR_STEPS * steps.fold(0.0, f64::max);
        let window_s = if clear <= per_s * WINDOW_S {
            WINDOW_S
        } else {
            LONG_WINDOW_S
        };
        Self {
            window_s,
            least: clear.max(per_s * window_s),
        }
    }

    /// The windows, from the first to the last of a channel, in which both are known.
    pub(super) fn moments(
        self,
        itself: &Series,
        said: impl Fn(f64, f64) -> Option<f64>,
        seen: impl Fn(f64, f64) -> Option<f64>,
    ) -> Vec<Moment> {
        let (Some(first_s), Some(last_s)) = (itself.time_s.first(), itself.time_s.last()) else {
            return Vec::new();
        };
        let count = ((last_s - first_s) / self.window_s).floor() as usize;
        (0..count)
            .filter_map(|k| {
                let from_s = first_s + k as f64 * self.window_s;
                let to_s = from_s + self.window_s;
                let seen = seen(from_s, to_s)?;
                let said = said(from_s, to_s)?;
                Some(Moment { said, seen })
            })
            .collect()
    }
}

/// Mean over a window, taken every second.
pub(super) fn mean(series: &Series, from_s: f64, to_s: f64) -> Option<f64> {
    let seconds = (to_s - from_s).round() as usize;
    let known: Vec<f64> = (0..seconds)
        .filter_map(|k| series.linear(from_s + k as f64 + 0.5))
        .collect();
    let enough = !known.is_empty() && known.len() as f64 >= KNOWN_SHARE * seconds as f64;
    enough.then(|| known.iter().sum::<f64>() / known.len() as f64)
}

/// Change over a window, known in its middle too.
pub(super) fn change(series: &Series, from_s: f64, to_s: f64) -> Option<f64> {
    series.linear(0.5 * (from_s + to_s))?;
    Some(series.linear(to_s)? - series.linear(from_s)?)
}

/// The values of a witness that are in its plausible range.
pub(super) fn plausible(flight: &RawFlight, catalogue: &Catalogue, name: &str) -> Series {
    let inside = inside(catalogue, name);
    kept(flight.channels.get(name), inside)
}

/// What a channel says, plausible or not; but one value that makes most of what is out of range is a code for
/// "unknown" and no reading.
pub(super) fn readings(flight: &RawFlight, catalogue: &Catalogue, name: &str) -> Series {
    let channel = flight.channels.get(name);
    let inside = inside(catalogue, name);
    let mut outside = kept(channel, |v| !inside(v)).value;
    outside.sort_unstable_by(f64::total_cmp);
    let code = outside
        .chunk_by(|a, b| a == b)
        .find(|alike| 2 * alike.len() > outside.len())
        .map(|alike| alike[0]);
    kept(channel, |v| Some(v) != code)
}

/// Whether a value is in the plausible range of a parameter.
fn inside(catalogue: &Catalogue, name: &str) -> impl Fn(f64) -> bool {
    let range = catalogue.lookup(name).map(|p| p.low..=p.high);
    move |value| range.as_ref().is_none_or(|range| range.contains(&value))
}

fn kept(channel: Option<&Channel>, keep: impl Fn(f64) -> bool) -> Series {
    let kept = |channel| Series::kept(channel, |v| v.is_finite() && keep(v));
    channel.map(kept).unwrap_or_default()
}
