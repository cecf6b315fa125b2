//! Randomness: one ChaCha stream per (seed, flight, purpose), so that the order in which flights are
//! computed can never change a byte.

use crate::steady::Steady as _;
use rand::{RngCore, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A stream of draws that belongs to one flight and one purpose.
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    /// The stream of `purpose` for flight `number` of the fleet with `seed`.
    pub(crate) fn new(seed: u64, number: u64, purpose: &str) -> Self {
        Self(ChaCha8Rng::from_seed(key(seed, number, purpose)))
    }

    /// Uniform in `[low, high)`.
    pub(crate) fn uniform(&mut self, low: f64, high: f64) -> f64 {
        // 53 bits: every value is exact in an f64.
        let unit = (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
        low + (high - low) * unit
    }

    /// Normal, by the polar form of Box and Muller (one of the pair is thrown away: simple, and free
    /// of state that a reader would have to follow).
    pub(crate) fn normal(&mut self, mean: f64, deviation: f64) -> f64 {
        loop {
            let a = self.uniform(-1.0, 1.0);
            let b = self.uniform(-1.0, 1.0);
            let square = a * a + b * b;
            if square > 0.0 && square < 1.0 {
                return mean + deviation * a * (-2.0 * square.logarithm() / square).sqrt();
            }
        }
    }

    /// True with the given probability.
    pub(crate) fn chance(&mut self, probability: f64) -> bool {
        self.uniform(0.0, 1.0) < probability
    }

    /// An index drawn in proportion to `weights`.
    pub(crate) fn weighted(&mut self, weights: &[f64]) -> usize {
        let mut left = self.uniform(0.0, weights.iter().sum());
        for (index, weight) in weights.iter().enumerate() {
            left -= weight;
            if left < 0.0 {
                return index;
            }
        }
        weights.len() - 1
    }
}

fn key(seed: u64, number: u64, purpose: &str) -> [u8; 32] {
    let mut hasher = blake3::Hasher::new();
    hasher.update(&seed.to_le_bytes());
    hasher.update(&number.to_le_bytes());
    hasher.update(purpose.as_bytes());
    *hasher.finalize().as_bytes()
}

/// An opaque identifier of `digits` hexadecimal digits.
pub(crate) fn opaque(seed: u64, number: u64, purpose: &str, digits: usize) -> String {
    let bytes = key(seed, number, purpose);
    let text: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    text[..digits].to_owned()
}
