//! The glidetally command.
fn main() {}
