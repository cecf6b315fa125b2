//! How benches measure.
//!
//! Times are of one thread of one machine: compare two runs on the same machine, and nothing else. Measured with
//! the standard library alone: the usual crates for this turn on features of others, and the query engine would
//! be compiled twice, once for tests and once for use.

#![allow(clippy::print_stdout, reason = "a bench prints what it measures")]

use std::hint::black_box;
use std::time::{Duration, Instant};

/// Each kernel runs for about this long, after a few rounds that are not counted.
const MEASURED: Duration = Duration::from_millis(1_500);

/// Runs `kernel` on fresh input again and again, and prints median, least and most of its time; with an argument,
/// only kernels whose name holds it. Returns the median in µs, where it was run.
pub(crate) fn measure<I, O>(
    name: &str,
    input: impl Fn() -> I,
    kernel: impl Fn(I) -> O,
) -> Option<f64> {
    let wanted = std::env::args().skip(1).find(|word| !word.starts_with('-'));
    if wanted.is_some_and(|wanted| !name.contains(&wanted)) {
        return None;
    }
    let once = || {
        let input = input();
        let begin = Instant::now();
        let made = black_box(kernel(black_box(input)));
        let took = begin.elapsed();
        drop(made);
        took
    };
    for _ in 0..3 {
        once();
    }
    let begin = Instant::now();
    let mut took = Vec::new();
    while begin.elapsed() < MEASURED || took.len() < 10 {
        took.push(once().as_secs_f64() * 1e6);
    }
    took.sort_unstable_by(f64::total_cmp);
    let (least, median, most) = (took[0], took[took.len() / 2], took[took.len() - 1]);
    println!(
        "{name:<50} {median:>10.1} µs, {least:.1} to {most:.1} in {} rounds",
        took.len()
    );
    Some(median)
}
