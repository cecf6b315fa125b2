//! From the SQL parser's lines and columns, which count characters, to bytes of the text.

use std::ops::Range;

use datafusion::sql::sqlparser::tokenizer::{Location, Span};

/// Bytes that a parser span covers; the whole text where the parser kept no place.
pub(crate) fn bytes_of(text: &str, span: Span) -> Range<usize> {
    if span == Span::empty() {
        return 0..text.len();
    }
    let start = byte_at(text, span.start);
    start..byte_at(text, span.end).max(start)
}

/// Byte at a line and column, both from 1; the end of the text where they lie beyond it.
pub(crate) fn byte_at(text: &str, place: Location) -> usize {
    let (mut line, mut column) = (1, 1);
    for (byte, character) in text.char_indices() {
        if (line, column) >= (place.line, place.column) {
            return byte;
        }
        if character == '\n' {
            line += 1;
            column = 1;
        } else {
            column += 1;
        }
    }
    text.len()
}

/// The place at the end of a parser message, which carries it only as words.
pub(crate) fn place_in_message(message: &str) -> (&str, Option<Location>) {
    let Some((words, place)) = message.rsplit_once(" at Line: ") else {
        return (message, None);
    };
    let numbers = place.split_once(", Column: ");
    let location = numbers.and_then(|(line, column)| {
        Some(Location {
            line: line.trim().parse().ok()?,
            column: column.trim().parse().ok()?,
        })
    });
    (words, location)
}
