//! Counts in, intervals, tests and ranks out: pure functions, no input or output.
