//! The invented recorders: what their columns are called, how often and how coarsely they sample,
//! and how far what they store is from what was.

mod brae;
mod corvan;
mod quantity;
mod tarn;

pub(crate) use quantity::Quantity;

use crate::world::types::TYPE_COUNT;

/// Time is counted in eighths of a second: nothing is recorded faster.
pub(crate) const TICKS_PER_S: usize = 8;

/// One recorded column.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Channel {
    pub(crate) name: &'static str,
    pub(crate) quantity: Quantity,
    /// Catalogue unit to recorded unit: `scale · value + offset`.
    pub(crate) scale: f64,
    pub(crate) offset: f64,
    /// Step in the recorded unit; 0 = a small whole number (discrete).
    pub(crate) step: f64,
    /// A larger step from some recorded value on: from, step.
    pub(crate) coarse: Option<(f64, f64)>,
    /// Standard deviation of the sensor's noise in the catalogue unit; three of it are its limit.
    pub(crate) noise: f64,
    /// Ticks between samples, and the tick within them.
    pub(crate) every: (usize, usize),
    /// Known lag: a sample shows what was this long before its time.
    pub(crate) delay_s: f64,
    /// A sample is taken up to this much earlier still, by chance; nobody tells the reader.
    pub(crate) jitter_s: f64,
    /// Stored through a dictionary, because few values occur; all other numbers byte by byte.
    pub(crate) repeats: bool,
}

impl Channel {
    /// A discrete column once a second, in the catalogue's unit.
    const fn new(name: &'static str, quantity: Quantity) -> Self {
        Self {
            name,
            quantity,
            scale: 1.0,
            offset: 0.0,
            step: 0.0,
            coarse: None,
            noise: 0.0,
            every: (TICKS_PER_S, 0),
            delay_s: 0.0,
            jitter_s: 0.0,
            repeats: false,
        }
    }

    const fn scale(self, scale: f64) -> Self {
        Self { scale, ..self }
    }

    /// A state recorded the other way round.
    const fn inverted(self) -> Self {
        Self {
            scale: -1.0,
            offset: 1.0,
            ..self
        }
    }

    const fn step(self, step: f64) -> Self {
        Self { step, ..self }
    }

    const fn coarse_from(self, from: f64, step: f64) -> Self {
        Self {
            coarse: Some((from, step)),
            ..self
        }
    }

    const fn noise(self, noise: f64) -> Self {
        Self { noise, ..self }
    }

    /// Every so many seconds, in the given second of them.
    const fn every_s(self, seconds: usize, second: usize) -> Self {
        self.every_ticks(TICKS_PER_S * seconds, TICKS_PER_S * second)
    }

    const fn every_ticks(self, ticks: usize, tick: usize) -> Self {
        Self {
            every: (ticks, tick),
            ..self
        }
    }

    const fn delay_s(self, delay_s: f64) -> Self {
        Self { delay_s, ..self }
    }

    const fn jitter_s(self, jitter_s: f64) -> Self {
        Self { jitter_s, ..self }
    }

    const fn repeats(self) -> Self {
        Self {
            repeats: true,
            ..self
        }
    }

    /// Seconds between samples.
    pub(crate) fn interval_s(&self) -> f64 {
        self.every.0 as f64 / TICKS_PER_S as f64
    }

    /// How far a stored value can be from the truth of its moment, at least a step, in the
    /// catalogue unit.
    pub(crate) fn blur(&self) -> f64 {
        let step = self.step / self.scale.abs();
        step.max(step / 2.0 + 3.0 * self.noise)
    }

    /// The same column of a recorder that blurs nothing: every second at least, accelerations
    /// eight times.
    pub(crate) fn exact(&self) -> Self {
        let ticks = if self.quantity.is_acceleration() {
            1
        } else {
            self.every.0.min(TICKS_PER_S)
        };
        Self {
            coarse: None,
            noise: 0.0,
            every: (ticks, 0),
            delay_s: 0.0,
            jitter_s: 0.0,
            ..*self
        }
    }
}

/// A type's recorder.
pub(crate) struct Recorder {
    /// Columns of the flight's id, where a file holds several flights, and of the time.
    pub(crate) id: &'static str,
    pub(crate) time: TimeColumn,
    pub(crate) channels: &'static [Channel],
    /// Rows a second.
    pub(crate) rate: usize,
}

/// How a recorder writes the time.
#[derive(Clone, Copy, Debug)]
pub(crate) enum TimeColumn {
    /// Seconds from the start of the record.
    Seconds(&'static str),
    /// Milliseconds.
    Milliseconds(&'static str),
}

static RECORDERS: [Recorder; TYPE_COUNT] = [
    Recorder {
        id: "flight_id",
        time: TimeColumn::Seconds("time_s"),
        channels: &corvan::CHANNELS,
        rate: 1,
    },
    Recorder {
        id: "FLT",
        time: TimeColumn::Milliseconds("T_MS"),
        channels: &tarn::CHANNELS,
        rate: 1,
    },
    Recorder {
        id: "flight",
        time: TimeColumn::Milliseconds("elapsed_milliseconds"),
        channels: &brae::CHANNELS,
        rate: TICKS_PER_S,
    },
];

/// The recorder of a type.
pub(crate) fn recorder(type_index: usize) -> &'static Recorder {
    &RECORDERS[type_index]
}

/// Whether a column of that name, in any recorder, holds numbers that hardly repeat.
pub(crate) fn is_split(name: &str) -> bool {
    let mut all = RECORDERS.iter().flat_map(|recorder| recorder.channels);
    all.any(|channel| channel.name == name && channel.step > 0.0 && !channel.repeats)
}

#[cfg(test)]
mod tests;
