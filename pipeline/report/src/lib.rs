//! Plain tables in, one self-contained HTML page out.
