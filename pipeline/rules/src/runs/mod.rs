//! `runs`, the one aggregate that carries every rule: it compresses, and does nothing else.
//!
//! `runs(k, s0, s1, …)` reads samples numbered by `k` within their group and gives, for every
//! `s`, the runs of equal code over consecutive `k`. Each `s` is a struct: `code` (Int8), then
//! tracked values `v_NAME` (Float32), then values of which only the ends are kept `e_NAME` (Float32, Int8 or
//! Boolean, true being 1), then carried values `c_NAME` (Float32). A run tells its
//! first and last `k`, its code and, for each tracked value, the first, the last, the least and
//! the greatest with their `k`, the number known, and the carried values at both extremes; of an end
//! value the first and the last. The
//! result is a struct of lists, `r0`, `r1`, …; [`Decoder`] turns it into plain [`Run`]s.
//!
//! Instead of `code` there may be `window` (Boolean) and up to five flags `f_NAME` (Boolean): the code is
//! then 0 outside the window, [`UNSURE_CODE`] where the window is null, else [`WINDOW_BIT`] and a bit
//! more for each flag that is true, 2, 4, 8, … in their order. Along runs outside the window, or unsure,
//! no value is followed: all are unknown there.
//!
//! What holds, whatever the plan does:
//! - The order of rows, the cut into batches and partitions and the order of merging change no
//!   bit of the result. The state is a canonical set of fragments; two fragments join only if the
//!   one begins at the sample after the other's last and their codes agree. Rows that come
//!   interleaved merely make smaller fragments for a while.
//! - An absent `k` separates runs. A `k` seen twice in a group is an error, and so is a null one.
//! - A null code is a code of its own, *unknown*: it makes runs like any other.
//! - A null value is unknown: never an extreme, never counted. **NaN is read as null** (the sample
//!   store holds none, an expression may make one). Among equal extremes the lowest `k` wins.
//! - A null struct is a sample with a null code and null values.
//! - There are no parameters, no clock, and no sums of floats. How long a condition must hold and
//!   what is bridged is decided afterwards, over the few runs.

mod accumulator;
mod columns;
mod decode;
mod error;
mod fragments;
mod function;
mod layout;
mod samples;
mod spans;
mod track;

#[cfg(test)]
mod tests;

pub use accumulator::RunsAccumulator;
pub use decode::{Decoder, Ends, Extreme, ExtremeView, Run, RunValue, RunView, decode};
pub use error::RunsError;
pub use function::runs_udaf;
pub(crate) use layout::is_end;
pub use layout::{CARRIED_PREFIX, CODE, END_PREFIX, FLAG_PREFIX, Layout, VALUE_PREFIX, WINDOW};
pub use samples::{UNSURE_CODE, WINDOW_BIT, flag_bit};
