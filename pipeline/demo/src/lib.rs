//! Writes an invented fleet with known truth; shares no code with what detects.
