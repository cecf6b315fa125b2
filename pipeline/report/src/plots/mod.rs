//! Kinds of picture that several sections draw.

pub(crate) mod ranges;
pub(crate) mod shares;
